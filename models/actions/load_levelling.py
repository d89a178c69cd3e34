"""What would levelling the load move, and how is it done and undone?

Unframings and remats share the bench: what is next due of them is spread over the
months ahead so that no month asks more than the policy says the house can do. Only
dates by the rules are moved, and only earlier; what somebody put off stays. Each
move is a postponement of its own with "levelled" as its reason, and all of them can
be taken back at once.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from sqlmodel import Session

from models.actions.in_force import in_force
from models.actions.renewal import refresh_or_mark
from models.errors import RuleBroken
from models.rules.calendar_days import add_months
from models.rules.level_load import Levelled, Load, level_load, month_capacity
from models.rules.packed_rows import FRAME
from models.rules.permissions import Deed, require
from models.rules.policy import Policy
from models.tables.postponements import (
    LoadRow,
    Postponement,
    last_visit_numbers,
    levelled_postponements,
    load_rows,
)
from models.tables.register import works_with_keys
from models.tables.visible import Viewer
from models.vocabulary import DueKind

MONTHS = 24
REASON = "Levelled: the month held more than the bench can do."
UNDONE = "Levelling taken back."
# So many moves are shown before they are made; the rest are counted.
MOST_SHOWN = 200


@dataclass(frozen=True)
class MoveShown:
    """One date that would be moved, of a work by number and title."""

    work_id: int
    number: str
    title: str
    kind: DueKind
    from_day: int
    to_day: int


@dataclass(frozen=True)
class LevellingShown:
    """What levelling would do: the first moves, how many there are, and the months."""

    levelled: Levelled
    moves: tuple[MoveShown, ...]
    capacity: int
    can_be_undone: int


def preview_levelling(session: Session, viewer: Viewer, *, today: int) -> LevellingShown:
    """Return what would be moved; nothing is stored."""
    require(viewer.role, Deed.LEVEL_LOAD)
    levelled, capacity, kinds = _levelled(session, today)
    shown = levelled.moves[:MOST_SHOWN]
    works = {w.id: w for w in works_with_keys(session, viewer, [move.work for move in shown])}
    moves = tuple(
        MoveShown(
            move.work,
            works[move.work].number,
            works[move.work].title,
            kinds[move.work],
            move.from_day,
            move.to_day,
        )
        for move in shown
        if move.work in works
    )
    return LevellingShown(levelled, moves, capacity, len(levelled_postponements(session)))


def level(session: Session, viewer: Viewer, *, today: int) -> int:
    """Move what the preview says, and return how many dates moved. Raises RuleBroken for none."""
    require(viewer.role, Deed.LEVEL_LOAD)
    levelled, _, kinds = _levelled(session, today)
    if not levelled.moves:
        raise RuleBroken("No date has to be moved, or none can be.", "nothing_to_level")
    works = [move.work for move in levelled.moves]
    visits = last_visit_numbers(session, works)
    for move in levelled.moves:
        session.add(
            Postponement(
                work_id=move.work,
                kind=kinds[move.work],
                until_on=move.to_day,
                reason=REASON,
                made_on=today,
                by_id=viewer.person_id,
                after_visit_no=visits.get(move.work, 0),
                is_levelled=True,
            )
        )
    session.flush()
    refresh_or_mark(session, works, today=today)
    return len(works)


def take_levelling_back(session: Session, viewer: Viewer, *, today: int) -> int:
    """Let every date that was levelled stand where the rules say, and return how many."""
    require(viewer.role, Deed.LEVEL_LOAD)
    rows = levelled_postponements(session)
    for row in rows:
        row.withdrawn_reason, row.version = UNDONE, row.version + 1
    session.flush()
    refresh_or_mark(session, [row.work_id for row in rows], today=today)
    return len(rows)


def _levelled(session: Session, today: int) -> tuple[Levelled, int, Mapping[int, DueKind]]:
    policy = in_force(session).policy
    capacity = month_capacity(policy.unframings_a_week)
    until = add_months(today, MONTHS + 1)
    rows = load_rows(session, until=until)
    loads = [_load(row, policy) for row in rows]
    levelled = level_load(loads, today=today, months=MONTHS, capacity=capacity)
    return levelled, capacity, {row.work_id: row.kind for row in rows}


def _load(row: LoadRow, policy: Policy) -> Load:
    """Return one date with its bounds; a remat may be made on any day before its last."""
    frame = np.frombuffer(row.frame, dtype=FRAME)[0]
    opened = frame["opened"]
    earliest = 0
    if row.kind is DueKind.UNFRAMING and not np.isnan(opened):
        earliest = add_months(int(opened), int(policy.unframing_earliest_months))
    return Load(work=row.work_id, latest_day=row.on, earliest_day=earliest, is_fixed=row.is_put_off)
