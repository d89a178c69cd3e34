"""What must be looked at, opened, checked or rematted, and by when?

Taken from the stored forecasts and from the looks that incidents ask for; every
line says why. A day that is past stays where it was and is due today. A box is
one line, however many works are in it. Works that nobody has examined are never
overdue: they stand on a list of their own, by value and by what is likely,
levelled to what a bench can do in a week.
"""

from bisect import bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from sqlmodel import Session

from models.actions.in_force import InForce, in_force
from models.actions.places import place_tree
from models.rules.bench_hours import BenchHours, Dates, bench_hours
from models.rules.calendar_days import add_months, day_date, day_in_words, day_number
from models.rules.chance_words import chance_in_words
from models.rules.half_known_dates import in_words, read_date
from models.rules.inspection_schedule import shown_day
from models.rules.permissions import Deed, require
from models.rules.place_tree import PlaceTree
from models.rules.policy import AS_SHIPPED
from models.rules.three_questions import NOT_RECORDED
from models.rules.urgent_signs import FIRST_ACTS
from models.tables.base import FIRST_DAY
from models.tables.due import (
    ORDER_ON_A_DAY,
    BoxRow,
    DueKey,
    DueRow,
    StoredMark,
    SurveyRow,
    WaitingBesides,
    box_rows,
    count_survey,
    due_rows,
    stored_marks,
    survey_rows,
    waiting_besides,
)
from models.tables.due_loads import DueLoad, due_loads
from models.tables.visible import Viewer
from models.vocabulary import DueKind, UrgentSign, Verdict

DAYS_A_WEEK = 7
SOON_MONTHS = 1
MOST_TO_WRITE_UP = 50
TAKE_DOWN_WHY = (
    "By then its light of this year is used up. First: move it where it is dark; another work can"
    " take its turn."
)


class DueState(StrEnum):
    """How a day stands to today."""

    OVERDUE = "overdue"
    TODAY = "today"
    SOON = "soon"
    LATER = "later"


@dataclass(frozen=True, kw_only=True)
class DueItem:
    """One thing due: of a work, or of a box with so many works.

    `on` is the day as the rules gave it, `shown_on` never before today; of the
    first survey `on` is None and `shown_on` the day by which its turn comes.
    """

    kind: DueKind
    on: int | None
    shown_on: int
    state: DueState
    why: str
    place: str | None
    place_id: int | None
    work_id: int | None = None
    number: str = ""
    title: str = ""
    owner: str | None = None
    works: int = 1
    # Of the first survey: the question worth asking, where somebody has worked it out.
    asks: str = ""
    # Of the sheet, where it was measured.
    height_um: int | None = None
    width_um: int | None = None
    # Of what does not wait: what to mind at its first act.
    caution: str = ""


@dataclass(frozen=True)
class DuePage:
    """A page of what is due, and the key it goes on after, if there is more."""

    items: Sequence[DueItem]
    next_after: DueKey | None = None


@dataclass(frozen=True)
class Survey:
    """A page of the first survey: how many works are waiting, and when all will be seen."""

    items: Sequence[DueItem]
    waiting: int
    all_seen_by: int | None
    next_after: int | None = None
    a_week: float = AS_SHIPPED.unframings_a_week


@dataclass(frozen=True)
class MonthAhead:
    """How many works and boxes are next due in one month; the first carries what is overdue."""

    first_day: int
    last_day: int
    due: int
    overdue: int = 0
    # What it asks of the house; `late` is the part of it that is overdue.
    hours: BenchHours = field(default_factory=BenchHours, compare=False)
    late_hours: float = field(default=0.0, compare=False)


@dataclass(frozen=True)
class Mark:
    """What a list says of one work."""

    verdict: Verdict | None
    kind: DueKind | None
    shown_on: int | None
    state: DueState | None


