"""What is due, month by month, and what waits besides: the first survey, visits to write up?

What does not wait comes first with its first act, then what is overdue, then the months.
The months ahead stand as hours: what looks, unframings and remats ask of the house, against
what its policy says that it has. The first survey is a section of
its own, for it is never overdue.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.dates_said import date_said
from api.pages.form_answers import is_key, one_of
from api.pages.missing_works import MissingShown, missing_shown
from api.pages.sheet_drawing import SheetInLittle, sheet_drawing
from api.routes import Route
from api.template_filters import MONTHS
from api.templating import show
from models.actions.due import (
    DueItem,
    DueState,
    MonthAhead,
    boxes_to_check,
    first_survey,
    months_ahead,
    what_is_due,
    what_waits_besides,
)
from models.actions.in_force import in_force
from models.actions.lately import ChangeShown, changed_lately
from models.actions.photographs import latest_recto_of
from models.actions.survey_questions import with_questions
from models.errors import BadValue, Fault
from models.rules.bench_hours import hours_a_month
from models.rules.calendar_days import day_date, day_number
from models.rules.half_known_dates import from_words
from models.rules.permissions import Deed, may
from models.rules.place_tree import PlaceTree
from models.tables.due import ORDER_ON_A_DAY, DueKey, ToWriteUp
from models.tables.renewal import count_stale
from models.tables.visible import Viewer, sees_all_works
from models.vocabulary import DueKind, PlaceUse

router = APIRouter(prefix="/due", route_class=Route)

A_PAGE = 50
SURVEY_SHOWN, URGENT_SHOWN = 8, 12
MONTHS_SHOWN = 24
# The bars of the months ahead: the tallest, the least that can still be seen, and the side
# of the blank that stands for a sheet without a photograph; in units of their drawings.
TALLEST, LEAST = 88, 2
PARTS_OF_KEY = 4
# Below so many hours tenths are told.
FEW_HOURS = 3

QueryLine = Annotated[str, Query(max_length=100)]


@dataclass(frozen=True)
class BarPart:
    """One kind of work in the bar of a month; measures are those of the drawing."""

    kind: str
    top: float
    height: float


@dataclass(frozen=True)
class MonthShown:
    """One month ahead with its bar; a bar that is cut off says its hours in figures alone."""

    name: str
    year: int
    due: int
    overdue: int
    looks: str
    unframings: str
    remats: str
    hours: str
    late_hours: str
    parts: tuple[BarPart, ...]
    late_top: float
    late_height: float
    is_cut_off: bool
    is_too_much: bool
    until: str


@dataclass(frozen=True)
class AheadShown:
    """The months ahead, and the line of what the house can do in one."""

    months: tuple[MonthShown, ...]
    line_at: float
    hours_a_month: str
    unframings_a_week: str
    tallest: int = TALLEST


@dataclass(frozen=True)
class PlaceChoice:
    """A place by which the list can be narrowed."""

    id: int
    path: str


@dataclass(frozen=True)
class DueGroup:
    """What is overdue, due today, or due in one month."""

    heading: str
    items: tuple[DueItem, ...]


@dataclass(frozen=True)
class VisitToWriteUp:
    """A visit that waits for its words."""

    visit_id: int
    number: str
    title: str
    what: str


@dataclass(frozen=True)
class DuePage:
    """What templates/due/list.html is given; the survey says by which month all are seen."""

    kind: str
    until: str
    place: str
    place_is_box: bool
    kinds: tuple[str, ...]
    places: tuple[PlaceChoice, ...]
    ahead: AheadShown | None
    urgent: tuple[DueItem, ...]
    more_urgent: bool
    sheets: Mapping[int, SheetInLittle]
    missing: tuple[MissingShown, ...]
    lately: tuple[ChangeShown, ...]
    groups: tuple[DueGroup, ...]
    goes_on_at: str
    is_narrowed: bool
    is_continued: bool
    survey: tuple[DueItem, ...]
    survey_waiting: int
    survey_through: str
    surveyed_a_week: str
    to_write_up: tuple[VisitToWriteUp, ...]
    may_record: bool
    may_walk: bool
    may_level: bool
    marked: int
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class SurveyPage:
    """What templates/due/first_survey.html is given."""

    items: tuple[DueItem, ...]
    sheets: Mapping[int, SheetInLittle]
    waiting: int
    through: str
    surveyed_a_week: str
    start: int
    goes_on_at: str
    may_record: bool


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    kind: QueryLine = "",
    until: QueryLine = "",
    place: QueryLine = "",
    after: QueryLine = "",
) -> Response:
    """Show what is due."""
    now = day_number(today)
    last_day, faults = _last_day(until)
    asked_kind = _kind(kind)
    key = _key(after)
    force = in_force(session)
    boxes = boxes_to_check(session, viewer, force.tree)
    places = _places(viewer, force.tree)
    place_id = int(place) if place in {str(one.id) for one in places} else None
    is_first = not (asked_kind or key)
    apart = (DueKind.URGENT,)
    page = what_is_due(
        session,
        viewer,
        until=last_day,
        kind=asked_kind,
        today=now,
        limit=A_PAGE,
        after=key,
        boxes=boxes,
        tree=force.tree,
        place_id=place_id,
        apart=apart,
    )
    urgent = (
        what_is_due(
            session,
            viewer,
            kind=DueKind.URGENT,
            today=now,
            limit=URGENT_SHOWN,
            tree=force.tree,
            place_id=place_id,
        )
        if is_first
        else None
    )
    is_whole = not (asked_kind or until or place_id or key)
    besides = what_waits_besides(session, viewer) if is_whole else None
    survey = first_survey(session, viewer, today=now, limit=SURVEY_SHOWN, force=force)
    first_urgent = tuple(urgent.items) if urgent else ()
    listed_first = (*first_urgent, *page.items, *(survey.items if is_whole else ()))
    asked = {"kind": asked_kind or "", "until": until, "place": place if place_id else ""}
    asked = {name: text for name, text in asked.items() if text}
    shown = DuePage(
        kind=asked_kind or "",
        until=until,
        place=asked.get("place", ""),
        place_is_box=_is_box(force.tree, place_id),
        kinds=ORDER_ON_A_DAY,
        places=places,
        ahead=_ahead(
            months_ahead(session, viewer, today=now, boxes=boxes, months=MONTHS_SHOWN),
            force.policy.unframings_a_week,
        )
        if is_whole
        else None,
        urgent=first_urgent,
        more_urgent=urgent is not None and urgent.next_after is not None,
        sheets=_sheets(session, viewer, listed_first),
        missing=missing_shown(besides.missing, force.tree) if besides else (),
        lately=tuple(changed_lately(session, viewer, today=now)) if is_whole else (),
        groups=_groups(page.items, now),
        goes_on_at=_goes_on_at(asked, page.next_after),
        is_narrowed=bool(asked_kind or until or place_id),
        is_continued=key is not None,
        survey=tuple(survey.items) if is_whole else (),
        survey_waiting=survey.waiting,
        survey_through=_month(survey.all_seen_by),
        surveyed_a_week=f"{survey.a_week:g}",
        to_write_up=_written_later(besides.to_write_up) if besides else (),
        may_record=may(viewer.role, Deed.RECORD_VISIT),
        may_walk=may(viewer.role, Deed.WALK_ROUND),
        may_level=may(viewer.role, Deed.LEVEL_LOAD),
        marked=count_stale(session, viewer),
        faults=faults,
    )
    return show(request, "due/list.html", shown, 422 if faults else 200)


@router.get("/first-survey", dependencies=[requires(Deed.READ)])
def surveyed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    after: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
) -> Response:
    """Show the works that nobody has examined on record, in their order."""
    survey = first_survey(session, viewer, today=day_number(today), limit=A_PAGE, after=after)
    on = survey.next_after
    page = SurveyPage(
        sheets=_sheets(session, viewer, survey.items),
        items=with_questions(session, viewer, survey.items, today=day_number(today)),
        waiting=survey.waiting,
        through=_month(survey.all_seen_by),
        surveyed_a_week=f"{survey.a_week:g}",
        start=after + 1,
        goes_on_at="" if on is None else f"/due/first-survey?after={on}",
        may_record=may(viewer.role, Deed.RECORD_VISIT),
    )
    return show(request, "due/first_survey.html", page)


def _last_day(until: str) -> tuple[int | None, tuple[Fault, ...]]:
    if not until.strip():
        return None, ()
    try:
        return from_words(until).last_day, ()
    except BadValue as error:
        return None, (Fault("/until", error.message),)


def _kind(text: str) -> DueKind | None:
    try:
        return one_of(DueKind)(text) if text else None
    except BadValue:
        return None


def _key(after: str) -> DueKey | None:
    """Return the key in an address; a list begins anew after an address that was bent."""
    parts = after.split(".")
    if len(parts) != PARTS_OF_KEY or not all(is_key(part.removeprefix("-")) for part in parts):
        return None
    day, work_id, kind_no, incident_id = map(int, parts)
    return day, work_id, kind_no, incident_id


def _goes_on_at(asked: dict[str, str], after: DueKey | None) -> str:
    if after is None:
        return ""
    return f"/due?{urlencode({**asked, 'after': '.'.join(map(str, after))})}"


def _groups(items: Sequence[DueItem], today: int) -> tuple[DueGroup, ...]:
    headed = groupby(items, lambda item: _heading(item, today))
    return tuple(DueGroup(heading, tuple(those)) for heading, those in headed)


def _heading(item: DueItem, today: int) -> str:
    match item.state:
        case DueState.OVERDUE:
            return "Overdue"
        case DueState.TODAY:
            return "Today"
        case _ if _month(item.shown_on) == _month(today):
            return "This month"
        case _:
            return _month(item.shown_on)


def _places(viewer: Viewer, tree: PlaceTree) -> tuple[PlaceChoice, ...]:
    """Return the places to choose from; an owner, who sees not all of them, chooses none."""
    if not sees_all_works(viewer):
        return ()
    paths = sorted(tree.paths())
    return tuple(PlaceChoice(key, path) for path in paths if (key := tree.find(path)) is not None)


def _is_box(tree: PlaceTree, place_id: int | None) -> bool:
    return place_id is not None and tree.effective(place_id).use is PlaceUse.BOX


def _sheets(session: Session, viewer: Viewer, items: Sequence[DueItem]) -> dict[int, SheetInLittle]:
    works = {item.work_id: item for item in items if item.work_id is not None}
    rectos = latest_recto_of(session, viewer, list(works)) if works else {}
    return {
        key: SheetInLittle(rectos.get(key), sheet_drawing(item.height_um, item.width_um))
        for key, item in works.items()
    }


def _month(day: int | None) -> str:
    if day is None:
        return ""
    on = day_date(day)
    return f"{MONTHS[on.month - 1]} {on.year}"


def _ahead(months: Sequence[MonthAhead], unframings_a_week: float) -> AheadShown:
    can_do = hours_a_month(unframings_a_week)
    # What is overdue may be years of work: its bar is cut off, so that the others can be read.
    most = max(can_do * 1.25, *(month.hours.total for month in months[1:]))
    return AheadShown(
        months=tuple(_month_shown(month, most, can_do) for month in months),
        line_at=round(TALLEST * (1 - can_do / most), 1),
        hours_a_month=_hours(can_do),
        unframings_a_week=f"{unframings_a_week:g}",
    )


def _month_shown(month: MonthAhead, most: float, can_do: float) -> MonthShown:
    on = day_date(month.last_day)
    late = _height(month.late_hours, most)
    return MonthShown(
        name=MONTHS[on.month - 1],
        year=on.year,
        due=month.due,
        overdue=month.overdue,
        looks=_hours(month.hours.looks),
        unframings=_hours(month.hours.unframings),
        remats=_hours(month.hours.remats),
        hours=_hours(month.hours.total),
        late_hours=_hours(month.late_hours),
        parts=_parts(month, most),
        late_top=round(TALLEST - late, 1),
        late_height=late,
        is_cut_off=month.hours.total > most,
        is_too_much=month.hours.total > can_do,
        until=on.isoformat(),
    )


def _parts(month: MonthAhead, most: float) -> tuple[BarPart, ...]:
    """Return the bar from its foot upward: remats, unframings, looks."""
    shrunk = max(1.0, month.hours.total / most)
    foot, parts = float(TALLEST), []
    for kind in ("remats", "unframings", "looks"):
        hours: float = getattr(month.hours, kind)
        height = _height(hours / shrunk, most)
        foot = round(foot - height, 1)
        if height:
            parts.append(BarPart(kind, max(0.0, foot), height))
    return tuple(parts)


def _height(hours: float, most: float) -> float:
    return min(TALLEST, max(LEAST, round(TALLEST * hours / most, 1))) if hours else 0


def _hours(hours: float) -> str:
    """Return whole hours, tenths where there are few."""
    return f"{hours:.0f}" if hours >= FEW_HOURS or not hours else f"{hours:.1f}"


def _written_later(visits: Sequence[ToWriteUp]) -> tuple[VisitToWriteUp, ...]:
    return tuple(
        VisitToWriteUp(v.visit_id, v.number, v.title, f"{v.kind}, {date_said(v.on_edtf)}")
        for v in visits
    )
