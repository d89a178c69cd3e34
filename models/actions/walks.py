"""How are sixty frames of a room, or the sheets of a box, looked at in one act?

Who walks round says when, what was seen, and which works were not as before;
all the others were as before. A work that was not found, or that nobody looked
at, is named and gets no visit: nobody saw it. A box is checked as a box; its
sheets stay in it, so that a check sees nothing of them unless somebody says so.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session, col, func, select

from models.actions.missing_works import note_missing
from models.actions.named_records import person_named
from models.actions.places import place_tree
from models.actions.record_changes import date_columns, key_of, write
from models.actions.renewal import refresh_or_mark
from models.actions.visits import record_visit, set_seen, settle_by
from models.errors import BadValue, Fault, RuleBroken
from models.rules.half_known_dates import HalfKnownDate, read_date
from models.rules.permissions import Deed, require
from models.rules.place_tree import BETWEEN, PlaceTree, names_in_path
from models.rules.record_order import refuse_future, refuse_seeing_through
from models.rules.record_values import Faults
from models.rules.visit_as_told import SightingTold, StopTold, VisitTold
from models.tables.places import Walk
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.tables.walks import (
    OtherWalk,
    WorkThere,
    numbers_of_works,
    walks_since,
    works_there,
)
from models.vocabulary import PlaceUse, Shown, VisitKind

# Who walks past sees the front; the back of a frame only who takes it off the wall.
SEEN_ON_A_WALK = frozenset({Shown.FRONT})


@dataclass(frozen=True, kw_only=True)
class ExceptionTold:
    """A work that was not as before: what was seen of it, or why it needs somebody at once."""

    work_id: int
    summary: str = ""
    sightings: tuple[SightingTold, ...] = ()
    stop: StopTold | None = None


@dataclass(frozen=True, kw_only=True)
class WalkTold:
    """A walk-round of a room, or a check of a box, as told."""

    on: str
    by: str | None = None
    seen: frozenset[Shown] | None = None
    all_as_before_except: tuple[ExceptionTold, ...] = ()
    not_found: tuple[int, ...] = ()
    not_looked_at: tuple[int, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class PlaceWalked:
    """What is looked at in one place of a walk; `within` is its path from where the walk began."""

    within: str
    works: tuple[WorkThere, ...]


@dataclass(frozen=True)
class RecordedWalk:
    """A stored walk: how many works were as before, the visits of the others, who is missing."""

    walk_id: int
    as_before: tuple[int, ...]
    exceptions: tuple[int, ...]
    not_found: tuple[int, ...]


def record_walk_round(
    session: Session, viewer: Viewer, place_id: int, told: WalkTold, *, today: int
) -> RecordedWalk:
    """Record one look at every work in a place and in all that is within it.

    Raises NotFound for the place, BadValue, RuleBroken (`nothing_there`,
    `nothing_looked_at`, `told_twice`, `in_the_future`, `cannot_be_seen`).
    """
    return _record(session, viewer, place_id, told, VisitKind.LOOK, today=today)


def record_box_check(
    session: Session, viewer: Viewer, place_id: int, told: WalkTold, *, today: int
) -> RecordedWalk:
    """Record one check of a box as a box: damp, insects, sheets slipped.

    Raises RuleBroken (`no_box`) for a place that is not used as a box, and as
    `record_walk_round`.
    """
    if place_tree(session).effective(place_id).use is not PlaceUse.BOX:
        raise RuleBroken("This place is not a box; walk round it instead.", "no_box")
    return _record(session, viewer, place_id, told, VisitKind.BOX_CHECK, today=today)


def works_walked(
    session: Session, viewer: Viewer, place_id: int, kind: VisitKind
) -> list[WorkThere]:
    """Return the works that a walk-round or a check of a place looks at, by number.

    Whoever walks round a room sees nothing of what lies in its boxes: a box is
    checked as a box. Raises NotFound for a place that is not on record.
    """
    return works_there(session, viewer, _looked_into(place_tree(session), place_id, kind))


def in_walking_order(
    session: Session, viewer: Viewer, tree: PlaceTree, place_id: int, kind: VisitKind
) -> list[PlaceWalked]:
    """Return the same works wall by wall as the places stand in their tree, each by number."""
    works = works_there(session, viewer, _looked_into(tree, place_id, kind))
    paths = {key: names_in_path(tree.path(key)) for key in {work.place_id for work in works}}
    begun_at = len(names_in_path(tree.path(place_id)))
    ordered = sorted(works, key=lambda work: paths[work.place_id])
    return [
        PlaceWalked(BETWEEN.join(names[begun_at:]), tuple(those))
        for names, those in groupby(ordered, key=lambda work: paths[work.place_id])
    ]


def walked_meanwhile(
    session: Session, viewer: Viewer, place_id: int, kind: VisitKind, *, after: int
) -> list[OtherWalk]:
    """Return the walks recorded after another one that looked at works of this place too."""
    tree = place_tree(session)
    overlapping = {*tree.below(place_id), *tree.around(place_id)}
    return walks_since(session, viewer, overlapping, kind, after=after)


def _looked_into(tree: PlaceTree, place_id: int, kind: VisitKind) -> tuple[int, ...]:
    tree.effective(place_id)
    within = tree.below(place_id)
    if kind is VisitKind.LOOK:
        within = tuple(key for key in within if tree.effective(key).use is not PlaceUse.BOX)
    return within


def _record(
    session: Session,
    viewer: Viewer,
    place_id: int,
    told: WalkTold,
    kind: VisitKind,
    *,
    today: int,
) -> RecordedWalk:
    require(viewer.role, Deed.WALK_ROUND)
    faults = Faults()
    on = faults.read("/on", read_date, told.on)
    by = faults.read_if_given("/by", lambda name: person_named(session, name), told.by)
    faults.refuse()
    assert on is not None, "a fault was refused"
    refuse_future(on, today, "walk-round")
    seen = _seen(told, kind)
    refuse_seeing_through(kind, seen)
    there = {work.work_id for work in works_walked(session, viewer, place_id, kind)}
    if not there:
        raise RuleBroken("There is no work in this place to look at.", "nothing_there")
    _refuse_elsewhere(told, there)
    if there == set(told.not_looked_at):
        raise RuleBroken("Nobody looked at any of the works.", "nothing_looked_at")
    walk = Walk(place_id=place_id, kind=kind, on_edtf=on.edtf, by_id=by.id if by else None)
    write(walk, {**date_columns("on", on), "note": _note(session, told)})
    session.add(walk)
    session.flush()
    differing = {exception.work_id for exception in told.all_as_before_except}
    as_before = sorted(there - differing - {*told.not_found, *told.not_looked_at})
    note_missing(session, walk, told.not_found)
    _add_visits(session, viewer, walk, as_before, on, seen, today=today)
    refresh_or_mark(session, as_before, today=today)
    visits = tuple(
        _record_exception(session, viewer, walk, told, kind, seen, nth, today=today)
        for nth in range(len(told.all_as_before_except))
    )
    return RecordedWalk(key_of(walk), tuple(as_before), visits, told.not_found)


def _seen(told: WalkTold, kind: VisitKind) -> frozenset[Shown]:
    if told.seen is not None:
        return told.seen
    return SEEN_ON_A_WALK if kind is VisitKind.LOOK else frozenset()


def _refuse_elsewhere(told: WalkTold, there: Collection[int]) -> None:
    named = [
        *(
            (f"/all_as_before_except/{i}/work", exception.work_id)
            for i, exception in enumerate(told.all_as_before_except)
        ),
        *((f"/not_found/{i}", work_id) for i, work_id in enumerate(told.not_found)),
        *((f"/not_looked_at/{i}", work_id) for i, work_id in enumerate(told.not_looked_at)),
    ]
    faults = [
        Fault(at, f"Work {work_id} is not in this place on record.", "a work of this place")
        for at, work_id in named
        if work_id not in there
    ]
    if faults:
        raise BadValue(faults[0].message, faults)
    ids = [work_id for _, work_id in named]
    if len(set(ids)) != len(ids):
        raise RuleBroken("A work is told twice in this walk-round; tell it once.", "told_twice")


def _note(session: Session, told: WalkTold) -> str:
    """Return the note with the numbers of the works that get no visit."""
    unseen = {"Not found": told.not_found, "Not looked at": told.not_looked_at}
    named = [
        f"{why}: {'; '.join(numbers_of_works(session, those))}."
        for why, those in unseen.items()
        if those
    ]
    return "\n".join([told.note, *named]).strip()


def _add_visits(
    session: Session,
    viewer: Viewer,
    walk: Walk,
    work_ids: Sequence[int],
    on: HalfKnownDate,
    seen: frozenset[Shown],
    *,
    today: int,
) -> None:
    """Add a visit to each work that was as before, in as many statements as to one."""
    last = select(Visit.work_id, func.max(Visit.visit_no)).where(col(Visit.work_id).in_(work_ids))
    numbers = dict(session.exec(last.group_by(col(Visit.work_id))).all())
    visits = []
    for work_id in work_ids:
        visit = Visit(
            work_id=work_id,
            visit_no=numbers.get(work_id, 0) + 1,
            kind=walk.kind,
            on_edtf=on.edtf,
            by_id=walk.by_id,
            walk_id=walk.id,
            recorded_by_id=viewer.person_id,
            recorded_on=today,
        )
        write(visit, date_columns("on", on))
        set_seen(visit, seen)
        visits.append(visit)
    session.add_all(visits)
    session.flush()
    settle_by(session, visits)


def _record_exception(
    session: Session,
    viewer: Viewer,
    walk: Walk,
    told: WalkTold,
    kind: VisitKind,
    seen: frozenset[Shown],
    nth: int,
    *,
    today: int,
) -> int:
    exception = told.all_as_before_except[nth]
    visit = VisitTold(
        on=told.on,
        kind=kind,
        by=told.by,
        seen=seen,
        summary=exception.summary,
        sightings=exception.sightings,
        stop=exception.stop,
    )
    try:
        stored = record_visit(
            session, viewer, exception.work_id, visit, today=today, walk_id=key_of(walk)
        )
    except BadValue as error:
        error.faults = tuple(_within_walk(fault, nth) for fault in error.faults)
        raise
    return stored.visit_id


def _within_walk(fault: Fault, nth: int) -> Fault:
    """Say where a fault of one visit stands in the walk that it is part of."""
    pointer = fault.pointer.removeprefix("/report")
    return Fault(f"/all_as_before_except/{nth}{pointer}", fault.message, fault.right)
