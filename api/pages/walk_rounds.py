"""How are the works of a room, or the sheets of a box, looked at in one act on one form?

First the room is chosen, then one form shows all its works in the order in which one walks.
Each is answered for by itself: as before, different, not found, or not looked at. None is
answered for beforehand, and the form is not recorded while one has no answer: what nobody
looked at must not count as seen. "All the rest as before" is an answer, given by a press of
its own, that comes back to be read. Did works come or go while somebody walked, or was
somebody else quicker, nothing is recorded until the person has seen it and says so again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

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
from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.due import Mark, marks_of_works
from models.actions.people import list_people
from models.actions.photographs import latest_recto_of
from models.actions.places import PlaceOnRecord, list_places, place_tree, read_place
from models.actions.walks import (
    SEEN_ON_A_WALK,
    ExceptionTold,
    PlaceWalked,
    WalkTold,
    in_walking_order,
    record_box_check,
    record_walk_round,
    walked_meanwhile,
)
from models.errors import BadValue, Fault, HingebookError
from models.rules.calendar_days import day_number
from models.rules.inspection_schedule import shown_day
from models.rules.permissions import Deed
from models.rules.place_tree import PlaceTree
from models.rules.visit_as_told import SightingTold, StopTold
from models.tables.people import names_of_people
from models.tables.renewal import count_stale
from models.tables.terms import FindingTerm, finding_terms
from models.tables.visible import Viewer
from models.tables.walks import (
    OtherWalk,
    WalkVisit,
    count_looked_at,
    get_walk,
    last_walk_days,
    newest_walk_id,
    next_days,
    visits_not_as_before,
    works_by_place,
)
from models.tables.works import Work
from models.vocabulary import SEEN_FROM_OUTSIDE, Change, PlaceUse, Severity, Shown, VisitKind

router = APIRouter(prefix="/walk-round", route_class=Route)

SEE_OTHER = 303
FIELDS = ("on", "by", "note", "last_walk")
# So many walks of others are told of when somebody was quicker; one is usual.
MOST_TOLD = 3
# What is written beside a work; each field bears the work's number: `term-41`.
BESIDE_A_WORK = ("term", "severity", "change", "note", "left")
NEW_OR_OLD = (Change.NEW, Change.FOUND_AGE_UNKNOWN)
UM_PER_MM = 1000
FROM_OUTSIDE = tuple(place.value for place in SEEN_FROM_OUTSIDE)


class Answer(StrEnum):
    """What is said of one work; nothing of it is stored in these words."""

    AS_BEFORE = "as before"
    DIFFERENT = "different"
    NOT_FOUND = "not found"
    NOT_LOOKED_AT = "not looked at"


# What may be said at one press of all the works that have no answer yet.
OF_THE_REST = (Answer.AS_BEFORE, Answer.NOT_LOOKED_AT)


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
    """A work that was not as before, with its visit and what comes next of it."""

    visit_id: int
    number: str
    title: str
    mark: Mark | None


@dataclass(frozen=True)
class WalkedShown:
    """A walk on record: what it saw and found, and between which days one looks again."""

    what: str
    by: str
    looked_at: int
    found: tuple[FoundWork, ...]
    note: str
    next_first: int | None
    next_last: int | None
    is_box: bool
    is_being_worked_out: bool


@dataclass(frozen=True)
class ChoosePage:
    """What templates/walk_round/choose.html is given."""

    rooms: tuple[Room, ...]
    boxes: tuple[Room, ...]
    walked: WalkedShown | None


@dataclass(frozen=True)
class WorkToSee:
    """One work of the form, with its answer and what was written beside it.

    `answer` is empty as long as nobody has given one.
    """

    id: int
    number: str
    title: str
    maker: str
    photograph_id: int | None
    sheet: SheetDrawing
    answer: str
    typed: Mapping[str, str]
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class WallToSee:
    """The works that hang or lie in one place of the walk."""

    within: str
    works: tuple[WorkToSee, ...]


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
    walls: tuple[WallToSee, ...]
    last: int | None
    typed: Mapping[str, str]
    seen: tuple[str, ...]
    is_answer: bool
    people: tuple[str, ...]
    terms: tuple[str, ...]
    urgent: tuple[Urgency, ...]
    faults: tuple[Fault, ...] = ()
    quicker: tuple[WalkedShown, ...] = ()
    knows: int = 0
    rest_said: str = ""
    rest_count: int = 0
    answers: tuple[str, ...] = tuple(Answer)
    of_the_rest: tuple[str, ...] = OF_THE_REST
    places_seen: tuple[str, ...] = FROM_OUTSIDE
    severities: tuple[str, ...] = tuple(Severity)
    changes: tuple[str, ...] = NEW_OR_OLD

    @property
    def works(self) -> tuple[WorkToSee, ...]:
        """All the works of the walk in their order."""
        return tuple(work for wall in self.walls for work in wall.works)

    @property
    def answered(self) -> int:
        """How many works have an answer."""
        return sum(1 for work in self.works if work.answer)


@router.get("", dependencies=[requires(Deed.WALK_ROUND)])
def choose(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, walk: str = ""
) -> Response:
    """Ask which room or box it is; say what the walk just recorded holds."""
    tree = place_tree(session)
    rooms = _rooms(session, viewer, tree)
    said = _walked(session, viewer, tree, int(walk), day_number(today)) if is_key(walk) else None
    page = ChoosePage(
        rooms=tuple(room for room, is_box in rooms if not is_box),
        boxes=tuple(room for room, is_box in rooms if is_box),
        walked=said,
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
    """Show every work of the place in walking order, none answered for."""
    place = read_place(session, viewer, place_id)
    typed = {
        "on": day(today),
        "by": recognised.name if recognised else "",
        "note": "",
        "last_walk": str(newest_walk_id(session)),
    }
    seen = tuple(SEEN_ON_A_WALK) if _kind(place) is VisitKind.LOOK else ()
    page = _page(session, viewer, place, None, typed, seen)
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
    """Record the walk-round or the box check, or answer for the rest of the works."""
    place = read_place(session, viewer, place_id)
    typed = {name: form[name] for name in FIELDS}
    page = _page(session, viewer, place, form, typed, tuple(form.all("seen")))
    if form["rest"] in OF_THE_REST:
        request.state.keep = False
        return show(request, "walk_round/form.html", _with_the_rest(page, form["rest"]))
    if set(keys_in(form, "listed")) != {work.id for work in page.works}:
        came_or_went = Fault("", "Works came or went since you began: these are there now.")
        return show(request, "walk_round/form.html", replace(page, faults=(came_or_went,)), STALE)
    quicker = _quicker(session, viewer, place, form)
    if quicker:
        told_of = _told_of_quicker(session, viewer, page, quicker, day_number(today))
        return show(request, "walk_round/form.html", told_of, STALE)
    record = record_box_check if page.is_box else record_walk_round
    exceptions: list[int] = []
    try:
        told = _told(form, page.works, exceptions)
        walked = record(session, viewer, place_id, told, today=day_number(today))
    except Refusal as error:
        refused = _with_faults(page, error, exceptions)
        return show(request, "walk_round/form.html", refused, REFUSED)
    # What stands behind the sign tells the page which of the answers it keeps have arrived.
    arrived = f"#arrived-{form.repeat_key}" if form.repeat_key else ""
    return RedirectResponse(f"/walk-round?walk={walked.walk_id}{arrived}", SEE_OTHER)


def _kind(place: PlaceOnRecord) -> VisitKind:
    is_box = place.effective.use is PlaceUse.BOX
    return VisitKind.BOX_CHECK if is_box else VisitKind.LOOK


def _rooms(session: Session, viewer: Viewer, tree: PlaceTree) -> list[tuple[Room, bool]]:
    """Return every place with something to look at, and whether it is a box."""
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


def _walked(
    session: Session, viewer: Viewer, tree: PlaceTree, walk_id: int, today: int
) -> WalkedShown:
    walk = get_walk(session, viewer, walk_id)
    where, when = tree.path(walk.place_id), date_said(walk.on_edtf)
    is_box = walk.kind is VisitKind.BOX_CHECK
    visits = visits_not_as_before(session, viewer, walk_id)
    first, last = next_days(session, viewer, walk)
    return WalkedShown(
        what=f"{'Box checked' if is_box else 'Walked round'}: {where}, {when}",
        by=_name(session, walk.by_id),
        looked_at=count_looked_at(session, viewer, walk_id),
        found=_found(session, viewer, visits, today),
        note=walk.note,
        next_first=shown_day(first, today),
        next_last=shown_day(last, today),
        is_box=is_box,
        is_being_worked_out=count_stale(session, viewer) > 0,
    )


def _name(session: Session, person_id: int | None) -> str:
    return names_of_people(session, [person_id]).get(person_id, "") if person_id else ""


def _found(
    session: Session, viewer: Viewer, visits: Sequence[WalkVisit], today: int
) -> tuple[FoundWork, ...]:
    works = [visit.work_id for visit in visits]
    marks = marks_of_works(session, viewer, works, today=today) if works else {}
    return tuple(
        FoundWork(visit.visit_id, visit.number, visit.title, marks.get(visit.work_id))
        for visit in visits
    )


def _quicker(
    session: Session, viewer: Viewer, place: PlaceOnRecord, form: TypedForm
) -> list[OtherWalk]:
    """Return the walks recorded since this form was opened, but for those the person knows of."""
    known = [int(text) for text in (form["last_walk"], form["knows"]) if text.isdecimal()]
    if not known:
        return []
    return walked_meanwhile(session, viewer, place.id, _kind(place), after=max(known))


def _told_of_quicker(
    session: Session, viewer: Viewer, page: WalkPage, quicker: Sequence[OtherWalk], today: int
) -> WalkPage:
    walks, tree = [walk.walk_id for walk in quicker], place_tree(session)
    shown = tuple(_walked(session, viewer, tree, walk, today) for walk in walks[:MOST_TOLD])
    return replace(page, quicker=shown, knows=max(walks))


def _page(
    session: Session,
    viewer: Viewer,
    place: PlaceOnRecord,
    form: TypedForm | None,
    typed: Mapping[str, str],
    seen: tuple[str, ...],
) -> WalkPage:
    """Return the page with what was sent, if anything was."""
    terms = finding_terms(session)
    walls = in_walking_order(session, viewer, place.id, _kind(place))
    keys = [work.id or 0 for wall in walls for work in wall.works]
    pictures = latest_recto_of(session, viewer, keys)
    return WalkPage(
        place_id=place.id,
        path=place.told.path,
        is_box=_kind(place) is VisitKind.BOX_CHECK,
        walls=tuple(_wall(wall, pictures, form) for wall in walls),
        last=last_walk_days(session, viewer).get(place.id),
        typed=typed,
        seen=seen,
        is_answer=form is not None,
        people=tuple(one.told.name for one in list_people(session, viewer) if not one.is_erased),
        terms=tuple(term.term for term in terms),
        urgent=_urgent(terms),
    )


def _wall(wall: PlaceWalked, pictures: Mapping[int, int], form: TypedForm | None) -> WallToSee:
    return WallToSee(
        wall.within, tuple(_to_see(work, pictures.get(work.id or 0), form) for work in wall.works)
    )


def _urgent(terms: Sequence[FindingTerm]) -> tuple[Urgency, ...]:
    return tuple(Urgency(term.term, term.caution) for term in terms if term.urgent_sign)


def _to_see(work: Work, photograph_id: int | None, form: TypedForm | None) -> WorkToSee:
    key = work.id or 0
    return WorkToSee(
        id=key,
        number=work.number,
        title=work.title,
        maker=work.maker,
        photograph_id=photograph_id,
        sheet=sheet_drawing(_mm(work.height_um), _mm(work.width_um)),
        answer=_answer(form, key) if form else "",
        typed={name: form[f"{name}-{key}"] if form else "" for name in BESIDE_A_WORK},
    )


def _mm(um: int | None) -> float | None:
    return None if um is None else um / UM_PER_MM


def _answer(form: TypedForm, key: int) -> str:
    """Return the answer for a work; what is written without one says that it is different."""
    given = form[f"was-{key}"]
    if not given and any(form[f"{name}-{key}"].strip() for name in ("term", "note", "left")):
        return Answer.DIFFERENT
    return given if given in tuple(Answer) else ""


def _with_the_rest(page: WalkPage, rest: str) -> WalkPage:
    """Return the page with this answer for every work that had none."""
    walls = tuple(
        replace(
            wall,
            works=tuple(replace(work, answer=work.answer or rest) for work in wall.works),
        )
        for wall in page.walls
    )
    count = len(page.works) - page.answered
    return replace(page, walls=walls, rest_said=rest, rest_count=count)


def _told(form: TypedForm, works: Sequence[WorkToSee], exceptions: list[int]) -> WalkTold:
    """Return the walk as told by the form; notes in their order the works that differed."""
    answers = Answers(form)
    all_told = [_exception(answers, work) for work in works]
    differing = [one for one in all_told if one is not None]
    exceptions += [one.work_id for one in differing]
    told = WalkTold(
        on=answers.needed("on", edtf, ""),
        by=answers.if_typed("by"),
        seen=frozenset(_seen(answers)),
        all_as_before_except=tuple(differing),
        not_found=_answered_so(works, Answer.NOT_FOUND),
        not_looked_at=_answered_so(works, Answer.NOT_LOOKED_AT),
        note=answers.text("note"),
    )
    answers.refuse()
    return told


def _answered_so(works: Sequence[WorkToSee], answer: Answer) -> tuple[int, ...]:
    return tuple(work.id for work in works if work.answer == answer)


def _seen(answers: Answers) -> list[Shown]:
    read = [answers.faults.read("/seen", one_of(Shown), text) for text in answers.form.all("seen")]
    return [place for place in read if place is not None]


def _exception(answers: Answers, work: WorkToSee) -> ExceptionTold | None:
    """Return what was different of a work; None where nothing was, or nobody saw it."""
    key = work.id
    term, note, left = (answers.text(f"{name}-{key}") for name in ("term", "note", "left"))
    is_told = bool(term or note or left)
    if work.answer != Answer.DIFFERENT:
        if is_told:
            _fault(answers, key, f"What is {work.answer} has nothing to tell: clear it, or say so.")
        elif not work.answer:
            _fault(answers, key, "No answer yet: nobody has said how it was.", at="was")
        return None
    if not is_told:
        _fault(answers, key, "Say what is different.")
        return None
    if left and not (term or note):
        _fault(answers, key, "Say why it needs somebody at once.")
    return ExceptionTold(
        work_id=key,
        summary=note,
        sightings=_sightings(answers, key, term),
        stop=StopTold(why=term or note, left=left) if left else None,
    )


def _fault(answers: Answers, key: int, message: str, at: str = "note") -> None:
    answers.faults.note(f"/{at}-{key}", BadValue.at("", message))


def _sightings(answers: Answers, key: int, term: str) -> tuple[SightingTold, ...]:
    if not term:
        return ()
    severity = answers.read(f"severity-{key}", one_of(Severity))
    change = answers.read(f"change-{key}", one_of(Change)) or Change.NEW
    return (SightingTold(change=change, term=term, severity=severity),)


def _with_faults(page: WalkPage, error: HingebookError, exceptions: Sequence[int]) -> WalkPage:
    """Return the page with each fault beside its field, in the line of its work."""
    beside = ("was", *BESIDE_A_WORK)
    names = [*FIELDS, *(f"{name}-{work.id}" for work in page.works for name in beside)]
    placed = _at_works(error, exceptions)
    faults = faults_beside(placed, names, {"in_the_future": "on"})
    walls = tuple(
        replace(wall, works=tuple(_with_its_faults(work, faults) for work in wall.works))
        for wall in page.walls
    )
    return replace(page, walls=walls, faults=faults)


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
    return replace(work, faults=own)
