"""How are the forecasts of a whole collection renewed over night, or asked "what if"?

From the rows that were kept when each work was last worked out from its records,
with the figures, the policy and the experience of today put in: blocks of works
go through NumPy and back into the table of forecasts, without any record being
read. What records, places or materials change goes the other way, by
`forecasts.refresh_forecasts`, which keeps new rows.

A kept row says nothing of verdicts, nor of a mounting that was assumed: when a
keeper changes a typical time or the time assumed before a first record, the works
that rest on it are worked out from their records as well (`works_of_figures`).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from models.risk.hazard import Floats
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Experience
from models.rules.packed_rows import (
    FORM,
    FRAME,
    MECHANISMS,
    ROW,
    figure_columns,
    figure_number,
    harm_rows,
    weak_layer,
)
from models.rules.policy import Policy
from models.rules.remat_advice import CURE
from models.rules.work_dates import DUE_KINDS, Asked, WorkDates, work_dates
from models.tables.component_rows import BETWEEN_NAMES
from models.vocabulary import Mechanism

# Works in one block: arrays that stay in the cache of a processor. Measured: blocks of 4,000
# take a third longer.
BATCH = 1_500

_DAYS = ("due_on", "unframing_on", "look_on", "box_check_on", "remat_by", "advised_on")
_READ = (
    "SELECT k.work_id, k.frame, k.packed_rows, k.names, f.score_day, f.due_on, f.unframing_on,"
    " f.look_on, f.box_check_on, f.remat_by, f.advised_on, f.due_kind, f.advice, f.weak_layer"
    " FROM component_rows k JOIN forecast f ON f.work_id = k.work_id WHERE k.form = {form}"
)
_AFTER = _READ + " AND k.work_id > {after} ORDER BY k.work_id LIMIT {most}"
_THESE = _READ + " AND k.work_id IN ({these})"
# Nearly every night only the chances change: what stands in no index is written at a
# third of the price.
_CHANCES = ("chance_unseen", "chance_new_5y", "score_day")
_ALL = (*_CHANCES, *_DAYS, "due_kind", "advice", "weak_layer")


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
    dates = _dates(block, figures, policy, experience, today)
    moved = _write(connection, block, dates, today)
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
    these = ", ".join(str(int(key)) for key in work_ids)
    block = _found(connection, _THESE.format(form=int(FORM), these=these)) if these else None
    if block is None:
        return RenewedWorks()
    dates = _dates(block, figures, policy, experience, today)
    moved = _write(connection, block, dates, today)
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
        new.append(_dates(block, figures, policy, experience, today).due_on)
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


def _read(connection: Connection, after: int, most: int) -> _Block | None:
    return _found(connection, _AFTER.format(form=int(FORM), after=int(after), most=int(most)))


def _found(connection: Connection, statement: str) -> _Block | None:
    found = connection.exec_driver_sql(statement).fetchall()
    if not found:
        return None
    ids, frames, rows, names, score_day, *stored = zip(*found, strict=True)
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
    )


def _dates(
    block: _Block, figures: DefaultFigures, policy: Policy, experience: Experience, today: int
) -> WorkDates:
    advised_on = block.days["advised_on"]
    return work_dates(
        Asked(
            rows=harm_rows(block.rows, block.counts, figure_columns(figures, experience)),
            frames=block.frames,
            policy=policy,
            today=np.full(len(block.work_ids), float(today)),
            advised_on=advised_on,
            not_advised_on=np.where(np.isnan(advised_on), block.score_day, np.nan),
        )
    )


def _write(connection: Connection, block: _Block, dates: WorkDates, today: int) -> list[int]:
    """Write what was worked out, and return the works of which more than a chance changed."""
    words = _words(block, dates)
    days = np.trunc([getattr(dates, name) for name in _DAYS])
    is_same = _are_same(days, np.array([block.days[name] for name in _DAYS]))
    is_same &= [said == says for said, says in zip(block.words, words, strict=True)]
    same, other = np.flatnonzero(is_same), np.flatnonzero(~is_same)
    moved: list[int] = block.work_ids[other].tolist()
    chances_alone = zip(*_chances(dates, same, today), block.work_ids[same].tolist(), strict=True)
    its_words = zip(*(words[index] for index in other), strict=True)
    its_days = (_whole(day[other]) for day in days)
    everything = zip(*_chances(dates, other, today), *its_days, *its_words, moved, strict=True)
    for columns, told in (
        (_CHANCES, list(chances_alone)),
        (_ALL, list(everything) if moved else []),
    ):
        if told:
            connection.exec_driver_sql(_update(columns, connection.dialect.paramstyle), told)
    return moved


def _are_same(days: Floats, before: Floats) -> NDArray[np.bool_]:
    """Say of which works all days are as they were."""
    are: NDArray[np.bool_] = ((days == before) | (np.isnan(days) & np.isnan(before))).all(axis=0)
    return are


def _chances(
    dates: WorkDates, of: NDArray[np.int64], today: int
) -> tuple[list[float], list[float], list[int]]:
    return (
        dates.chance_unseen[of].tolist(),
        dates.chance_new_5y[of].tolist(),
        [today] * len(of),
    )


def _whole(days: Floats) -> list[int | None]:
    known = np.nan_to_num(days).astype(np.int64).tolist()
    return [None if none else day for day, none in zip(known, np.isnan(days).tolist(), strict=True)]


def _words(block: _Block, dates: WorkDates) -> list[tuple[str | None, str | None, str]]:
    first = np.cumsum(block.counts) - block.counts
    leading = (dates.leading_at_unframing - first).tolist()
    cures = dates.leading_mechanism.tolist()
    kinds = [DUE_KINDS[kind] for kind in dates.due_kind.tolist()]
    return [
        (
            None if kind is None else kind.value,
            None if cure < 0 else CURE[MECHANISMS[cure]].value,
            weak_layer(names.split(BETWEEN_NAMES), leads),
        )
        for kind, cure, names, leads in zip(kinds, cures, block.names, leading, strict=True)
    ]


@cache
def _update(columns: tuple[str, ...], paramstyle: str) -> str:
    mark = "?" if paramstyle == "qmark" else "%s"
    told = ", ".join(f"{name} = {mark}" for name in columns)
    return f"UPDATE forecast SET {told} WHERE work_id = {mark}"
