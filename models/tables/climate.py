"""What did the loggers of each place read, from which file, and what follows day by day?

An import is a record: it names its file by the digest of its bytes and holds the digest
of the rows that it added. The readings themselves are too many for the change log; they
can be proved by that digest, and read again from the kept file. The daily integrals
follow from the readings: how far each clock ran on the part of the day that was read.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, PrimaryKeyConstraint
from sqlalchemy import text as sql
from sqlmodel import Field, Session, SQLModel, col, select

from models.database import insert_rows
from models.tables.base import (
    FIRST_DAY,
    LAST_DAY,
    LONG_INTEGER,
    NUMBER,
    Derived,
    Record,
    key,
    link,
    moment,
    note,
    number,
    strict,
    text,
    version,
    whole,
)

Floats = NDArray[np.float64]
Seconds = NDArray[np.int64]

# From 1980 to the year 9999, in seconds since 1970.
FIRST_SECOND, LAST_SECOND = 315_532_800, 253_402_300_799
MOST_BYTES = 1 << 40


class ReadingImport(Record, table=True):
    """One logger file brought in for one place: how it was read and what became of its rows."""

    __tablename__ = "reading_import"
    __table_args__ = strict(
        Index(
            "uq_reading_import_place_id_file_sha256",
            "place_id",
            "file_sha256",
            unique=True,
            sqlite_where=sql("withdrawn_reason IS NULL"),
            postgresql_where=sql("withdrawn_reason IS NULL"),
        ),
        CheckConstraint("first_second <= last_second", name="span"),
    )

    id: int | None = key()
    place_id: int = link("place.id", index=False)
    file_sha256: str = text("file_sha256", longest=64)
    file_name: str = text("file_name", longest=300)
    file_bytes: int = whole("file_bytes", 0, MOST_BYTES, nullable=False)
    read_as: str = text("read_as", longest=300)
    time_zone: str = text("time_zone", longest=100)
    logger_clock: str = text("logger_clock", longest=50)
    date_order: str = text("date_order", longest=50)
    unit: str = text("unit", longest=10)
    decimal_sign: str = text("decimal_sign", longest=10)
    rows: int = whole("rows", 0, 10**9, nullable=False)
    new_rows: int = whole("new_rows", 0, 10**9, nullable=False)
    same_rows: int = whole("same_rows", 0, 10**9, nullable=False)
    differing_rows: int = whole("differing_rows", 0, 10**9, nullable=False)
    refused_rows: int = whole("refused_rows", 0, 10**9, nullable=False)
    refused_why: str = note("refused_why")
    first_second: int = whole("first_second", FIRST_SECOND, LAST_SECOND, nullable=False)
    last_second: int = whole("last_second", FIRST_SECOND, LAST_SECOND, nullable=False)
    rows_sha256: str = text("rows_sha256", longest=64)
    by_id: int | None = link("person.id", nullable=True)
    at: datetime = moment()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


def _part_of_key(target: str) -> Any:
    return Field(sa_column=Column(LONG_INTEGER, ForeignKey(target), nullable=False))


class Reading(Derived, table=True):
    """One moment in one place, in UTC seconds since 1970; a figure nobody read is null."""

    __tablename__ = "reading"
    __table_args__ = (
        PrimaryKeyConstraint("place_id", "second"),
        {"sqlite_strict": True, "sqlite_with_rowid": False},
    )

    place_id: int = _part_of_key("place.id")
    second: int = whole("second", FIRST_SECOND, LAST_SECOND, nullable=False)
    import_id: int = _part_of_key("reading_import.id")
    temperature_c: float | None = number("temperature_c", -30, 60)
    rh_percent: float | None = number("rh_percent", 0, 100)
    lux: float | None = number("lux", 0, 120_000)
    uv_uw_per_lm: float | None = number("uv_uw_per_lm", 0, 2000)


def _measure(name: str, lowest: float, highest: float) -> Any:
    check = CheckConstraint(f"{name} BETWEEN {lowest:.0f} AND {highest:.0f}", name=name)
    return Field(sa_column=Column(NUMBER, check, nullable=False))


class ClimateDay(Derived, table=True):
    """How far each clock ran in a place on the part of a UTC day that was read.

    `paper_days`, `adhesive_days`: days at 20 degC and 50 %. `damp`, `damp_from_60`: shares of
    a germination, below 0 where it ran back. Light in lux hours; `uv_lux_hours` is each of
    them times its microwatts of UV per lumen.
    """

    __tablename__ = "climate_day"
    __table_args__ = (
        PrimaryKeyConstraint("place_id", "day"),
        {"sqlite_strict": True, "sqlite_with_rowid": False},
    )

    place_id: int = _part_of_key("place.id")
    day: int = whole("day", FIRST_DAY, LAST_DAY, nullable=False)
    read_s: float = _measure("read_s", 0, 86_400)
    paper_days: float = _measure("paper_days", 0, 10_000)
    adhesive_days: float = _measure("adhesive_days", 0, 10_000)
    damp: float = _measure("damp", -1, 10)
    damp_from_60: float = _measure("damp_from_60", -1, 10)
    light_read_s: float = _measure("light_read_s", 0, 86_400)
    lux_hours: float = _measure("lux_hours", 0, 10_000_000)
    uv_lux_hours: float = _measure("uv_lux_hours", 0, 100_000_000_000)


class ReadingJob(Derived, table=True):
    """An import under way, so that its page can say how far it is even when it is asked anew."""

    __tablename__ = "reading_job"

    id: int | None = key()
    place_id: int = link("place.id")
    file_sha256: str = text("file_sha256", longest=64)
    file_name: str = text("file_name", longest=300)
    choices: str = text("choices", longest=2000)
    by_id: int = link("person.id")
    state: str = text("state", longest=30)
    rows: int | None = whole("rows", 0, 10**9)
    message: str = note("message")
    import_id: int | None = link("reading_import.id", nullable=True)
    begun_at: datetime = moment()
    seen_at: datetime = moment()


_READINGS, _DAYS = (SQLModel.metadata.tables[name] for name in ("reading", "climate_day"))
FIGURES = ("temperature_c", "rh_percent", "lux", "uv_uw_per_lm")
DAY_COLUMNS = tuple(column for column in _DAYS.columns.keys() if column not in ("place_id", "day"))


def readings_between(
    session: Session, place_id: int, first_second: int, last_second: int
) -> tuple[Seconds, Floats]:
    """Return the seconds, rising, and the four figures of each reading; NaN for none."""
    wanted = sql(
        f"SELECT second, {', '.join(FIGURES)} FROM reading WHERE place_id = :place"
        " AND second BETWEEN :first AND :last ORDER BY second"
    )
    span = {"place": place_id, "first": first_second, "last": last_second}
    found = np.array(session.connection().execute(wanted, span).fetchall(), dtype=np.float64)
    found = found.reshape(-1, 1 + len(FIGURES))
    return found[:, 0].astype(np.int64), found[:, 1:]


def readings_of_import(session: Session, one: ReadingImport) -> tuple[Seconds, Floats]:
    """Return the readings that an import added."""
    wanted = sql(
        f"SELECT second, {', '.join(FIGURES)} FROM reading WHERE place_id = :place"
        " AND second BETWEEN :first AND :last AND import_id = :import_id ORDER BY second"
    )
    found = np.array(
        session.connection()
        .execute(
            wanted,
            {
                "place": one.place_id,
                "first": one.first_second,
                "last": one.last_second,
                "import_id": one.id,
            },
        )
        .fetchall(),
        dtype=np.float64,
    ).reshape(-1, 1 + len(FIGURES))
    return found[:, 0].astype(np.int64), found[:, 1:]


def add_readings(session: Session, one: ReadingImport, seconds: Seconds, figures: Floats) -> None:
    """Add the readings of an import."""
    columns = [_with_none(figures[:, n]) for n in range(figures.shape[1])]
    rows = zip(
        [one.place_id] * len(seconds), seconds.tolist(), [one.id] * len(seconds), *columns,
        strict=True,
    )  # fmt: skip
    names = ("place_id", "second", "import_id", *FIGURES)
    insert_rows(session.connection(), _READINGS.name, names, rows)


def _with_none(figures: Floats) -> list[float | None]:
    missing = np.isnan(figures)
    if missing.all():
        return [None] * len(figures)
    told: list[float | None] = figures.tolist()
    for n in np.flatnonzero(missing):
        told[n] = None
    return told


def remove_readings(session: Session, one: ReadingImport) -> None:
    """Take away the readings that an import added; its file and its record stay."""
    gone = sql(
        "DELETE FROM reading WHERE place_id = :place AND second BETWEEN :first AND :last"
        " AND import_id = :import_id"
    )
    span = {"place": one.place_id, "first": one.first_second, "last": one.last_second}
    session.connection().execute(gone, {**span, "import_id": one.id})


def replace_days(
    session: Session, place_id: int, days: tuple[int, int], rows: Sequence[Sequence[float]]
) -> None:
    """Store the daily integrals of a span of days anew; each row begins with its day."""
    gone = sql("DELETE FROM climate_day WHERE place_id = :place AND day BETWEEN :first AND :last")
    session.connection().execute(gone, {"place": place_id, "first": days[0], "last": days[1]})
    told = ((place_id, int(row[0]), *row[1:]) for row in rows)
    insert_rows(session.connection(), _DAYS.name, ("place_id", "day", *DAY_COLUMNS), told)


def climate_days(session: Session) -> dict[int, Floats]:
    """Return the days of every place that has a record: the day, then `DAY_COLUMNS`."""
    wanted = f"SELECT place_id, day, {', '.join(DAY_COLUMNS)} FROM climate_day"
    found = session.connection().execute(sql(f"{wanted} ORDER BY place_id, day")).fetchall()
    rows = np.array(found, dtype=np.float64).reshape(-1, 2 + len(DAY_COLUMNS))
    places, starts = np.unique(rows[:, 0], return_index=True)
    parts = np.split(rows[:, 1:], starts[1:])
    return {int(place): part for place, part in zip(places, parts, strict=bool(len(places)))}


def imports_of(session: Session, place_id: int) -> list[ReadingImport]:
    """Return the imports of a place, the last one first."""
    of_place = select(ReadingImport).where(ReadingImport.place_id == place_id)
    return list(session.exec(of_place.order_by(col(ReadingImport.id).desc())))


def import_of_file(session: Session, place_id: int, file_sha256: str) -> ReadingImport | None:
    """Return the import of this very file that stands for a place."""
    same = select(ReadingImport).where(
        ReadingImport.place_id == place_id,
        ReadingImport.file_sha256 == file_sha256,
        col(ReadingImport.withdrawn_reason).is_(None),
    )
    return session.exec(same).first()


def span_of_readings(session: Session, place_id: int) -> tuple[int, int] | None:
    """Return the first and the last second that was read in a place."""
    wanted = sql("SELECT min(second), max(second) FROM reading WHERE place_id = :place")
    first, last = session.connection().execute(wanted, {"place": place_id}).one()
    return None if first is None else (int(first), int(last))
