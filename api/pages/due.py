"""What is due, month by month, and what waits besides: the first survey, visits to write up?

What is overdue comes first, then the months ahead. The first survey is a section of
its own, for it is never overdue.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.dates_said import date_said
from api.pages.form_answers import is_key, one_of
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
    to_write_up,
    what_is_due,
)
from models.actions.survey_questions import with_questions
from models.errors import BadValue, Fault
from models.rules.calendar_days import day_date, day_number
from models.rules.half_known_dates import from_words
from models.rules.permissions import Deed, may
from models.tables.due import ORDER_ON_A_DAY, DueKey, ToWriteUp
from models.tables.renewal import count_stale
from models.vocabulary import DueKind

router = APIRouter(prefix="/due", route_class=Route)

A_PAGE = 50
SURVEY_SHOWN = 8
# The bars of the months ahead: the tallest, and the least that can still be seen.
TALLEST, LEAST = 44, 3
PARTS_OF_KEY = 4

QueryLine = Annotated[str, Query(max_length=100)]


@dataclass(frozen=True)
class MonthShown:
    """One month ahead with its bar; heights are those of the drawing."""

    name: str
    year: int
    due: int
    overdue: int
    height: int
    top: int
    until: str


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
    kinds: tuple[str, ...]
    months: tuple[MonthShown, ...]
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
    after: QueryLine = "",
) -> Response:
    """Show what is due."""
    now = day_number(today)
    last_day, faults = _last_day(until)
    asked_kind = _kind(kind)
    key = _key(after)
    boxes = boxes_to_check(session, viewer)
    page = what_is_due(
        session,
        viewer,
        until=last_day,
        kind=asked_kind,
        today=now,
        limit=A_PAGE,
        after=key,
        boxes=boxes,
    )
    is_whole = not (asked_kind or until or key)
    survey = first_survey(session, viewer, today=now, limit=SURVEY_SHOWN)
    asked = {name: text for name, text in (("kind", kind), ("until", until)) if text}
    shown = DuePage(
        kind=asked_kind or "",
        until=until,
        kinds=ORDER_ON_A_DAY,
        months=_months(months_ahead(session, viewer, today=now, boxes=boxes)),
        groups=_groups(page.items),
        goes_on_at=_goes_on_at(asked, page.next_after),
        is_narrowed=bool(asked_kind or until),
        is_continued=key is not None,
        survey=tuple(survey.items) if is_whole else (),
        survey_waiting=survey.waiting,
        survey_through=_month(survey.all_seen_by),
        surveyed_a_week=f"{survey.a_week:g}",
        to_write_up=_written_later(to_write_up(session, viewer)) if is_whole else (),
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


def _groups(items: Sequence[DueItem]) -> tuple[DueGroup, ...]:
    return tuple(DueGroup(heading, tuple(those)) for heading, those in groupby(items, _heading))


def _heading(item: DueItem) -> str:
    match item.state:
        case DueState.OVERDUE:
            return "Overdue"
        case DueState.TODAY:
            return "Today"
        case _:
            return _month(item.shown_on)


def _month(day: int | None) -> str:
    if day is None:
        return ""
    on = day_date(day)
    return f"{MONTHS[on.month - 1]} {on.year}"


def _months(months: Sequence[MonthAhead]) -> tuple[MonthShown, ...]:
    most = max(month.due + month.overdue for month in months)
    return tuple(_month_shown(month, most) for month in months)


def _month_shown(month: MonthAhead, most: int) -> MonthShown:
    number = month.due + month.overdue
    height = max(LEAST, round(TALLEST * number / most)) if number else 0
    on = day_date(month.last_day)
    return MonthShown(
        name=MONTHS[on.month - 1],
        year=on.year,
        due=month.due,
        overdue=month.overdue,
        height=height,
        top=TALLEST - height,
        until=on.isoformat(),
    )


def _written_later(visits: Sequence[ToWriteUp]) -> tuple[VisitToWriteUp, ...]:
    return tuple(
        VisitToWriteUp(v.visit_id, v.number, v.title, f"{v.kind}, {date_said(v.on_edtf)}")
        for v in visits
    )
