"""The dates of a work put off, with what that risks, and the load of the months levelled."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import REFUSED, Answers, Refusal, faults_beside, one_of
from api.pages.path_ids import PathId
from api.routes import Route
from api.template_filters import MONTHS
from api.templating import show
from models.actions.forecasts import forecast_now
from models.actions.load_levelling import (
    LevellingShown,
    MoveShown,
    level,
    preview_levelling,
    take_levelling_back,
)
from models.actions.postponements import (
    PostponementOnRecord,
    PostponementTold,
    postponements_of,
    put_off,
    take_back,
)
from models.actions.work_records import load_records
from models.errors import BadValue, Fault, NotFound
from models.rules.calendar_days import add_months, day_date, day_number
from models.rules.half_known_dates import from_words
from models.rules.permissions import Deed
from models.rules.postponement import MAY_BE_PUT_OFF
from models.rules.work_forecast import WorkForecast
from models.tables.visible import Viewer
from models.vocabulary import DueKind

router = APIRouter(route_class=Route)

SEE_OTHER = 303
FIELDS = ("kind", "until", "reason")
# The bars of the months: as wide and as tall as their drawing allows.
TALLEST, LEAST = 60, 2


@dataclass(frozen=True)
class DateToPutOff:
    """One date of a work as it stands now."""

    kind: str
    on: int
    is_past: bool


@dataclass(frozen=True)
class PutOffPage:
    """What templates/works/put_off.html is given."""

    work_id: int
    number: str
    title: str
    dates: tuple[DateToPutOff, ...]
    is_closed_by: str
    put_off: tuple[PostponementOnRecord, ...]
    kind: str = ""
    until: str = ""
    reason: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class MonthLevelled:
    """One month before and after; heights are those of the drawing."""

    name: str
    year: int
    before: int
    after: int
    height_before: float
    height_after: float


@dataclass(frozen=True)
class LevelPage:
    """What templates/due/level.html is given; `moved` is how many dates levelling would move."""

    moved: int
    moves: tuple[MoveShown, ...]
    months: tuple[MonthLevelled, ...]
    capacity: int
    line_at: float
    too_full: int
    can_be_undone: int
    faults: tuple[Fault, ...] = ()


@router.get("/works/{work_id:int}/put-off", dependencies=[requires(Deed.POSTPONE)])
def put_off_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    kind: str = "",
) -> Response:
    """Show the dates of a work that can be put off, and what was put off."""
    page = _page(session, viewer, work_id, today=day_number(today), kind=kind)
    return show(request, "works/put_off.html", page)


@router.post("/works/{work_id:int}/put-off", dependencies=[requires(Deed.POSTPONE)])
def put_off_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Put one date off."""
    day = day_number(today)
    page = _page(session, viewer, work_id, today=day, form=form)
    try:
        form.require_clean()
        put_off(session, viewer, work_id, _told(form), today=day)
    except Refusal as error:
        faults = faults_beside(error, FIELDS, {"no_date": "kind"})
        refused = _page(session, viewer, work_id, today=day, form=form, faults=faults)
        return show(request, "works/put_off.html", refused, REFUSED)
    return RedirectResponse(f"/works/{page.work_id}/put-off", SEE_OTHER)


@router.post(
    "/works/{work_id:int}/put-off/{postponement_id:int}/take-back",
    dependencies=[requires(Deed.POSTPONE)],
)
def taken_back(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    postponement_id: PathId,
) -> Response:
    """Let the date by the rules stand again."""
    take_back(session, viewer, postponement_id, "Taken back on the page.", today=day_number(today))
    return RedirectResponse(f"/works/{work_id}/put-off", SEE_OTHER)


@router.get("/due/level", dependencies=[requires(Deed.LEVEL_LOAD)])
def level_page(request: Request, session: ReadSession, viewer: SignedIn, today: Today) -> Response:
    """Show what levelling the load would move, before anything is moved."""
    shown = preview_levelling(session, viewer, today=day_number(today))
    return show(request, "due/level.html", _levelling(shown, day_number(today)))


