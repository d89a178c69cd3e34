"""How do the readings of a logger come into the book, and how are they taken back?

The file is kept byte for byte before anything is written; what it says comes from
`models.exchange`. The same file a second time changes nothing. Files that overlap are
merged: what is on record stays, and a reading that differs from it is counted and said.
Each import is one record in the change log with the digest of the rows that it added; the
clocks of the place and of every work in it are worked out anew in the same transaction.
"""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from sqlmodel import Session

from models.actions.places import PlaceOnRecord, place_tree, read_place
from models.actions.record_changes import key_of, lock
from models.actions.renewal import refresh_or_mark
from models.errors import BadValue, Fault, NotFound, RuleBroken
from models.exchange.logger_file import Choices, LoggerFile, Refused
from models.rules.climate_days import DAY_S, LONGEST_HOLE_S, days_of_readings
from models.rules.permissions import Deed, require
from models.rules.record_values import on_one_line
from models.tables.climate import (
    CLIMATE,
    LIGHT,
    DaysRow,
    Floats,
    ReadingImport,
    Seconds,
    Series,
    add_readings,
    days_of_place,
    import_of_file,
    imports_of,
    places_with_imports,
    readings_between,
    readings_of_import,
    remove_readings,
    store_days,
)
from models.tables.places import Place
from models.tables.register import works_that_were_in
from models.tables.visible import THE_HOUSE, Viewer

LONGEST_FILE_NAME = 300
ASKED = {
    "date_order": "The dates of this file can be read with the day or with the month first.",
    "unit": "Nothing in this file says whether its temperatures are in °C or in °F.",
}
CHOOSE = {
    "date_order": "Choose day first or month first.",
    "unit": "Choose °C or °F.",
}
# Which of the four figures of a logger file belong to which series.
_PARTS = ((CLIMATE, slice(0, 2)), (LIGHT, slice(2, 4)))


@dataclass(frozen=True, kw_only=True)
class FileSent:
    """A file as it was sent and is kept."""

    name: str
    digest: str
    byte_count: int


@dataclass(frozen=True, kw_only=True)
class ImportOnRecord:
    """An import as it is shown. Counts are rows of the file; moments are UTC seconds."""

    id: int
    version: int
    file_name: str
    file_digest: str
    file_bytes: int
    read_as: str
    time_zone: str
    rows: int
    new_rows: int
    same_rows: int
    differing_rows: int
    refused_rows: int
    refused_why: tuple[tuple[str, int], ...]
    first_second: int
    last_second: int
    at: datetime
    withdrawn_reason: str | None


@dataclass(frozen=True)
class ImportDone:
    """What became of a file; `is_again` when this very file was on record already."""

    on_record: ImportOnRecord
    is_again: bool


@dataclass(frozen=True)
class _Merged:
    """How the rows of a file meet what is on record: one flag for each row of the file."""

    is_new: NDArray[np.bool_]
    is_same: NDArray[np.bool_]


def import_readings(
    session: Session,
    viewer: Viewer,
    place_id: int,
    sent: FileSent,
    file: LoggerFile,
    choices: Choices,
    *,
    now: datetime,
    today: int,
) -> ImportDone:
    """Bring the readings of a file into a place.

    Raises NotFound for the place, BadValue when something must be chosen first or no row
    can be kept.
    """
    require(viewer.role, Deed.IMPORT_READINGS)
    lock(session, Place, place_id, "place")
    earlier = import_of_file(session, place_id, sent.digest)
    if earlier is not None:
        return ImportDone(_shown(earlier), is_again=True)
    _refuse_what_is_open(file)
    merged = {series: _merged(session, place_id, series, file, part) for series, part in _PARTS}
    record = _record(viewer, place_id, sent, file, choices, merged.values(), now)
    record.rows_digest = _digest(
        (file.seconds[met.is_new], file.figures[met.is_new, part])
        for (_series, part), met in zip(_PARTS, merged.values(), strict=True)
    )
    session.add(record)
    session.flush()
    for series, part in _PARTS:
        new = merged[series].is_new
        if new.any():
            add_readings(session, series, record, file.seconds[new], file.figures[new, part])
    _work_out_anew(session, record, today=today)
    return ImportDone(_shown(record), is_again=False)


