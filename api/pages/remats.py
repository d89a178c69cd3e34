"""What is to be rematted first, and what has become of each?

The list stands in its order, the greatest risk reduced first; what narrows it is
part of its address. Rows that are ticked become a plain list to print. What
somebody says of a row has a page of its own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    differences,
    edtf,
    faults_beside,
    figure_to_type,
    is_key,
    number,
    one_of,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.remats import (
    AtHand,
    ChosenRemats,
    RematFilter,
    RematPage,
    RematShown,
    batches_of,
    chosen_to_remat,
    read_remat,
    say_of_remat,
    what_to_remat,
)
from models.errors import BadValue, Fault, NotAllowed, Stale
from models.rules.calendar_days import day_date, day_number
from models.rules.half_known_dates import read_date
from models.rules.permissions import Deed
from models.rules.remat_batches import Batches
from models.rules.remat_states import OWNER_MAY_SAY
from models.tables.remats import RematKey
from models.tables.renewal import count_stale
from models.tables.visible import Viewer
from models.vocabulary import RematState, Role

router = APIRouter(prefix="/remat", route_class=Route)

SEE_OTHER = 303
A_PAGE = 25
# A list to print is for a job, not for a catalogue.
MOST_CHOSEN = 60
FIELDS = ("state", "on", "until", "quote", "why")
LABELS = {
    "state": "What becomes of it",
    "on": "On",
    "until": "Declined until",
    "quote": "Quote",
    "why": "Why",
}

QueryLine = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True)
class RematLine:
    """One row of the list, its hours and its cost in words."""

    row: RematShown
    hours: str
    cost: str


@dataclass(frozen=True)
class BatchShown:
    """Works that are best done together."""

    what: str
    numbers: str


@dataclass(frozen=True)
class RematsPage:
    """What templates/remats/list.html is given."""

    lines: tuple[RematLine, ...]
    asked: Mapping[str, str]
    states: tuple[str, ...]
    goes_on_at: str
    is_narrowed: bool
    is_continued: bool
    chosen: ChosenRemats | None
    chosen_takes: str
    batches: tuple[BatchShown, ...]
    marked: int
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class RematPrintPage:
    """What templates/remats/print.html is given."""

    lines: tuple[RematLine, ...]
    hours: str
    cost: str


@dataclass(frozen=True)
class RematOfWorkPage:
    """What templates/remats/remat.html is given."""

    line: RematLine
    typed: Mapping[str, str]
    states: tuple[str, ...]
    version: int
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    owner: QueryLine = "",
    place: QueryLine = "",
    technique: QueryLine = "",
    method: QueryLine = "",
    material: QueryLine = "",
    lot: QueryLine = "",
    state: QueryLine = "",
    hours: QueryLine = "",
    money: QueryLine = "",
    after: QueryLine = "",
) -> Response:
    """Show what to remat first."""
    asked = {
        "owner": owner,
        "place": place,
        "technique": technique,
        "method": method,
        "material": material,
        "lot": lot,
        "state": state,
        "hours": hours,
        "money": money,
    }
    key = _key(after)
    faults: tuple[Fault, ...] = ()
    found = RematPage(())
    try:
        filters, at_hand = _read(asked)
        found = what_to_remat(
            session,
            viewer,
            filters,
            today=day_number(today),
            limit=A_PAGE,
            after=key,
            at_hand=at_hand,
        )
    except BadValue as error:
        faults = faults_beside(error, tuple(asked))
    page = RematsPage(
        lines=tuple(_line(row) for row in found.items),
        asked=asked,
        states=tuple(RematState),
        goes_on_at=_goes_on_at(asked, found.next_after),
        is_narrowed=any(asked.values()),
        is_continued=key is not None,
        chosen=found.chosen,
        chosen_takes=_takes(found.chosen, by_hours=bool(hours.strip())),
        batches=_batches(found.items),
        marked=count_stale(session, viewer),
        faults=faults,
    )
    return show(request, "remats/list.html", page, REFUSED if faults else 200)


@router.get("/list", dependencies=[requires(Deed.READ)])
def printed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work: Annotated[list[str] | None, Query(max_length=MOST_CHOSEN)] = None,
) -> Response:
    """Show the rows that were ticked, plain, to be printed."""
    keys = [int(text) for text in work or () if is_key(text)]
    rows = chosen_to_remat(session, viewer, keys, today=day_number(today))
    page = RematPrintPage(
        lines=tuple(_line(row) for row in rows),
        hours=f"{sum(row.hours or 0.0 for row in rows):.1f} h",
        cost=f"{sum(row.cost or 0.0 for row in rows):.0f}",
    )
    return show(request, "remats/print.html", page)


@router.get("/{work_id:int}", dependencies=[requires(Deed.READ)])
def one(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Response:
    """Show the remat of one work, and ask what becomes of it."""
    row = read_remat(session, viewer, work_id, today=day_number(today))
    return show(request, "remats/remat.html", _page_of(row, viewer, _typed(row)))


@router.post("/{work_id:int}", dependencies=[requires(Deed.ANSWER_FOR_REMAT)])
def say(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Keep what becomes of a remat."""
    now = day_number(today)
    row = read_remat(session, viewer, work_id, today=now)
    typed = typed_in(form, FIELDS)
    page = replace(_page_of(row, viewer, typed), version=version_in(form))
    try:
        changes = _told(form)
        say_of_remat(session, viewer, work_id, changes, based_on=version_in(form), today=now)
    except Stale as error:
        quicker = replace(
            page,
            version=row.version,
            faults=(Fault("", error.message),),
            differences=differences(LABELS, typed, _typed(row)),
        )
        return show(request, "remats/remat.html", quicker, STALE)
    except (BadValue, NotAllowed) as error:
        refused = replace(page, faults=faults_beside(error, FIELDS))
        status = REFUSED if isinstance(error, BadValue) else 403
        return show(request, "remats/remat.html", refused, status)
    return RedirectResponse("/remat", SEE_OTHER)