def what_is_due(
    session: Session,
    viewer: Viewer,
    *,
    until: int | None = None,
    kind: DueKind | None = None,
    today: int,
    limit: int = 50,
    after: DueKey | None = None,
    boxes: Sequence[BoxRow] | None = None,
    tree: PlaceTree | None = None,
    place_id: int | None = None,
    apart: Collection[DueKind] = (),
) -> DuePage:
    """Return a page of what is due up to a day (inclusive), the longest due first.

    `boxes` are those of `boxes_to_check`, and `tree` the places, where somebody has asked
    for them already. `place_id` is a place with all that is within it; the kinds `apart`
    are left out, unless one of them is asked for.
    """
    require(viewer.role, Deed.READ)
    kinds = [one for one in ORDER_ON_A_DAY if one not in apart] if kind is None else [kind]
    tree = tree or place_tree(session)
    within = None if place_id is None else tree.below(place_id)
    rows = due_rows(
        session, viewer, kinds, until=until, after=after, limit=limit + 1, place_ids=within
    )
    found = [(row.key, _item(row, tree, today)) for row in rows]
    if DueKind.BOX_CHECK in kinds:
        known = boxes_to_check(session, viewer, tree) if boxes is None else boxes
        known = [box for box in known if within is None or box.place_id in within]
        keyed = [(_key(box), _box_item(box, tree, today)) for box in known]
        found += [(key, item) for key, item in keyed if _is_asked(key, until, after)]
    found = sorted(found, key=lambda one: one[0])
    shown = found[:limit]
    more = len(found) > limit
    return DuePage([item for _, item in shown], shown[-1][0] if more else None)


def boxes_to_check(session: Session, viewer: Viewer, tree: PlaceTree | None = None) -> list[BoxRow]:
    """Return one row a box: a folder in a box is checked with the box it lies in."""
    require(viewer.role, Deed.READ)
    tree = tree or place_tree(session)
    boxes: dict[int, BoxRow] = {}
    for row in box_rows(session, viewer):
        box = tree.effective(row.place_id).said_by["use"] or row.place_id
        other = boxes.get(box, BoxRow(box, row.on, 0, row.work_id))
        boxes[box] = BoxRow(
            place_id=box,
            on=min(row.on, other.on),
            works=row.works + other.works,
            work_id=min(row.work_id, other.work_id),
        )
    return list(boxes.values())


def first_survey(
    session: Session,
    viewer: Viewer,
    *,
    today: int,
    limit: int = 50,
    after: int = 0,
    force: InForce | None = None,
) -> Survey:
    """Return a page of the works that nobody has examined; `after` so many that were shown."""
    require(viewer.role, Deed.READ)
    waiting = count_survey(session, viewer)
    if not waiting:
        return Survey((), 0, None)
    force = force or in_force(session)
    a_week = force.policy.unframings_a_week
    rows = survey_rows(session, viewer, start=after, limit=limit)
    items = [
        _survey_item(row, force.tree, today + days_until_turn(n, a_week))
        for n, row in enumerate(rows, after)
    ]
    end = after + len(rows)
    all_seen_by = today + days_until_turn(waiting - 1, a_week)
    return Survey(items, waiting, all_seen_by, end if rows and end < waiting else None, a_week)


def months_ahead(
    session: Session,
    viewer: Viewer,
    *,
    today: int,
    boxes: Sequence[BoxRow],
    months: int = 12,
) -> list[MonthAhead]:
    """Return how many works, follow-ups and boxes are next due in this month and the others."""
    require(viewer.role, Deed.READ)
    first = day_number(day_date(today).replace(day=1))
    starts = [add_months(first, n) for n in range(months + 1)]
    # What is overdue lies before today, and what is left of this month begins with it.
    bounds = [FIRST_DAY, today, *starts[1:]]
    loads: list[list[DueLoad]] = [[] for _ in bounds[1:]]
    for load in due_loads(session, viewer, bounds):
        loads[load.span_no].append(load)
    for box in boxes:
        span_no = bisect_right(bounds, box.on) - 1
        if span_no < len(loads):
            loads[span_no].append(DueLoad(span_no, DueKind.BOX_CHECK, 1, 0, 0.0))
    late, *ahead = loads
    return [
        _month_ahead(start, end, month, late if start == first else [])
        for (start, end), month in zip(pairwise(starts), ahead, strict=True)
    ]


def _month_ahead(
    start: int, end: int, loads: Sequence[DueLoad], late: Sequence[DueLoad]
) -> MonthAhead:
    return MonthAhead(
        first_day=start,
        last_day=end - 1,
        due=sum(load.works for load in loads),
        overdue=sum(load.works for load in late),
        hours=bench_hours(_dates(load) for load in (*loads, *late)),
        late_hours=bench_hours(_dates(load) for load in late).total,
    )


def _dates(load: DueLoad) -> Dates:
    return Dates(load.kind, load.works, load.known, load.hours)


def what_waits_besides(session: Session, viewer: Viewer) -> WaitingBesides:
    """Return what waits for its words, and what nobody has found; nothing to an owner."""
    require(viewer.role, Deed.READ)
    return waiting_besides(session, viewer, limit=MOST_TO_WRITE_UP)


