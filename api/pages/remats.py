"""What is to be rematted first, and what has become of each?

The list stands in its order, the greatest risk reduced first; what narrows it is
part of its address, and so are the works that are chosen where no script remembers them.
Chosen works become a remat job or a plain list to print. An owner sees their own works
as a question: leave it, or have it done, at what price and at what risk; and answers it
for one work or for several. What somebody at the bench says of a row has its own page.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

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
from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from api.routes import Route
from api.template_filters import ANY_CURRENCY, money_said
from api.templating import show
from models.actions.photographs import latest_recto_of
from models.actions.remats import (
    MOST_SUMMED,
    AtHand,
    ChosenRemats,
    RematFilter,
    RematPage,
    RematShown,
    answer_remats,
    batches_of,
    chosen_to_remat,
    questions_of_owners,
    read_remat,
    remat_choices,
    say_of_remat,
    what_to_remat,
)
from models.errors import BadValue, Fault, NotAllowed, Stale
from models.rules.calendar_days import add_months, day_date, day_in_words, day_number
from models.rules.chance_words import chance_in_words
from models.rules.half_known_dates import read_date
from models.rules.permissions import Deed, may
from models.rules.remat_batches import Batches
from models.rules.remat_score import chance_said, reason_without_chances
from models.rules.remat_states import OWNER_MAY_SAY
from models.tables.remat_jobs import JobOfWork, open_jobs_of
from models.tables.remats import AskedByOwner, RematKey, RematSums
from models.tables.renewal import count_stale
from models.tables.visible import Viewer
from models.vocabulary import RematState, Role

router = APIRouter(prefix="/remat", route_class=Route)

SEE_OTHER = 303
# As many rows as make a page that is light to send.
A_PAGE = 20
# A remat job holds no more, and a list to print is for a job, not for a catalogue.
MOST_CHOSEN = 200
# For how long an owner may decline with one tap, in calendar months.
WAITS = {"6 months": 6, "1 year": 12, "2 years": 24}
# The length of the whole scale in a row, in units of its drawing.
SCALE = 200.0
FEWEST_UNITS = 2.0
FIELDS = ("state", "on", "until", "quote", "why")
OWNERS_FIELDS = ("until", "question")
LABELS = {
    "state": "What becomes of it",
    "on": "On",
    "until": "Declined until",
    "quote": "Quote",
    "why": "Why",
}

QueryLine = Annotated[str, Query(max_length=500)]
Chosen = Annotated[list[str] | None, Query(max_length=MOST_CHOSEN)]


@dataclass(frozen=True)
class ChancesShown:
    """The chance of new harm as it is and with the proposed package: words, and bars to scale."""

    now: str
    then: str
    now_length: float
    then_length: float


@dataclass(frozen=True)
class RematLine:
    """One row of the list, its hours and its cost in words."""

    row: RematShown
    hours: str
    cost: str
    reason: str = ""
    chances: ChancesShown | None = None
    risk_of_remat: str = ""
    photograph_id: int | None = None
    sheet: SheetDrawing | None = None
    is_chosen: bool = False
    jobs: tuple[JobOfWork, ...] = ()


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
    asked_said: str
    choices: Mapping[str, tuple[str, ...]]
    states: tuple[str, ...]
    goes_on_after: str
    is_narrowed: bool
    sums_said: str
    questions: tuple[AskedByOwner, ...]
    elsewhere: tuple[RematLine, ...]
    foot: str
    person: str
    may_plan: bool
    is_continued: bool
    chosen: ChosenRemats | None
    chosen_takes: str
    batches: tuple[BatchShown, ...]
    marked: int
    faults: tuple[Fault, ...]


@dataclass(frozen=True)
class OwnerRematsPage:
    """What templates/remats/owner.html is given."""

    lines: tuple[RematLine, ...]
    state: str
    states: tuple[str, ...]
    goes_on_after: str
    waits: Mapping[str, str]
    # What was answered a moment ago, and what has become of it.
    answered: tuple[RematShown, ...] = ()
    faults: tuple[Fault, ...] = ()
    # What was typed and not taken, and of which work; of none where it was for several.
    typed: Mapping[str, str] = field(default_factory=lambda: dict.fromkeys(OWNERS_FIELDS, ""))
    refused_of: int | None = None


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
    may_quote: bool
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
    work: Chosen = None,
    answered: Chosen = None,
) -> Response:
    """Show what to remat first: all of it at the bench, their own to an owner."""
    if viewer.role is Role.OWNER:
        day = day_number(today)
        own = _owner_page(session, viewer, day, state, _key(after))
        if kept := _keys(answered):
            own = replace(own, answered=chosen_to_remat(session, viewer, kept, today=day))
        return show(request, "remats/owner.html", own)
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
    key, now = _key(after), day_number(today)
    faults: tuple[Fault, ...] = ()
    found = RematPage(())
    choices = remat_choices(session, viewer)
    try:
        filters, at_hand = _read(asked)
        found = what_to_remat(
            session,
            viewer,
            filters,
            today=now,
            limit=A_PAGE,
            after=key,
            at_hand=at_hand,
            choices=choices,
            with_sums=True,
        )
    except BadValue as error:
        faults = faults_beside(error, tuple(asked))
    ticked = _keys(work)
    lines = lines_of(session, viewer, found.items, ticked)
    here = {row.work_id for row in found.items}
    chosen = chosen_to_remat(session, viewer, ticked, today=now) if ticked else ()
    page = RematsPage(
        lines=lines,
        asked=asked,
        asked_said=_asked_said(asked),
        choices={
            **{kind: choices.names(kind) for kind in ("owner", "technique", "method", "material")},
            "place": choices.tree.paths(),
        },
        states=tuple(RematState),
        goes_on_after=_after(found.next_after),
        is_narrowed=any(asked.values()),
        sums_said=_sums_said(found.sums),
        questions=tuple(questions_of_owners(session, viewer)),
        elsewhere=tuple(_line(row) for row in chosen if row.work_id not in here),
        foot=_foot(chosen),
        person=str(viewer.person_id),
        may_plan=may(viewer.role, Deed.PLAN_REMATS),
        is_continued=key is not None,
        chosen=found.chosen,
        chosen_takes=_takes(found.chosen, by_hours=bool(hours.strip())),
        batches=batches_shown(found.items, batches_of(found.items)),
        marked=count_stale(session, viewer),
        faults=faults,
    )
    return show(request, "remats/list.html", page, REFUSED if faults else 200)


@router.post("/answers", dependencies=[requires(Deed.ANSWER_FOR_REMAT)])
def answer(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Keep one answer for the works that are chosen: approved, declined until a day, or asked."""
    now = day_number(today)
    try:
        seen = _seen(form)
        answer_remats(session, viewer, seen, _answer(form, now), today=now)
    except (BadValue, Stale) as error:
        of = _keys(form.all("work"))
        page = replace(
            _owner_page(session, viewer, now, "", None),
            faults=faults_beside(error, (*OWNERS_FIELDS, "work")),
            typed=typed_in(form, OWNERS_FIELDS),
            refused_of=of[0] if len(of) == 1 else None,
        )
        status = STALE if isinstance(error, Stale) else REFUSED
        return show(request, "remats/owner.html", page, status)
    kept = urlencode({"answered": sorted(seen)}, doseq=True)
    return RedirectResponse(f"/remat?{kept}#answered", SEE_OTHER)