def withdraw_import(
    session: Session, viewer: Viewer, place_id: int, import_id: int, reason: str, *, today: int
) -> ImportOnRecord:
    """Take an import back: its readings leave the place, its file and its record stay.

    Raises NotFound, BadValue without a reason, RuleBroken (`withdrawn`).
    """
    require(viewer.role, Deed.IMPORT_READINGS)
    lock(session, Place, place_id, "place")
    record = lock(session, ReadingImport, import_id, "import")
    if record.place_id != place_id:
        raise NotFound("import", import_id)
    if record.withdrawn_reason is not None:
        raise RuleBroken("This import is taken back already.", "withdrawn")
    if not reason.strip():
        raise BadValue.at("/reason", "Say why it is taken back.", "Such as: wrong place.")
    record.withdrawn_reason = on_one_line("reason", 500)(reason)
    session.flush()
    remove_readings(session, record)
    _work_out_anew(session, record, today=today)
    return _shown(record)


def list_imports(session: Session, viewer: Viewer, place_id: int) -> list[ImportOnRecord]:
    """Return the imports of a place that this person may see, the last one first."""
    return imports_of_place(session, read_place(session, viewer, place_id))


def imports_of_place(session: Session, place: PlaceOnRecord) -> list[ImportOnRecord]:
    """Return the imports of a place that was shown already, the last one first."""
    return [_shown(record) for record in imports_of(session, place.id)]


def faults_of_readings(session: Session, place_id: int) -> list[str]:
    """Return a line for each import whose rows are not those that its record swears to."""
    faults = []
    for record in imports_of(session, place_id):
        found = _digest(readings_of_import(session, series, record) for series, _part in _PARTS)
        expected = record.rows_digest if record.withdrawn_reason is None else _NO_ROWS
        if found != expected:
            faults.append(f"Import {record.id}: its readings were changed.")
    return faults


def faults_of_all_readings(session: Session) -> list[str]:
    """Return the same of every place: readings have no line each in the change log."""
    places = places_with_imports(session)
    return [fault for place in places for fault in faults_of_readings(session, place)]


def _refuse_what_is_open(file: LoggerFile) -> None:
    if file.how.open:
        faults = [Fault(f"/{name}", ASKED[name], CHOOSE[name]) for name in file.how.open]
        raise BadValue(faults[0].message, faults)
    if len(file.seconds) == 0:
        why = ", ".join(f"{one.count} with {one.reason}" for one in file.refused)
        message = f"No row of this file can be kept: {why}."
        raise BadValue.at("/file", message, "Look at how it is read, and choose otherwise.")


def _merged(
    session: Session, place_id: int, series: Series, file: LoggerFile, part: slice
) -> _Merged:
    figures = file.figures[:, part]
    holds_any = ~np.isnan(figures).all(axis=1)
    first, last = int(file.seconds[0]), int(file.seconds[-1])
    known, known_figures = readings_between(session, series, place_id, first, last)
    at = np.minimum(np.searchsorted(known, file.seconds), max(len(known) - 1, 0))
    is_known = known[at] == file.seconds if len(known) else np.zeros(len(file.seconds), bool)
    is_same = np.ones(len(file.seconds), bool)
    if len(known):
        there = known_figures[at]
        alike = (there == figures) | np.isnan(figures)
        is_same = ~is_known | alike.all(axis=1)
    return _Merged(is_new=holds_any & ~is_known, is_same=is_same | ~holds_any)


def _record(
    viewer: Viewer,
    place_id: int,
    sent: FileSent,
    file: LoggerFile,
    choices: Choices,
    merged: Iterable[_Merged],
    now: datetime,
) -> ReadingImport:
    met = list(merged)
    is_new = np.logical_or.reduce([one.is_new for one in met])
    differs = ~is_new & ~np.logical_and.reduce([one.is_same for one in met])
    how = file.how
    return ReadingImport(
        place_id=place_id,
        file_digest=sent.digest,
        file_name=on_one_line("name of the file", LONGEST_FILE_NAME)(sent.name or "unnamed"),
        file_bytes=sent.byte_count,
        read_as=how.kind[:LONGEST_FILE_NAME],
        time_zone=choices.time_zone,
        logger_clock=choices.clock.value,
        date_order=(how.date_order or "").strip(),
        unit=(how.unit or "").strip(),
        decimal_sign=how.decimal.value,
        rows=file.rows,
        new_rows=int(is_new.sum()),
        same_rows=int((~is_new & ~differs).sum()),
        differing_rows=int(differs.sum()),
        refused_rows=file.refused_rows,
        refused_why=_refusals_kept(file.refused),
        first_second=int(file.seconds[0]),
        last_second=int(file.seconds[-1]),
        rows_digest="",
        by_id=viewer.person_id or None,
        at=now,
    )


