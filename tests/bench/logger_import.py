"""A year of readings every five minutes brought into a place, against csv and executemany.

Ours finds out how the file is written, reads it in a child process, refuses what cannot be,
merges it with what is on record, adds up the days, proves the rows and logs the import;
bare is Python's csv.reader, known to it how, and one executemany into the same table, in
one committed transaction. Both end with the same rows.
"""

import csv
import io
import sqlite3
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.climate import FileSent, import_readings
from models.database import migrate, open_database
from models.exchange.kept_files import keep_file, kept_file
from models.exchange.logger_file import Choices
from models.exchange.read_apart import read_apart
from models.tables.places import Place
from models.tables.visible import THE_HOUSE
from tests.bench.measuring import FEWEST_RUNS, Figure, figure, taking_turns
from tests.builders import key_of

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = 20_782
BEGUN = datetime(2025, 1, 1, tzinfo=UTC)
ROWS = 105_120
# A person waits for it: five seconds for a year, whatever bare may take.
LONGEST_S = 5.0
LARGEST_RATIO = 3.0


def measure(folder: Path) -> list[Figure]:
    """Return the ratio of the times, and ours against the five seconds that it may take."""
    folder = folder / "logger"
    content = a_year()
    places = _places(folder, FEWEST_RUNS)
    engine = open_database(f"sqlite:///{folder / 'ours.sqlite'}")
    bare = [folder / f"bare-{n}.sqlite" for n in range(FEWEST_RUNS)]
    pairs = [
        (partial(_ours, engine, folder, place, content), partial(_bare, file, content))
        for place, file in zip(places, bare, strict=True)
    ]
    ratio = taking_turns("logger file brought in", f"{ROWS} rows", pairs, LARGEST_RATIO)
    assert _rows(folder / "ours.sqlite", places[0]) == _rows(bare[0], 0), "both keep the same rows"
    engine.dispose()
    seconds = figure("the same, of five seconds", f"{ROWS} rows", ratio.ours_s, LONGEST_S, 1.0)
    return [ratio, seconds]


def a_year() -> bytes:
    """Return the file: semicolons, decimal commas, the day first."""
    moments = (BEGUN + timedelta(minutes=5 * n) for n in range(ROWS))
    lines = (
        f"{at:%d.%m.%Y %H:%M};{18 + n % 6},{n % 10};{45 + n % 7},{n % 10}"
        for n, at in enumerate(moments)
    )
    return "\r\n".join(["Datum;Temperatur °C;Feuchte %", *lines]).encode("cp1252")


def _places(folder: Path, count: int) -> list[int]:
    folder.mkdir(parents=True, exist_ok=True)
    url = f"sqlite:///{folder / 'ours.sqlite'}"
    migrate(url)
    engine = open_database(url)
    with recording(engine, actor="bench", now=NOW) as session:
        places = [Place(name=f"Room {n}") for n in range(count)]
        session.add_all(places)
        session.flush()
        keys = [key_of(place) for place in places]
    engine.dispose()
    return keys


def _ours(engine: Engine, folder: Path, place: int, content: bytes) -> None:
    digest = keep_file(folder / "kept", content)
    file = kept_file(folder / "kept", digest)
    assert file is not None, "it was kept a moment ago"
    choices = Choices()
    read = read_apart(file, choices)
    sent = FileSent(name="year.csv", digest=digest, byte_count=len(content))
    with recording(engine, actor="bench", now=NOW) as session:
        import_readings(session, THE_HOUSE, place, sent, read, choices, now=NOW, today=TODAY)


def _bare(file: Path, content: bytes) -> None:
    rows = csv.reader(io.StringIO(content.decode("cp1252"), newline=""), delimiter=";")
    next(rows)
    connection = sqlite3.connect(file)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute(
        "CREATE TABLE climate_reading (place_id INTEGER, second INTEGER, import_id INTEGER,"
        " temperature_c REAL, rh_percent REAL, PRIMARY KEY (place_id, second))"
        " STRICT, WITHOUT ROWID"
    )
    with connection:
        connection.executemany(
            "INSERT INTO climate_reading VALUES (0, ?, 1, ?, ?)",
            (
                (
                    int(datetime.strptime(at, "%d.%m.%Y %H:%M").replace(tzinfo=UTC).timestamp()),
                    float(temperature.replace(",", ".")),
                    float(humidity.replace(",", ".")),
                )
                for at, temperature, humidity in rows
            ),
        )
    connection.close()


def _rows(file: Path, place: int) -> list[tuple[int, float, float]]:
    with sqlite3.connect(file) as connection:
        wanted = "SELECT second, temperature_c, rh_percent FROM climate_reading WHERE place_id = ?"
        found = connection.execute(f"{wanted} ORDER BY second", [place]).fetchall()
    connection.close()
    return found
