"""How are the forecasts of a whole collection renewed over night, or asked "what if"?

From the rows that were kept when each work was last worked out from its records,
with the figures, the policy and the experience of today put in: blocks of works
go through NumPy and back into the table of forecasts, without any record being
read. What records, places or materials change goes the other way, by
`forecasts.refresh_forecasts`, which keeps new rows. An ordinary night does not search for
dates again: the years that were found are kept while they hold (`models.rules.kept_years`).

A kept row says nothing of verdicts, nor of a mounting that was assumed: when a
keeper changes a typical time or the time assumed before a first record, the works
that rest on it are worked out from their records as well (`works_of_figures`).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from models.risk.hazard import Floats
from models.rules.default_figures import DefaultFigures
from models.rules.kept_years import (
    are_same,
    hold,
    number_of,
    pack_years,
    searched,
    unpack_years,
)
from models.rules.package_components import Experience
from models.rules.packed_rows import (
    FORM,
    FRAME,
    MECHANISMS,
    ROW,
    FigureColumns,
    HarmRows,
    Packed,
    figure_columns,
    figure_number,
    harm_rows,
    weak_layer,
)
from models.rules.policy import Policy
from models.rules.remat_advice import CURE
from models.rules.work_dates import DUE_KINDS, Asked, WorkDates, search, work_dates
from models.tables.component_rows import BETWEEN_NAMES
from models.vocabulary import Mechanism

# Works in one block: arrays that stay in the cache of a processor. Measured: blocks of 4,000
# take a third longer.
BATCH = 1_500

_DAYS = ("due_on", "unframing_on", "look_on", "box_check_on", "remat_by", "advised_on")
_READ = (
    "SELECT k.work_id, k.frame, k.packed_rows, k.names, f.score_day, f.due_on, f.unframing_on,"
    " f.look_on, f.box_check_on, f.remat_by, f.advised_on, f.due_kind, f.advice, f.weak_layer,"
    " f.kept_years"
    " FROM component_rows k JOIN forecast f ON f.work_id = k.work_id WHERE k.form = {form}"
)
_AFTER = _READ + " AND k.work_id > {after} ORDER BY k.work_id LIMIT {most}"
_THESE = _READ + " AND k.work_id IN ({these})"
# Nearly every night only the chances change: what stands in no index is written at a
# third of the price.
_CHANCES = ("chance_unseen", "chance_new_5y", "score_day")
_WORDS = ("due_kind", "advice", "weak_layer")
_ALL = (*_CHANCES, *_DAYS, *_WORDS)
_YEARS = "kept_years"
_KIND_WORDS = tuple(None if kind is None else kind.value for kind in DUE_KINDS)
# An accident has no cure, and no row that could lead. The last is for -1: nothing leads.
_CURE_WORDS = (*(CURE[its].value if its in CURE else None for its in MECHANISMS), None)


@dataclass(frozen=True)
class Renewed:
    """How far a renewal came, of how many works some date moved."""

    last_work_id: int
    works: int
    moved: int


@dataclass(frozen=True)
class RenewedWorks:
    """Which works were renewed from kept rows, and which of them more than a chance moved."""

    work_ids: frozenset[int] = frozenset()
    moved_ids: frozenset[int] = frozenset()


@dataclass(frozen=True)
class DatesIf:
    """The day on which each work is due, as stored and as it would be; NaN where there is none."""

    work_ids: NDArray[np.int64]
    old: Floats
    new: Floats

    @property
    def moved(self) -> int:
        """Count the works whose day would be another."""
        both_none = np.isnan(self.old) & np.isnan(self.new)
        return int(np.count_nonzero(~both_none & (self.old != self.new)))


def renew_from_rows(
    connection: Connection,
    figures: DefaultFigures,
    policy: Policy,
    experience: Experience,
    today: int,
    batch: int = BATCH,
) -> int:
    """Renew every work of which rows are kept, and return how many there were."""
    works, last = 0, 0
    while True:
        done = renew_block(connection, figures, policy, experience, today, after=last, most=batch)
        if done is None:
            return works
        works, last = works + done.works, done.last_work_id


def renew_block(
    connection: Connection,
    figures: DefaultFigures,
    policy: Policy,
    experience: Experience,
    today: int,
    *,
    after: int,
    most: int = BATCH,
) -> Renewed | None:
    """Renew the next works after one number; None when there is none left."""
    block = _read(connection, after, most)
    if block is None:
        return None
    dates, years = _dates(block, figures, policy, experience, today)
    moved = _write(connection, block, dates, years, today)
    return Renewed(int(block.work_ids[-1]), len(block.work_ids), len(moved))


def renew_works(
    connection: Connection,
    figures: DefaultFigures,
    policy: Policy,
    experience: Experience,
    today: int,
    work_ids: Sequence[int],
) -> RenewedWorks:
    """Renew those of these works of which rows are kept as they are packed now."""
    block = _these(connection, work_ids)
    if block is None:
        return RenewedWorks()
    dates, years = _dates(block, figures, policy, experience, today)
    moved = _write(connection, block, dates, years, today)
    return RenewedWorks(frozenset(block.work_ids.tolist()), frozenset(moved))


def dates_if(
    connection: Connection,
    figures: DefaultFigures,
    policy: Policy,
    experience: Experience,
    today: int,
    batch: int = BATCH,
) -> DatesIf:
    """Return on which day each work would be due under these figures, and is due as stored.

    Nothing is written. Both are as of today, so that nothing but the change moves a day.
    """
    ids, old, new, last = [], [], [], 0
    while (block := _read(connection, last, batch)) is not None:
        ids.append(block.work_ids)
        old.append(block.days["due_on"])
        new.append(_dates(block, figures, policy, experience, today)[0].due_on)
        last = int(block.work_ids[-1])
    none = np.zeros(0)
    return DatesIf(
        np.concatenate([np.zeros(0, dtype=np.int64), *ids]),
        np.concatenate([none, *old]),
        np.concatenate([none, *new]),
    )


def works_of_figures(
    connection: Connection, wanted: Sequence[tuple[Mechanism, str]], batch: int = BATCH
) -> Iterator[list[int]]:
    """Give, block by block, the works with a row of one of these figures."""
    numbers = np.array([figure_number(*figure) for figure in wanted], dtype=np.uint32)
    last = 0
    while (block := _read(connection, last, batch)) is not None:
        has = np.isin(block.rows["figure"], numbers)
        work = np.repeat(np.arange(len(block.counts)), block.counts)
        yield block.work_ids[np.unique(work[has])].tolist()
        last = int(block.work_ids[-1])


@dataclass(frozen=True)
class _Block:
    """Works as they are kept, with what is stored of their forecasts."""

    work_ids: NDArray[np.int64]
    frames: NDArray[np.void]
    rows: NDArray[np.void]
    counts: NDArray[np.int64]
    names: Sequence[str]
    score_day: Floats
    days: dict[str, Floats]
    words: Sequence[tuple[str | None, str | None, str]]
    years: Packed


def _read(connection: Connection, after: int, most: int) -> _Block | None:
    return _found(connection, _AFTER.format(form=int(FORM), after=int(after), most=int(most)))


def _these(connection: Connection, work_ids: Sequence[int]) -> _Block | None:
    these = ", ".join(str(int(key)) for key in work_ids)
    return _found(connection, _THESE.format(form=int(FORM), these=these)) if these else None


def _found(connection: Connection, statement: str) -> _Block | None:
    found = connection.exec_driver_sql(statement).fetchall()
    if not found:
        return None
    ids, frames, rows, names, score_day, *stored, years = zip(*found, strict=True)
    days = {
        name: np.array(values, dtype=np.float64)
        for name, values in zip(_DAYS, stored, strict=False)
    }
    return _Block(
        work_ids=np.array(ids, dtype=np.int64),
        frames=np.frombuffer(b"".join(frames), dtype=FRAME),
        rows=np.frombuffer(b"".join(rows), dtype=ROW),
        counts=np.array([len(packed) for packed in rows], dtype=np.int64) // ROW.itemsize,
        names=names,
        score_day=np.array(score_day, dtype=np.float64),
        days=days,
        words=list(zip(*stored[len(_DAYS) :], strict=True)),
        years=unpack_years(years),
    )


def _dates(
    block: _Block, figures: DefaultFigures, policy: Policy, experience: Experience, today: int
) -> tuple[WorkDates, Packed]:
    """Return the dates of a block, and the years on which they rest."""
    columns = figure_columns(figures, experience)
    advised_on = block.days["advised_on"]
    rows = harm_rows(block.rows, block.counts, columns)
    years = _years(block, rows, columns, policy, today)
    asked = Asked(
        rows=rows,
        frames=block.frames,
        policy=policy,
        today=np.full(len(block.work_ids), float(today)),
        advised_on=advised_on,
        not_advised_on=np.where(np.isnan(advised_on), block.score_day, np.nan),
        searched=searched(years),
    )
    return work_dates(asked), years


def _years(
    block: _Block, rows: HarmRows, columns: FigureColumns, policy: Policy, today: int
) -> Packed:
    """Return the years of each work: as kept where they hold, and searched for the others."""
    found_with = number_of(columns, policy)
    holds = hold(block.years, found_with, block.work_ids, today)
    if holds.all():
        return block.years
    if not holds.any():
        return pack_years(search(rows, block.frames, policy), found_with)
    of = ~holds
    packed = block.rows[np.repeat(of, block.counts)]
    theirs = harm_rows(packed, block.counts[of], columns)
    years = block.years.copy()
    years[of] = pack_years(search(theirs, block.frames[of], policy), found_with)
    return years


def works_of_wrong_years(
    connection: Connection,
    figures: DefaultFigures,
    policy: Policy,
    experience: Experience,
    work_ids: Sequence[int],
) -> set[int]:
    """Return those of these works of which years are kept that a search does not find."""
    block = _these(connection, work_ids)
    if block is None:
        return set()
    columns = figure_columns(figures, experience)
    found_with = number_of(columns, policy)
    rows = harm_rows(block.rows, block.counts, columns)
    anew = pack_years(search(rows, block.frames, policy), found_with)
    wrong = (block.years["found_with"] == np.uint64(found_with)) & ~are_same(block.years, anew)
    return set(block.work_ids[wrong].tolist())


def _write(
    connection: Connection, block: _Block, dates: WorkDates, years: Packed, today: int
) -> list[int]:
    """Write what was worked out, and return the works of which more than a chance changed."""
    words = _words(block, dates)
    days = np.trunc([getattr(dates, name) for name in _DAYS])
    is_same = _are_same(days, np.array([block.days[name] for name in _DAYS]))
    is_same &= [said == says for said, says in zip(block.words, words, strict=True)]
    is_kept = years == block.years
    values = _values(block, dates, days, words, years, today)
    for its, columns in (
        (is_same & is_kept, _CHANCES),
        (is_same & ~is_kept, (*_CHANCES, _YEARS)),
        (~is_same, (*_ALL, _YEARS)),
    ):
        of = np.flatnonzero(its)
        if len(of):
            told = zip(*(values[name](of) for name in (*columns, "work_id")), strict=True)
            statement = _update(columns, connection.dialect.paramstyle)
            connection.exec_driver_sql(statement, list(told))
    moved: list[int] = block.work_ids[~is_same].tolist()
    return moved


# From the places of works in a block to the values of a column for them.
_Values = Callable[[NDArray[np.int64]], Sequence[object]]


def _values(
    block: _Block,
    dates: WorkDates,
    days: Floats,
    words: Sequence[tuple[str | None, ...]],
    years: Packed,
    today: int,
) -> dict[str, _Values]:
    """Return, by column, how its values are read."""
    return {
        "work_id": lambda of: block.work_ids[of].tolist(),
        "score_day": lambda of: [today] * len(of),
        "chance_unseen": lambda of: dates.chance_unseen[of].tolist(),
        "chance_new_5y": lambda of: dates.chance_new_5y[of].tolist(),
        _YEARS: lambda of: _cut(years[of]),
        **{name: partial(_whole, its) for name, its in zip(_DAYS, days, strict=True)},
        **{name: partial(_said, words, nth) for nth, name in enumerate(_WORDS)},
    }


def _cut(years: Packed) -> list[bytes]:
    """Return the years of each work as bytes."""
    together, size = years.tobytes(), years.itemsize
    return [together[start : start + size] for start in range(0, len(together), size)]


def _said(
    words: Sequence[tuple[str | None, ...]], nth: int, of: NDArray[np.int64]
) -> list[str | None]:
    return [words[index][nth] for index in of.tolist()]


def _are_same(days: Floats, before: Floats) -> NDArray[np.bool_]:
    """Say of which works all days are as they were."""
    are: NDArray[np.bool_] = ((days == before) | (np.isnan(days) & np.isnan(before))).all(axis=0)
    return are


def _whole(days: Floats, of: NDArray[np.int64]) -> list[int | None]:
    known = np.nan_to_num(days[of]).astype(np.int64).tolist()
    none = np.isnan(days[of]).tolist()
    return [None if is_none else day for day, is_none in zip(known, none, strict=True)]


def _words(block: _Block, dates: WorkDates) -> list[tuple[str | None, str | None, str]]:
    first = np.cumsum(block.counts) - block.counts
    leading = (dates.leading_at_unframing - first).tolist()
    cures, kinds = dates.leading_mechanism.tolist(), dates.due_kind.tolist()
    return [
        (_KIND_WORDS[kind], _CURE_WORDS[cure], weak_layer(names.split(BETWEEN_NAMES), leads))
        for kind, cure, names, leads in zip(kinds, cures, block.names, leading, strict=True)
    ]


@cache
def _update(columns: tuple[str, ...], paramstyle: str) -> str:
    mark = "?" if paramstyle == "qmark" else "%s"
    told = ", ".join(f"{name} = {mark}" for name in columns)
    return f"UPDATE forecast SET {told} WHERE work_id = {mark}"
