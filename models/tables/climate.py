"""What did the loggers of each place read, from which file, and what follows day by day?

An import is a record: it names its file by the digest of its bytes and holds the digest
of the rows that it added. The readings themselves are too many for the change log; they
can be proved by that digest, and read again from the kept file. The daily integrals
follow from the readings: how far each clock ran on the part of the day that was read.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import CheckConstraint, Column, ForeignKey, Index, PrimaryKeyConstraint, bindparam
from sqlalchemy import text as sql
from sqlmodel import Field, Session, col, select

from models.database import insert_rows
from models.tables.base import (
    FIRST_DAY,
    LAST_DAY,
    LONG_INTEGER,
    Derived,
    Record,
    digest,
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
            "uq_reading_import_place_id_file_digest",
            "place_id",
            "file_digest",
            unique=True,
            sqlite_where=sql("withdrawn_reason IS NULL"),
            postgresql_where=sql("withdrawn_reason IS NULL"),
        ),
        CheckConstraint("first_second <= last_second", name="span"),
    )

    id: int | None = key()
    place_id: int = link("place.id", index=False)
    file_digest: str = text("file_digest", longest=64)
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
    rows_digest: str = text("rows_digest", longest=64)
    by_id: int | None = link("person.id", nullable=True)
    at: datetime = moment()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


def _part_of_key(target: str) -> Any:
    return Field(sa_column=Column(LONG_INTEGER, ForeignKey(target), nullable=False))


class ClimateReading(Derived, table=True):
    """One moment in one place, in UTC seconds since 1970; a figure nobody read is null."""

    __tablename__ = "climate_reading"
    __table_args__ = (
        PrimaryKeyConstraint("place_id", "second"),
        {"sqlite_strict": True, "sqlite_with_rowid": False},
    )

    place_id: int = _part_of_key("place.id")
    second: int = whole("second", FIRST_SECOND, LAST_SECOND, nullable=False)
    import_id: int = _part_of_key("reading_import.id")
    temperature_c: float | None = number("temperature_c", -30, 60)
    rh_percent: float | None = number("rh_percent", 0, 100)


class LightReading(Derived, table=True):
    """The same of light, often read by another logger at the same moments."""

    __tablename__ = "light_reading"
    __table_args__ = (
        PrimaryKeyConstraint("place_id", "second"),
        {"sqlite_strict": True, "sqlite_with_rowid": False},
    )

    place_id: int = _part_of_key("place.id")
    second: int = whole("second", FIRST_SECOND, LAST_SECOND, nullable=False)
    import_id: int = _part_of_key("reading_import.id")
    lux: float | None = number("lux", 0, 120_000)
    uv_uw_per_lm: float | None = number("uv_uw_per_lm", 0, 2000)


class ClimateDays(Derived, table=True):
    """How far each clock ran in a place on the part of each UTC day that was read.

    One row for a place, read with every forecast: `packed` holds `DAY_COLUMNS` for each day
    from the first to the last, eight bytes each, little end first.
    """

    __tablename__ = "climate_days"
    __table_args__ = strict(CheckConstraint("first_day <= last_day", name="span"))

    place_id: int = Field(
        sa_column=Column(
            LONG_INTEGER, ForeignKey("place.id"), primary_key=True, autoincrement=False
        )
    )
    first_day: int = whole("first_day", FIRST_DAY, LAST_DAY, nullable=False)
    last_day: int = whole("last_day", FIRST_DAY, LAST_DAY, nullable=False)
    packed: bytes = digest()


class ReadingJob(Derived, table=True):
    """An import under way, so that its page can say how far it is even when it is asked anew."""

    __tablename__ = "reading_job"

    id: int | None = key()
    place_id: int = link("place.id")
    file_digest: str = text("file_digest", longest=64)
    file_name: str = text("file_name", longest=300)
    choices: str = text("choices", longest=2000)
    by_id: int = link("person.id")
    state: str = text("state", longest=30)
    rows: int | None = whole("rows", 0, 10**9)
    message: str = note("message")
    import_id: int | None = link("reading_import.id", nullable=True)
    begun_at: datetime = moment()
    seen_at: datetime = moment()


@dataclass(frozen=True)
class Series:
    """One of the two series of readings of a place: its table and its two figures."""

    table: str
    figures: tuple[str, str]


CLIMATE = Series("climate_reading", ("temperature_c", "rh_percent"))
LIGHT = Series("light_reading", ("lux", "uv_uw_per_lm"))
# Shares of the day that was read; then days at 20 degC and 50 % of paper and of adhesives; shares
# of a germination, below 0 where it ran back; hours of lux, and those times microwatts per lumen.
DAY_COLUMNS = (
    "read_share",
    "paper_days",
    "adhesive_days",
    "damp",
    "damp_from_60",
    "light_read_share",
    "lux_hours",
    "uv_lux_hours",
)


def readings_between(
    session: Session, series: Series, place_id: int, first_second: int, last_second: int
) -> tuple[Seconds, Floats]:
    """Return the seconds, rising, and the two figures of each reading; NaN for none."""
    span = {"place": place_id, "first": first_second, "last": last_second}
    return _readings(session, series, "", span)


def readings_of_import(
    session: Session, series: Series, one: ReadingImport
) -> tuple[Seconds, Floats]:
    """Return the readings that an import added."""
    return _readings(session, series, " AND import_id = :import_id", _of_import(one))


def _readings(
    session: Session, series: Series, further: str, values: Mapping[str, object]
) -> tuple[Seconds, Floats]:
    wanted = sql(
        f"SELECT second, {', '.join(series.figures)} FROM {series.table} WHERE place_id = :place"
        f" AND second BETWEEN :first AND :last{further} ORDER BY second"
    )
    # As plain tuples: NumPy asks each row of SQLAlchemy for ten things that it is not.
    rows = [tuple(row) for row in session.connection().execute(wanted, values)]
    found = np.array(rows, dtype=np.float64).reshape(-1, 1 + len(series.figures))
    return found[:, 0].astype(np.int64), found[:, 1:]


def _of_import(one: ReadingImport) -> dict[str, object]:
    span = {"place": one.place_id, "first": one.first_second, "last": one.last_second}
    return {**span, "import_id": one.id}


def add_readings(
    session: Session, series: Series, one: ReadingImport, seconds: Seconds, figures: Floats
) -> None:
    """Add the readings of an import."""
    count = len(seconds)
    rows = zip(
        [one.place_id] * count,
        seconds.tolist(),
        [one.id] * count,
        *(_with_none(column) for column in figures.T),
        strict=True,
    )
    names = ("place_id", "second", "import_id", *series.figures)
    insert_rows(session.connection(), series.table, names, rows)


def _with_none(figures: Floats) -> list[float | None]:
    told: list[float | None] = figures.tolist()
    for n in np.flatnonzero(np.isnan(figures)):
        told[n] = None
    return told


def remove_readings(session: Session, one: ReadingImport) -> None:
    """Take away the readings that an import added; its file and its record stay."""
    for series in (CLIMATE, LIGHT):
        gone = sql(
            f"DELETE FROM {series.table} WHERE place_id = :place"
            " AND second BETWEEN :first AND :last AND import_id = :import_id"
        )
        session.connection().execute(gone, _of_import(one))


@dataclass(frozen=True)
class DaysRow:
    """The days of a place from the first on, `DAY_COLUMNS` side by side; not read: 0."""

    place_id: int
    first_day: int
    days: Floats


_STORED_DAYS = sql("SELECT place_id, first_day, packed FROM climate_days ORDER BY place_id")


def all_days(session: Session) -> list[DaysRow]:
    """Return the days of every place that has a record."""
    return [_days_row(*row) for row in session.connection().execute(_STORED_DAYS)]


def days_of_place(session: Session, place_id: int) -> DaysRow | None:
    """Return the days of one place, None where nothing was read."""
    row = session.get(ClimateDays, place_id, populate_existing=True)
    return None if row is None else _days_row(row.place_id, row.first_day, row.packed)


def _days_row(place_id: int, first_day: int, packed: bytes) -> DaysRow:
    days = np.frombuffer(packed, "<f8").reshape(-1, len(DAY_COLUMNS))
    return DaysRow(place_id, first_day, days.astype(np.float64, copy=False))


def store_days(session: Session, place_id: int, first_day: int, days: Floats) -> None:
    """Store the days of a place anew; none of them: it has no record any more."""
    gone = sql("DELETE FROM climate_days WHERE place_id = :place")
    session.connection().execute(gone, {"place": place_id})
    if len(days):
        packed = days.astype("<f8").tobytes()
        rows = [(place_id, first_day, first_day + len(days) - 1, packed)]
        names = ("place_id", "first_day", "last_day", "packed")
        insert_rows(session.connection(), "climate_days", names, rows)


def imports_of(session: Session, place_id: int) -> list[ReadingImport]:
    """Return the imports of a place, the last one first."""
    return list(session.exec(_OF_PLACE, params={"place": place_id}))


_OF_PLACE = (
    select(ReadingImport)
    .where(col(ReadingImport.place_id) == bindparam("place"))
    .order_by(col(ReadingImport.id).desc())
)


def places_with_imports(session: Session) -> list[int]:
    """Return the keys of the places into which any file was brought, in their order."""
    places = select(ReadingImport.place_id).distinct().order_by(col(ReadingImport.place_id))
    return list(session.exec(places))


def import_of_file(session: Session, place_id: int, file_digest: str) -> ReadingImport | None:
    """Return the import of this very file that stands for a place."""
    same = select(ReadingImport).where(
        ReadingImport.place_id == place_id,
        ReadingImport.file_digest == file_digest,
        col(ReadingImport.withdrawn_reason).is_(None),
    )
    return session.exec(same).first()