@router.get("/list", dependencies=[requires(Deed.READ)])
def printed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work: Chosen = None,
) -> Response:
    """Show the rows that were ticked, plain, to be printed."""
    rows = chosen_to_remat(session, viewer, _keys(work), today=day_number(today))
    page = RematPrintPage(
        lines=tuple(_line(row) for row in rows),
        hours=f"{sum(row.hours or 0.0 for row in rows):.1f} h",
        cost=money_said(sum(row.cost or 0.0 for row in rows)),
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
        if viewer.role is Role.OWNER:
            # Their form has no field for it: the quote stays as it is.
            changes.pop("quote")
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
        may_quote=viewer.role is not Role.OWNER,
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


def lines_of(
    session: Session, viewer: Viewer, rows: Sequence[RematShown], ticked: Sequence[int] = ()
) -> tuple[RematLine, ...]:
    """Return rows as pages show them, each with its newest photograph of the front."""
    ids = [row.work_id for row in rows]
    pictures = latest_recto_of(session, viewer, ids) if ids else {}
    # Which jobs there are is the bench's business.
    waiting = (
        open_jobs_of(session, viewer, ids) if ids and may(viewer.role, Deed.PLAN_REMATS) else []
    )
    return tuple(
        replace(
            _line(row),
            photograph_id=pictures.get(row.work_id),
            is_chosen=row.work_id in ticked,
            jobs=tuple(job for job in waiting if job.work_id == row.work_id),
        )
        for row in rows
    )


def _line(row: RematShown) -> RematLine:
    return RematLine(
        row=row,
        hours="" if row.hours is None else f"{row.hours:.1f} h",
        cost="" if row.cost is None else money_said(row.cost),
        reason=reason_without_chances(row.reason),
        chances=_chances(row.chance_now, row.chance_then),
        risk_of_remat=""
        if row.risk_of_remat is None
        else chance_in_words(min(row.risk_of_remat, 1.0)),
        sheet=sheet_drawing(row.height_mm, row.width_mm),
    )


def _chances(now: float | None, then: float | None) -> ChancesShown | None:
    if now is None or then is None:
        return None
    return ChancesShown(
        now=chance_said(now),
        then=chance_said(then),
        now_length=round(max(now * SCALE, FEWEST_UNITS), 1),
        then_length=round(max(then * SCALE, FEWEST_UNITS), 1),
    )


def _keys(work: Sequence[str] | None) -> list[int]:
    return list(dict.fromkeys(int(text) for text in work or () if is_key(text)))


def _asked_said(asked: Mapping[str, str]) -> str:
    """Return in a line what the list is of."""
    said = [asked[name] for name in ("owner", "place", "technique") if asked[name]]
    words = {"method": "held by {}", "material": "with {}", "lot": "of lot {}"}
    said += [words[name].format(asked[name]) for name in words if asked[name]]
    said += [f"{asked['hours']} hours at hand"] if asked["hours"] else []
    said += [f"{asked['money']} {ANY_CURRENCY} at hand"] if asked["money"] else []
    state = asked["state"] or "all that waits"
    return f"{', '.join(said)}; {state}" if said else state


def _sums_said(sums: RematSums | None) -> str:
    if sums is None or not sums.works:
        return ""
    hours = f"{sums.hours:,.{1 if sums.hours < 100 else 0}f}"
    takes = f"{hours} h at the bench, about {money_said(sums.cost)}"
    if sums.works >= MOST_SUMMED:
        return f"The {MOST_SUMMED:,} works that come first: {takes}. Others wait after them."
    works = "1 work" if sums.works == 1 else f"{sums.works:,} works"
    return f"{works}: {takes}."


def _foot(chosen: Sequence[RematShown]) -> str:
    """Return what is chosen, in the words in which the script says it too."""
    hours = sum(row.hours or 0.0 for row in chosen)
    cost = money_said(sum(row.cost or 0.0 for row in chosen))
    return f"{len(chosen)} chosen, {hours:.1f} h, about {cost}"


def _owner_page(
    session: Session, viewer: Viewer, today: int, state: str, after: RematKey | None
) -> OwnerRematsPage:
    asked = RematState(state) if state in set(RematState) else None
    found = what_to_remat(
        session, viewer, RematFilter(state=asked), today=today, limit=A_PAGE, after=after
    )
    return OwnerRematsPage(
        lines=lines_of(session, viewer, found.items),
        state=asked or "",
        states=tuple(state for state in RematState if state in OWNER_MAY_SAY),
        goes_on_after=_after(found.next_after),
        waits={said: day_in_words(add_months(today, months)) for said, months in WAITS.items()},
    )


def _seen(form: TypedForm) -> dict[int, int]:
    """Return which version of which work an owner had before them."""
    versions = dict(text.split(":", 1) for text in form.all("seen") if ":" in text)
    seen = {
        int(work): int(versions[work])
        for work in form.all("work")
        if is_key(work) and versions.get(work, "").isdecimal()
    }
    if not seen:
        raise BadValue.at("/work", "No work is chosen.", "Tick the works that the answer is for.")
    return seen


def _answer(form: TypedForm, today: int) -> dict[str, object]:
    """Return what an owner says. Raises BadValue for a day or a question that is missing."""
    answers = Answers(form)
    if form["answer"] == "approve":
        return {"state": RematState.AGREED, "why": ""}
    if form["answer"] == "ask":
        if not (question := answers.text("question")):
            raise BadValue.at(
                "/question", "The question is missing.", "Write what you want to know."
            )
        return {"state": RematState.ASKED, "why": question}
    if months := WAITS.get(form["for"]):
        return {"state": RematState.DECLINED_UNTIL, "until": add_months(today, months)}
    until = answers.needed("until", _first_day, today)
    answers.refuse()
    return {"state": RematState.DECLINED_UNTIL, "until": until}


def _takes(chosen: ChosenRemats | None, *, by_hours: bool) -> str:
    if chosen is None:
        return ""
    return f"{chosen.takes:.1f} h" if by_hours else money_said(chosen.takes)


def batches_shown(rows: Sequence[RematShown], found: Batches) -> tuple[BatchShown, ...]:
    """Return what of these works was found to be best done together, by their numbers."""
    numbers = {row.work_id: row.number for row in rows}
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


def _after(after: RematKey | None) -> str:
    """Return the key that the address of what comes after carries."""
    return "" if after is None else f"{after[0].hex()}_{after[1]}"
