"""What would the loggers of three rooms of the demonstration have written in two years?

Made by program, the same each time: a reading an hour, seasons, days and nights, a heating
that fails once. Each in another format, as three makers would: with semicolons, decimal
commas and the day first in Windows-1252; as plain CSV in UTC; in Fahrenheit with tabs and
the month first in UTF-16. Clocks go forward and back, a battery is empty for twelve days,
a sensor talks nonsense now and then.
"""

import hashlib
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from models.actions.climate import FileSent, import_readings
from models.exchange.logger_file import Choices, read_logger_file
from models.tables.visible import Viewer

ZONE = "Europe/Lisbon"
_THERE = ZoneInfo(ZONE)
BEGUN, ENDED = datetime(2024, 11, 20, tzinfo=UTC), datetime(2026, 11, 20, tzinfo=UTC)
BROUGHT_IN = datetime(2026, 11, 24, 10, tzinfo=UTC)
# While nobody changed the battery of the cellar's logger.
BATTERY_EMPTY = (datetime(2025, 8, 3, 9, tzinfo=UTC), datetime(2025, 8, 15, 16, tzinfo=UTC))
# One row in so many is nonsense of the sensor.
NONSENSE_EVERY = 2_999
SAMPLE_NAME = "stair_logger.csv"
_HOURS_A_YEAR = 8766
_PEAK_OF_SUMMER = 200 * 24

# Keeps a file byte for byte and returns its digest.
Keep = Callable[[bytes], str]


@dataclass(frozen=True)
class Room:
    """The climate of a room: mean, how far summer is above it, how far the afternoon."""

    mean_c: float
    summer_c: float
    day_c: float
    mean_rh: float
    summer_rh: float
    noise: float = 0.4


@dataclass(frozen=True)
class DemoFile:
    """One logger's file, and the place that it is of."""

    place: str
    name: str
    content: bytes
    time_zone: str = ZONE


READING_ROOM = Room(22, 2.4, 0.8, 45, 5)
CELLAR = Room(14, 2.2, 0.2, 67, 4)
MORNING_ROOM = Room(23, 2.6, 1.6, 52, 4)
STAIR = Room(19.5, 2.5, 1.0, 51, 5)


def demo_files() -> tuple[DemoFile, ...]:
    """Return the files of the three loggers."""
    return (
        DemoFile("House / Reading room", "Lesesaal.csv", _with_semicolons(READING_ROOM)),
        DemoFile("House / Cellar store", "cellar_store.csv", _plain(CELLAR), "UTC"),
        DemoFile("Foolscap home / Morning room", "Morning room.txt", _with_tabs(MORNING_ROOM)),
    )


def sample_file() -> bytes:
    """Return three weeks of the stair: `stair_logger.csv`, for whoever wants to try an import."""
    begun = datetime(2026, 10, 20, tzinfo=UTC)
    return _with_semicolons(STAIR, begun, begun + timedelta(weeks=3))


def record_readings(
    session: Session, viewer: Viewer, places: Mapping[str, int], keep: Keep, *, today: int
) -> None:
    """Bring the files in, as people would, each into its place."""
    for file in demo_files():
        choices = Choices(time_zone=file.time_zone)
        sent = FileSent(name=file.name, digest=keep(file.content), byte_count=len(file.content))
        read = read_logger_file(file.content, choices)
        place = places[file.place]
        import_readings(session, viewer, place, sent, read, choices, now=BROUGHT_IN, today=today)


def digest_alone(content: bytes) -> str:
    """Return the digest of a file that is kept nowhere: where only the book is wanted."""
    return hashlib.sha256(content).hexdigest()


def _readings(
    room: Room, begun: datetime = BEGUN, ended: datetime = ENDED
) -> Iterator[tuple[datetime, float, float, int]]:
    """Give moment, degC, % RH and the number of the row, an hour apart."""
    hours = int((ended - begun) / timedelta(hours=1))
    for n in range(hours):
        at = begun + timedelta(hours=n)
        hour_of_year = (at - datetime(at.year, 1, 1, tzinfo=UTC)) / timedelta(hours=1)
        summer = math.cos((hour_of_year - _PEAK_OF_SUMMER) / _HOURS_A_YEAR * math.tau)
        afternoon = math.cos((at.hour - 15) / 24 * math.tau)
        warm = room.summer_c * summer + room.day_c * afternoon
        damp = room.summer_rh * summer - 1.5 * room.day_c * afternoon
        weather = 3 * math.sin(n / 97) + 2 * math.sin(n / 41)
        yield (
            at,
            round(room.mean_c + warm + room.noise * _noise(n), 1),
            round(room.mean_rh + damp + weather + 2 * room.noise * _noise(n + 7), 1),
            n,
        )


def _noise(n: int) -> float:
    """Return something between -1 and 1 that looks like chance and is the same each time."""
    return math.sin(n * 12.9898) * 43758.5453 % 2 - 1


def _with_semicolons(room: Room, begun: datetime = BEGUN, ended: datetime = ENDED) -> bytes:
    lines = ["Datenlogger 3", "Messintervall;60 min", ""]
    lines.append("Datum;Uhrzeit;Temperatur [°C];Rel. Feuchte [%]")
    for at, temperature, humidity, n in _readings(room, begun, ended):
        local = at.astimezone(_THERE)
        damp = 140.0 if n % NONSENSE_EVERY == NONSENSE_EVERY - 1 else humidity
        figures = f"{temperature:.1f};{damp:.1f}".replace(".", ",")
        lines.append(f"{local:%d.%m.%Y};{local:%H:%M:%S};{figures}")
    return "\r\n".join([*lines, ""]).encode("cp1252")


def _plain(room: Room) -> bytes:
    lines = ["timestamp,temperature_c,rh_percent"]
    for at, temperature, humidity, n in _readings(room):
        if not BATTERY_EMPTY[0] <= at < BATTERY_EMPTY[1]:
            warm = -999 if n % NONSENSE_EVERY == NONSENSE_EVERY - 1 else temperature
            lines.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{warm},{humidity}")
    return "\n".join([*lines, ""]).encode()


def _with_tabs(room: Room) -> bytes:
    lines = ["#\tDate Time\tTemp, °F\tRH, %\tIntensity, lux"]
    for at, temperature, humidity, n in _readings(room):
        local = at.astimezone(_THERE)
        fahrenheit = temperature * 1.8 + 32
        moment = f"{local:%m/%d/%y %I:%M:%S %p}"
        # Large windows to the south-east.
        lux = round(max(0.0, 480 * math.sin((local.hour - 7) / 11 * math.pi))) * (
            7 <= local.hour <= 18
        )
        damp = "-888.9" if n % NONSENSE_EVERY == NONSENSE_EVERY - 1 else f"{humidity:.1f}"
        lines.append(f"{n + 1}\t{moment}\t{fahrenheit:.2f}\t{damp}\t{lux}")
    return "\r\n".join([*lines, ""]).encode("utf-16")