def marks_of_works(
    session: Session, viewer: Viewer, work_ids: Sequence[int], *, today: int
) -> dict[int, Mark]:
    """Return verdict and next date of these works, by work, in one statement."""
    require(viewer.role, Deed.READ)
    stored = stored_marks(session, viewer, work_ids) if work_ids else {}
    return {work_id: _mark(row, today) for work_id, row in stored.items()}


def state_of(day: int, today: int) -> DueState:
    """Return how a day stands to today."""
    if day < today:
        return DueState.OVERDUE
    if day == today:
        return DueState.TODAY
    return DueState.SOON if day <= add_months(today, SOON_MONTHS) else DueState.LATER


def _mark(row: StoredMark, today: int) -> Mark:
    state = None if row.due_on is None else state_of(row.due_on, today)
    return Mark(row.verdict, row.due_kind, shown_day(row.due_on, today), state)


def _key(box: BoxRow) -> DueKey:
    return box.on, box.work_id, ORDER_ON_A_DAY.index(DueKind.BOX_CHECK), 0


def _is_asked(key: DueKey, until: int | None, after: DueKey | None) -> bool:
    return (until is None or key[0] <= until) and (after is None or key > after)


def _item(row: DueRow, tree: PlaceTree, today: int) -> DueItem:
    kind = ORDER_ON_A_DAY[row.kind_no]
    return DueItem(
        kind=kind,
        on=row.on,
        shown_on=max(row.on, today),
        state=state_of(row.on, today),
        why=_why(kind, row),
        place=None if row.place_id is None else tree.path(row.place_id),
        place_id=row.place_id,
        work_id=row.work_id,
        number=row.number,
        title=row.title,
        owner=row.owner,
        height_um=row.height_um,
        width_um=row.width_um,
        caution=FIRST_ACTS[UrgentSign(row.urgent_sign)].caution if kind is DueKind.URGENT else "",
    )


def _box_item(box: BoxRow, tree: PlaceTree, today: int) -> DueItem:
    return DueItem(
        kind=DueKind.BOX_CHECK,
        on=box.on,
        shown_on=max(box.on, today),
        state=state_of(box.on, today),
        why="The box as a box: damp, insects, sheets that slipped.",
        place=tree.path(box.place_id),
        place_id=box.place_id,
        works=box.works,
    )


def _survey_item(row: SurveyRow, tree: PlaceTree, turn_on: int) -> DueItem:
    return DueItem(
        kind=DueKind.FIRST_SURVEY,
        on=None,
        shown_on=turn_on,
        state=DueState.LATER,
        why=f"Never examined on record. {_unseen(row.chance_unseen, row.weak_layer)}",
        place=None if row.place_id is None else tree.path(row.place_id),
        place_id=row.place_id,
        work_id=row.work_id,
        number=row.number,
        title=row.title,
        owner=row.owner,
        height_um=row.height_um,
        width_um=row.width_um,
    )


def days_until_turn(place_in_line: int, a_week: float) -> int:
    """Return after how many days the turn of a work has come, the first in line being 0."""
    return DAYS_A_WEEK * (int(place_in_line / a_week) + 1)


def _why(kind: DueKind, row: DueRow) -> str:
    match kind:
        case DueKind.URGENT:
            return _urgent_why(row)
        case DueKind.FOLLOW_UP:
            when = "" if row.incident_on is None else f", {in_words(read_date(row.incident_on))}"
            return f"After an incident: {row.incident_kind}{when}."
        case DueKind.REMAT:
            return f"Advice: {row.advice or 'remat'}.{_weak(row.weak_layer)}"
        case DueKind.TAKE_DOWN:
            return TAKE_DOWN_WHY
        case DueKind.UNFRAMING:
            return _unseen(row.chance_unseen, row.weak_layer)
        case _:
            return "Through the glazing: the front, and the back of the frame."


def _urgent_why(row: DueRow) -> str:
    since = "" if row.urgent_since is None else f" since {day_in_words(row.urgent_since)}"
    sign = row.urgent_sign
    return f"{sign[:1].upper()}{sign[1:]}{since}. {FIRST_ACTS[UrgentSign(sign)].act}"


def _unseen(chance: float | None, weak_layer: str) -> str:
    said = "not known" if chance is None else chance_in_words(chance)
    return f"Harm that nobody saw yet: {said}.{_weak(weak_layer)}"


def _weak(layer: str) -> str:
    if layer == NOT_RECORDED:
        return " Weakest is what touches it (not recorded)."
    return f" Weak layer: {layer}." if layer else ""