def _refusals_kept(refused: Sequence[Refused]) -> str:
    return json.dumps([[one.reason.value, one.count] for one in refused], ensure_ascii=False)


def _digest(parts: Iterable[tuple[Seconds, Floats]]) -> str:
    """Return the digest of rows: of each series the seconds and the figures, eight bytes each."""
    digest = hashlib.sha256()
    for seconds, figures in parts:
        digest.update(seconds.astype("<i8").tobytes())
        # One NaN, whatever made it.
        digest.update(np.where(np.isnan(figures), np.nan, figures).astype("<f8").tobytes())
    return digest.hexdigest()


_NO_ROWS = _digest(())


def _work_out_anew(session: Session, record: ReadingImport, *, today: int) -> None:
    """Work out the days that an import reaches, and what they change for the works there."""
    # What lies beside it may be bridged to it.
    first = (record.first_second - LONGEST_HOLE_S) // DAY_S
    last = (record.last_second + LONGEST_HOLE_S) // DAY_S
    anew = _days_anew(session, record.place_id, first, last)
    before = days_of_place(session, record.place_id)
    store_days(session, record.place_id, *spliced(before, anew, first, last))
    # A work that has left takes with it what its clocks ran there.
    below = place_tree(session).below(record.place_id)
    works = works_that_were_in(session, THE_HOUSE, below, first_day=None, last_day=None)
    refresh_or_mark(session, [key_of(work) for work in works], today=today)


def _days_anew(session: Session, place_id: int, first: int, last: int) -> Floats:
    begun, ended = first * DAY_S - LONGEST_HOLE_S, (last + 1) * DAY_S + LONGEST_HOLE_S
    climate = readings_between(session, CLIMATE, place_id, begun, ended)
    light = readings_between(session, LIGHT, place_id, begun, ended)
    rows = days_of_readings(climate, light)
    return rows[(rows[:, 0] >= first) & (rows[:, 0] <= last)]


def spliced(before: DaysRow | None, anew: Floats, first: int, last: int) -> tuple[int, Floats]:
    """Return the first day and all days, those of a span replaced; each new row has its day."""
    known = np.empty((0, anew.shape[1]))
    if before is not None:
        numbers = before.first_day + np.arange(len(before.days))
        known = np.column_stack([numbers, before.days])
        known = known[(numbers < first) | (numbers > last)]
    rows = np.concatenate([known, anew])
    rows = rows[(rows[:, 1] > 0) | (rows[:, 6] > 0)]
    if len(rows) == 0:
        return first, rows[:, 1:]
    begun = int(rows[:, 0].min())
    days = np.zeros((int(rows[:, 0].max()) - begun + 1, anew.shape[1] - 1))
    days[rows[:, 0].astype(np.int64) - begun] = rows[:, 1:]
    return begun, days


def _shown(record: ReadingImport) -> ImportOnRecord:
    return ImportOnRecord(
        id=key_of(record),
        version=record.version,
        file_name=record.file_name,
        file_digest=record.file_digest,
        file_bytes=record.file_bytes,
        read_as=record.read_as,
        time_zone=record.time_zone,
        rows=record.rows,
        new_rows=record.new_rows,
        same_rows=record.same_rows,
        differing_rows=record.differing_rows,
        refused_rows=record.refused_rows,
        refused_why=tuple((why, count) for why, count in json.loads(record.refused_why or "[]")),
        first_second=record.first_second,
        last_second=record.last_second,
        at=record.at,
        withdrawn_reason=record.withdrawn_reason,
    )
