"""How are the works of a room, or the sheets of a box, looked at in one act on one form?

First the room is chosen, then one form shows all its works, each ticked "as before".
Whatever is written beside a work counts instead of its tick. Did works come or go
while somebody walked, nothing is recorded of works nobody saw: the form comes back
with the works that are there now.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import MaybeSignedIn, ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.dates_said import date_said
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Refusal,
    edtf,
    faults_beside,
    is_key,
    keys_in,
    one_of,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.people import list_people
from models.actions.places import PlaceOnRecord, list_places, place_tree, read_place
from models.actions.walks import (
    SEEN_ON_A_WALK,
    ExceptionTold,
    WalkTold,
    record_box_check,
    record_walk_round,
    works_walked,
)
from models.errors import BadValue, Fault, HingebookError
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.place_tree import PlaceTree
from models.rules.visit_as_told import SightingTold, StopTold
from models.tables.terms import FindingTerm, finding_terms
from models.tables.visible import Viewer
from models.tables.walks import (
    count_looked_at,
    get_walk,
    last_walk_days,
    visits_not_as_before,
    works_by_place,
)
from models.tables.works import Work
from models.vocabulary import SEEN_FROM_OUTSIDE, Change, PlaceUse, Severity, Shown, VisitKind

router = APIRouter(prefix="/walk-round", route_class=Route)

SEE_OTHER = 303
FIELDS = ("on", "by", "note")
# What is written beside a work; each field bears the work's number: `term-41`.
BESIDE_A_WORK = ("term", "severity", "change", "note", "left")
NEW_OR_OLD = (Change.NEW, Change.FOUND_AGE_UNKNOWN)
FROM_OUTSIDE = tuple(place.value for place in SEEN_FROM_OUTSIDE)


@dataclass(frozen=True)
class Room:
    """A place that can be walked round, or a box that can be checked."""

    id: int
    name: str
    around: str
    depth: int
    works: int
    last: int | None


@dataclass(frozen=True)
class FoundWork:
    """A work that was not as before, with its visit."""

    visit_id: int
    number: str
    title: str


@dataclass(frozen=True)
class WalkedShown:
    """A walk that has just been recorded."""

    what: str
    looked_at: int
    found: tuple[FoundWork, ...]
    note: str


@dataclass(frozen=True)
class ChoosePage:
    """What templates/walk_round/choose.html is given."""

    rooms: tuple[Room, ...]
    boxes: tuple[Room, ...]
    walked: WalkedShown | None


@dataclass(frozen=True)
class WorkToSee:
    """One work of the form, with what was ticked and written beside it."""

    id: int
    number: str
    title: str
    maker: str
    as_before: bool
    not_found: bool
    typed: Mapping[str, str]
    is_open: bool
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class Urgency:
    """A term that does not wait, and the caution that goes with it."""

    term: str
    caution: str


@dataclass(frozen=True)
class WalkPage:
    """What templates/walk_round/form.html is given."""

    place_id: int
    path: str
    is_box: bool
    works: tuple[WorkToSee, ...]
    typed: Mapping[str, str]
    seen: tuple[str, ...]
    people: tuple[str, ...]
    terms: tuple[str, ...]
    urgent: tuple[Urgency, ...]
    faults: tuple[Fault, ...] = ()
    places_seen: tuple[str, ...] = FROM_OUTSIDE
    severities: tuple[str, ...] = tuple(Severity)
    changes: tuple[str, ...] = NEW_OR_OLD


@router.get("", dependencies=[requires(Deed.WALK_ROUND)])
def choose(request: Request, session: ReadSession, viewer: SignedIn, walk: str = "") -> Response:
    """Ask which room or box it is; say what the walk just recorded holds."""
    rooms = _rooms(session, viewer)
    walked = _walked(session, viewer, int(walk)) if is_key(walk) else None
    page = ChoosePage(
        rooms=tuple(room for room, is_box in rooms if not is_box),
        boxes=tuple(room for room, is_box in rooms if is_box),
        walked=walked,
    )
    return show(request, "walk_round/choose.html", page)


@router.get("/{place_id:int}", dependencies=[requires(Deed.WALK_ROUND)])
def walk_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    place_id: PathId,
) -> Response:
    """Show every work of the place, ticked as before."""
    place = read_place(session, viewer, place_id)
    works = works_walked(session, viewer, place_id, _kind(place))
    typed = {"on": day(today), "by": recognised.name if recognised else "", "note": ""}
    blank = dict.fromkeys(BESIDE_A_WORK, "")
    shown = tuple(_to_see(work, blank, as_before=True, not_found=False) for work in works)
    seen = tuple(SEEN_ON_A_WALK) if _kind(place) is VisitKind.LOOK else ()
    page = _page(session, viewer, place, shown, typed, seen)
    return show(request, "walk_round/form.html", page)


@router.post("/{place_id:int}", dependencies=[requires(Deed.WALK_ROUND)])
def walk_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    place_id: PathId,
    form: Typed,
) -> Response:
    """Record the walk-round or the box check."""
    place = read_place(session, viewer, place_id)
    kind = _kind(place)
    works = works_walked(session, viewer, place_id, kind)
    shown = tuple(_as_sent(work, form) for work in works)
    typed = {name: form[name] for name in FIELDS}
    page = _page(session, viewer, place, shown, typed, tuple(form.all("seen")))
    if set(keys_in(form, "listed")) != {work.id for work in works}:
        came_or_went = Fault("", "Works came or went since you began: these are there now.")
        return show(request, "walk_round/form.html", replace(page, faults=(came_or_went,)), STALE)
    record = record_box_check if kind is VisitKind.BOX_CHECK else record_walk_round
    exceptions: list[int] = []
    try:
        told = _told(form, works, exceptions)
        walked = record(session, viewer, place_id, told, today=day_number(today))
    except Refusal as error:
        refused = _with_faults(page, error, exceptions)
        return show(request, "walk_round/form.html", refused, REFUSED)
    return RedirectResponse(f"/walk-round?walk={walked.walk_id}", SEE_OTHER)


def _kind(place: PlaceOnRecord) -> VisitKind:
    is_box = place.effective.use is PlaceUse.BOX
    return VisitKind.BOX_CHECK if is_box else VisitKind.LOOK


def _rooms(session: Session, viewer: Viewer) -> list[tuple[Room, bool]]:
    """Return every place with something to look at, and whether it is a box."""
    tree = place_tree(session)
    right_there = works_by_place(session, viewer)
    last = last_walk_days(session, viewer)
    rooms = []
    for place in list_places(session, viewer):
        works = sum(right_there.get(key, 0) for key in _looked_at_with(tree, place))
        if works:
            rooms.append((_room(place, works, last), _kind(place) is VisitKind.BOX_CHECK))
    return rooms


def _looked_at_with(tree: PlaceTree, place: PlaceOnRecord) -> list[int]:
    is_box = _kind(place) is VisitKind.BOX_CHECK
    within = tree.below(place.id)
    return [key for key in within if is_box or tree.effective(key).use is not PlaceUse.BOX]


def _room(place: PlaceOnRecord, works: int, last: Mapping[int, int]) -> Room:
    *around, name = place.told.path.split(" / ")
    return Room(place.id, name, " / ".join(around), len(around), works, last.get(place.id))


def _walked(session: Session, viewer: Viewer, walk_id: int) -> WalkedShown:
    walk = get_walk(session, viewer, walk_id)
    where, when = place_tree(session).path(walk.place_id), date_said(walk.on_edtf)
    kind = "Box checked" if walk.kind is VisitKind.BOX_CHECK else "Walked round"
    found = visits_not_as_before(session, viewer, walk_id)
    return WalkedShown(
        what=f"{kind}: {where}, {when}.",
        looked_at=count_looked_at(session, viewer, walk_id),
        found=tuple(FoundWork(visit.visit_id, visit.number, visit.title) for visit in found),
        note=walk.note,
    )


def _page(
    session: Session,
    viewer: Viewer,
    place: PlaceOnRecord,
    works: tuple[WorkToSee, ...],
    typed: Mapping[str, str],
    seen: tuple[str, ...],
) -> WalkPage:
    terms = finding_terms(session)
    return WalkPage(
        place_id=place.id,
        path=place.told.path,
        is_box=_kind(place) is VisitKind.BOX_CHECK,
        works=works,
        typed=typed,
        seen=seen,
        people=tuple(one.told.name for one in list_people(session, viewer) if not one.is_erased),
        terms=tuple(term.term for term in terms),
        urgent=_urgent(terms),
    )


def _urgent(terms: Sequence[FindingTerm]) -> tuple[Urgency, ...]:
    return tuple(Urgency(term.term, term.caution) for term in terms if term.urgent_sign)


def _to_see(work: Work, typed: Mapping[str, str], *, as_before: bool, not_found: bool) -> WorkToSee:
    return WorkToSee(
        id=work.id or 0,
        number=work.number,
        title=work.title,
        maker=work.maker,
        as_before=as_before,
        not_found=not_found,
        typed=typed,
        is_open=not_found or any(typed[name] for name in ("term", "note", "left")),
    )


def _as_sent(work: Work, form: TypedForm) -> WorkToSee:
    key = str(work.id)
    came_since = key not in form.all("listed")
    return _to_see(
        work,
        {name: form[f"{name}-{key}"] for name in BESIDE_A_WORK},
        as_before=came_since or key in form.all("as_before"),
        not_found=key in form.all("not_found"),
    )


def _told(form: TypedForm, works: Sequence[Work], exceptions: list[int]) -> WalkTold:
    """Return the walk as told by the form; notes in their order the works that differed."""
    answers = Answers(form)
    all_told = [_exception(answers, work.id or 0) for work in works]
    differing = [one for one in all_told if one is not None]
    exceptions += [one.work_id for one in differing]
    told = WalkTold(
        on=answers.needed("on", edtf, ""),
        by=answers.if_typed("by"),
        seen=frozenset(_seen(answers)),
        all_as_before_except=tuple(differing),
        not_found=tuple(key for key in keys_in(form, "not_found")),
        note=answers.text("note"),
    )
    answers.refuse()
    return told


def _seen(answers: Answers) -> list[Shown]:
    read = [answers.faults.read("/seen", one_of(Shown), text) for text in answers.form.all("seen")]
    return [place for place in read if place is not None]


def _exception(answers: Answers, key: int) -> ExceptionTold | None:
    """Return what was written beside a work; None for one as before, or not found."""
    term, note, left = (answers.text(f"{name}-{key}") for name in ("term", "note", "left"))
    is_told = bool(term or note or left)
    is_missing = str(key) in answers.form.all("not_found")
    if is_told and is_missing:
        _fault(answers, key, "What was not found cannot have been seen: untick one of the two.")
    if not is_told and not is_missing and str(key) not in answers.form.all("as_before"):
        _fault(answers, key, "Say what is different, or tick it as before.")
    if not is_told or is_missing:
        return None
    if left and not (term or note):
        _fault(answers, key, "Say why it needs somebody at once.")
    return ExceptionTold(
        work_id=key,
        summary=note,
        sightings=_sightings(answers, key, term),
        stop=StopTold(why=term or note, left=left) if left else None,
    )


def _fault(answers: Answers, key: int, message: str) -> None:
    answers.faults.note(f"/note-{key}", BadValue.at("", message))


def _sightings(answers: Answers, key: int, term: str) -> tuple[SightingTold, ...]:
    if not term:
        return ()
    severity = answers.read(f"severity-{key}", one_of(Severity))
    change = answers.read(f"change-{key}", one_of(Change)) or Change.NEW
    return (SightingTold(change=change, term=term, severity=severity),)


def _with_faults(page: WalkPage, error: HingebookError, exceptions: Sequence[int]) -> WalkPage:
    """Return the page with each fault beside its field, in the line of its work."""
    names = [*FIELDS, *(f"{name}-{work.id}" for work in page.works for name in BESIDE_A_WORK)]
    placed = _at_works(error, exceptions)
    faults = faults_beside(placed, names, {"in_the_future": "on"})
    works = tuple(_with_its_faults(work, faults) for work in page.works)
    return replace(page, works=works, faults=faults)


def _at_works(error: HingebookError, exceptions: Sequence[int]) -> HingebookError:
    """Turn `/all_as_before_except/1/sightings/0/term` into the field of its work: `/term-42`."""
    if isinstance(error, BadValue):
        error.faults = tuple(_at_work(fault, exceptions) for fault in error.faults)
    return error


def _at_work(fault: Fault, exceptions: Sequence[int]) -> Fault:
    match fault.pointer.split("/")[1:]:
        case ["all_as_before_except", nth, *_, field]:
            name = field if field in BESIDE_A_WORK else "note"
            return Fault(f"/{name}-{exceptions[int(nth)]}", fault.message, fault.right)
        case _:
            return fault


def _with_its_faults(work: WorkToSee, faults: Sequence[Fault]) -> WorkToSee:
    own = tuple(fault for fault in faults if fault.pointer.endswith(f"-{work.id}"))
    return replace(work, faults=own, is_open=work.is_open or bool(own))