def _read(asked: Mapping[str, str]) -> tuple[RematFilter, AtHand | None]:
    """Return what an address asks for. Raises BadValue with every text that cannot be read."""
    answers = Answers(TypedForm({name: [text] for name, text in asked.items()}, {}, ()))
    state = answers.read("state", one_of(RematState))
    hours, money = answers.read("hours", _at_hand), answers.read("money", _at_hand)
    answers.refuse()
    filters = RematFilter(
        owner=answers.text("owner"),
        place=answers.text("place"),
        technique=answers.text("technique"),
        method=answers.text("method"),
        material=answers.text("material"),
        lot=answers.text("lot"),
        state=state,
    )
    if hours is None and money is None:
        return filters, None
    return filters, AtHand(hours=hours, money=None if hours is not None else money)


def _at_hand(text: str) -> float:
    found = number(text)
    if found < 0:
        raise BadValue(f"{text!r} is less than nothing.")
    return found


def _told(form: TypedForm) -> dict[str, object]:
    """Return what a form says of a remat. Raises BadValue with every fault of its texts."""
    answers = Answers(form)
    told: dict[str, object] = {
        "state": answers.needed("state", one_of(RematState), RematState.PROPOSED),
        "on": answers.read("on", _first_day),
        "until": answers.read("until", _first_day),
        "quote": answers.read("quote", number),
        "by": None,
        "why": answers.text("why"),
    }
    answers.refuse()
    return told


def _first_day(text: str) -> int:
    day = read_date(edtf(text)).first_day
    if day is None:
        raise BadValue("This is no day.")
    return day


def _page_of(row: RematShown, viewer: Viewer, typed: Mapping[str, str]) -> RematOfWorkPage:
    states = OWNER_MAY_SAY if viewer.role is Role.OWNER else frozenset(RematState)
    return RematOfWorkPage(
        line=_line(row),
        typed=typed,
        states=tuple(state for state in RematState if state in states),
        version=row.version,
    )


def _typed(row: RematShown) -> dict[str, str]:
    rests = row.state is RematState.DECLINED_UNTIL
    return {
        "state": row.state if row.version else "",
        "on": "" if row.on is None else day_date(row.on).isoformat(),
        "until": day_date(row.until).isoformat() if rests and row.until is not None else "",
        "quote": figure_to_type(row.quote),
        "why": row.why,
    }


def _line(row: RematShown) -> RematLine:
    return RematLine(
        row=row,
        hours="" if row.hours is None else f"{row.hours:.1f} h",
        cost="" if row.cost is None else f"{row.cost:.0f}",
    )


def _takes(chosen: ChosenRemats | None, *, by_hours: bool) -> str:
    if chosen is None:
        return ""
    return f"{chosen.takes:.1f} h" if by_hours else f"{chosen.takes:.0f}"


def _batches(rows: Sequence[RematShown]) -> tuple[BatchShown, ...]:
    numbers = {row.work_id: row.number for row in rows}
    found: Batches = batches_of(rows)
    return tuple(
        BatchShown(batch.what, ", ".join(numbers[work_id] for work_id in batch.work_ids))
        for batch in (*found.by_board, *found.by_frame_size, *found.by_room)
    )


def _key(after: str) -> RematKey | None:
    """Return the key in an address; a list begins anew after an address that was bent."""
    reduced, _, work_id = after.rpartition("_")
    if not is_key(work_id):
        return None
    try:
        return float.fromhex(reduced), int(work_id)
    except (ValueError, OverflowError):
        return None


def _goes_on_at(asked: Mapping[str, str], after: RematKey | None) -> str:
    if after is None:
        return ""
    reduced, work_id = after
    kept = {name: text for name, text in asked.items() if text}
    return f"/remat?{urlencode({**kept, 'after': f'{reduced.hex()}_{work_id}'})}"