@router.post("/due/level", dependencies=[requires(Deed.LEVEL_LOAD)])
def level_sent(request: Request, session: WriteSession, viewer: SignedIn, today: Today) -> Response:
    """Level the load."""
    day = day_number(today)
    try:
        level(session, viewer, today=day)
    except Refusal as error:
        shown = preview_levelling(session, viewer, today=day)
        page = _levelling(shown, day, faults_beside(error, ()))
        return show(request, "due/level.html", page, REFUSED)
    return RedirectResponse("/due/level", SEE_OTHER)


@router.post("/due/level/take-back", dependencies=[requires(Deed.LEVEL_LOAD)])
def level_taken_back(session: WriteSession, viewer: SignedIn, today: Today) -> Response:
    """Let every levelled date stand where the rules say."""
    take_levelling_back(session, viewer, today=day_number(today))
    return RedirectResponse("/due/level", SEE_OTHER)


def _told(form: TypedForm) -> PostponementTold:
    answers = Answers(form)
    kind = answers.read("kind", one_of(DueKind))
    until = answers.read("until", _day)
    answers.refuse()
    if kind is None:
        raise BadValue.at("/kind", "Nothing is chosen.", "Choose what is put off.")
    if until is None:
        raise BadValue.at("/until", "No day is told.", "Until when, such as 1 March 2027.")
    return PostponementTold(kind, until, form["reason"])


def _day(text: str) -> int:
    """Return the last day of what was typed: until May 2027 means until its end."""
    last = from_words(text).last_day
    if last is None:
        raise BadValue(f"{text!r} is no day.")
    return last


def _page(
    session: Session,
    viewer: Viewer,
    work_id: int,
    *,
    today: int,
    form: TypedForm | None = None,
    kind: str = "",
    faults: tuple[Fault, ...] = (),
) -> PutOffPage:
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    forecast = forecast_now(session, records, today=today)
    return PutOffPage(
        work_id=work_id,
        number=records.work.number,
        title=records.work.title,
        dates=_dates(forecast, today),
        is_closed_by=forecast.urgent[0].sign if forecast.urgent else "",
        put_off=tuple(postponements_of(session, records, forecast, today=today)),
        kind=kind if form is None else form["kind"],
        until="" if form is None else form["until"],
        reason="" if form is None else form["reason"],
        faults=faults,
    )


def _dates(forecast: WorkForecast, today: int) -> tuple[DateToPutOff, ...]:
    # What the remat opens is not unframed before: to put that off would move nothing.
    unframing = forecast.unframing.on if forecast.is_unframed_first else None
    days = (forecast.look.on, unframing, forecast.box_check.on, forecast.remat_by)
    shown = zip(MAY_BE_PUT_OFF, days, strict=True)
    return tuple(DateToPutOff(kind, day, day < today) for kind, day in shown if day is not None)


def _levelling(shown: LevellingShown, today: int, faults: tuple[Fault, ...] = ()) -> LevelPage:
    before, after = shown.levelled.before, shown.levelled.after
    most = max(shown.capacity, *before, *after)
    return LevelPage(
        moved=len(shown.levelled.moves),
        moves=shown.moves,
        months=_months(today, before, after, most),
        capacity=shown.capacity,
        line_at=round(TALLEST * (1 - shown.capacity / most), 1),
        too_full=sum(1 for number in after if number > shown.capacity),
        can_be_undone=shown.can_be_undone,
        faults=faults,
    )


def _months(
    today: int, before: Sequence[int], after: Sequence[int], most: int
) -> tuple[MonthLevelled, ...]:
    first = day_number(day_date(today).replace(day=1))
    days = [day_date(add_months(first, month)) for month in range(len(before))]
    return tuple(
        MonthLevelled(
            MONTHS[on.month - 1], on.year, was, then, _height(was, most), _height(then, most)
        )
        for on, was, then in zip(days, before, after, strict=True)
    )


def _height(number: int, most: int) -> float:
    return max(LEAST, round(TALLEST * number / most, 1)) if number else 0
