"""What does the form of a walk show: every work in walking order, and how far one is?

None is answered for beforehand: what stands here was said, on this tablet or another. A room
of more works than one keeps in mind is shown in parts, each of so many works, that one goes
to by name. What is different is asked only of the works that are: a script asks it at the
answer, and without one the form comes back with the question.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from sqlmodel import Session

from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from models.actions.due import Mark
from models.actions.photographs import latest_recto_of
from models.actions.places import place_tree
from models.actions.walk_drafts import OF_THE_WALK
from models.actions.walks import PlaceWalked, in_walking_order
from models.errors import Fault
from models.rules.place_tree import PlaceTree
from models.rules.walk_answers import Fields
from models.tables.people import names_to_choose
from models.tables.terms import TermToChoose, terms_to_choose
from models.tables.visible import Viewer
from models.tables.walks import WorkThere
from models.vocabulary import SEEN_FROM_OUTSIDE, Change, PlaceUse, Severity, VisitKind

FIELDS = ("on", "by", "note", "last_walk")
# What is written beside a work; each field bears the work's number: `term-41`.
BESIDE_A_WORK = ("term", "severity", "change", "note", "left")
NEW_OR_OLD = (Change.NEW, Change.FOUND_AGE_UNKNOWN)
UM_PER_MM = 1000
FROM_OUTSIDE = tuple(place.value for place in SEEN_FROM_OUTSIDE)
# So many works one keeps in mind; a longer room is shown in parts of as many.
MOST_IN_A_PART = 50
# The line of marks shows so many works; beyond that a mark is thinner than a pixel of a tablet.
MOST_IN_LINE = 300


class Answer(StrEnum):
    """What is said of one work; nothing of it is stored in these words."""

    AS_BEFORE = "as before"
    DIFFERENT = "different"
    NOT_FOUND = "not found"
    NOT_LOOKED_AT = "not looked at"


# What may be said at one press of all the works that have no answer yet.
OF_THE_REST = (Answer.AS_BEFORE, Answer.NOT_LOOKED_AT)


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
class WorkToSee:
    """One work of the form, with its answer and what was written beside it.

    `answer` is empty as long as nobody has given one; `is_asked` where what is different is
    asked; `elsewhere` is what another tablet said of it that this one contradicts.
    """

    id: int
    number: str
    title: str
    maker: str
    photograph_id: int | None
    sheet: SheetDrawing
    answer: str = ""
    typed: Mapping[str, str] | None = None
    elsewhere: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class PartToSee:
    """The works of one place of the walk, or so many of them; `name` says which, in a list."""

    key: str
    within: str
    name: str
    is_part: bool
    works: tuple[WorkToSee, ...]

    @property
    def answered(self) -> int:
        """How many of its works have an answer."""
        return sum(1 for work in self.works if work.answer)


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
    parts: tuple[PartToSee, ...]
    last: int | None
    typed: Mapping[str, str]
    seen: tuple[str, ...]
    is_answer: bool
    people: tuple[str, ...]
    terms: tuple[str, ...]
    urgent: tuple[Urgency, ...]
    key: str = ""
    version: int = 0
    hand: str = ""
    saved: str = ""
    faults: tuple[Fault, ...] = ()
    quicker: tuple[WalkedShown, ...] = ()
    knows: int = 0
    rest_said: str = ""
    rest_count: int = 0
    is_contradicted: bool = False
    elsewhere: str = ""
    answers: tuple[str, ...] = tuple(Answer)
    of_the_rest: tuple[str, ...] = OF_THE_REST
    places_seen: tuple[str, ...] = FROM_OUTSIDE
    severities: tuple[str, ...] = tuple(Severity)
    changes: tuple[str, ...] = NEW_OR_OLD
    most_in_line: int = MOST_IN_LINE
    most_in_a_part: int = MOST_IN_A_PART

    @property
    def works(self) -> tuple[WorkToSee, ...]:
        """All the works of the walk in their order."""
        return tuple(work for part in self.parts for work in part.works)

    @property
    def answered(self) -> int:
        """How many works have an answer."""
        return sum(part.answered for part in self.parts)


def kind_of_walk(tree: PlaceTree, place_id: int) -> VisitKind:
    """Return whether a place is walked round or checked as a box. Raises NotFound."""
    is_box = tree.effective(place_id).use is PlaceUse.BOX
    return VisitKind.BOX_CHECK if is_box else VisitKind.LOOK


def walk_form_page(
    session: Session,
    viewer: Viewer,
    place_id: int,
    *,
    last: int | None,
    typed: Mapping[str, str],
    seen: tuple[str, ...],
) -> WalkPage:
    """Return the form of a walk with no work answered for. Raises NotFound."""
    tree = place_tree(session)
    kind = kind_of_walk(tree, place_id)
    terms = terms_to_choose(session)
    walls = in_walking_order(session, viewer, tree, place_id, kind)
    keys = [work.work_id for wall in walls for work in wall.works]
    pictures = latest_recto_of(session, viewer, keys)
    return WalkPage(
        place_id=place_id,
        path=tree.path(place_id),
        is_box=kind is VisitKind.BOX_CHECK,
        parts=tuple(_parts(walls, pictures, tree.path(place_id))),
        last=last,
        typed=typed,
        seen=seen,
        is_answer=False,
        people=tuple(names_to_choose(session)),
        terms=tuple(term.term for term in terms),
        urgent=_urgent(terms),
    )


def with_answers(
    page: WalkPage,
    answers: Mapping[str, Fields],
    contradicted: Mapping[str, Fields] | None = None,
) -> WalkPage:
    """Return the page with what was said of each work, and what another tablet said instead."""
    elsewhere = contradicted or {}
    if OF_THE_WALK in elsewhere:
        page = replace(page, elsewhere=said_elsewhere(OF_THE_WALK, elsewhere[OF_THE_WALK]))
    return _with_works(
        page,
        lambda work: _answered(work, answers.get(str(work.id), {}), elsewhere.get(str(work.id))),
    )


def with_the_rest(page: WalkPage, rest: str) -> WalkPage:
    """Return the page with this answer for every work that had none."""
    count = len(page.works) - page.answered
    page = _with_works(page, lambda work: replace(work, answer=work.answer or rest))
    return replace(page, rest_said=rest, rest_count=count)


def with_faults(page: WalkPage, faults: Sequence[Fault]) -> WalkPage:
    """Return the page with each fault beside its field, in the line of its work."""
    of_work: dict[str, list[Fault]] = {}
    for fault in faults:
        of_work.setdefault(fault.pointer.rpartition("-")[2], []).append(fault)
    page = _with_works(
        page, lambda work: replace(work, faults=tuple(of_work.get(str(work.id), ())))
    )
    return replace(page, faults=tuple(faults))


def answer_in(fields: Fields) -> str:
    """Return the answer for a work; what is written without one says that it is different."""
    given = next(iter(fields.get("was", ())), "")
    if not given and any(
        "".join(fields.get(name, ())).strip() for name in ("term", "note", "left")
    ):
        return Answer.DIFFERENT
    return given if given in tuple(Answer) else ""


def said_elsewhere(work: str, fields: Fields) -> str:
    """Return in one line what another tablet said of a work, or of the walk as a whole."""
    if work == OF_THE_WALK:
        on, by, note = (" ".join(fields.get(name, ())) for name in ("on", "by", "note"))
        seen = ", ".join(fields.get("seen", ()))
        return "; ".join(filter(None, [on, by and f"by {by}", seen and f"seen: {seen}", note]))
    term, severity, note, left = (
        " ".join(fields.get(name, ())).strip() for name in ("term", "severity", "note", "left")
    )
    words = [f"{term}, {severity}" if term and severity else term, note, left and f"left {left}"]
    said = "; ".join(filter(None, words))
    return ": ".join(filter(None, [answer_in(fields) or "no answer", said]))


def _with_works(page: WalkPage, change: Callable[[WorkToSee], WorkToSee]) -> WalkPage:
    parts = tuple(replace(part, works=tuple(map(change, part.works))) for part in page.parts)
    return replace(page, parts=parts)


def _answered(work: WorkToSee, fields: Fields, elsewhere: Fields | None) -> WorkToSee:
    if not fields and elsewhere is None:
        return work
    typed = {name: next(iter(fields.get(name, ())), "") for name in BESIDE_A_WORK}
    return replace(
        work,
        answer=answer_in(fields),
        typed=typed,
        elsewhere="" if elsewhere is None else said_elsewhere(str(work.id), elsewhere),
    )


def _parts(
    walls: Sequence[PlaceWalked], pictures: Mapping[int, int], path: str
) -> Iterator[PartToSee]:
    """Give the walls, a long one in parts that bear the numbers of their works."""
    for nth, wall in enumerate(walls):
        works = tuple(_to_see(work, pictures.get(work.work_id)) for work in wall.works)
        is_part = len(works) > MOST_IN_A_PART
        for start in range(0, len(works), MOST_IN_A_PART):
            those = works[start : start + MOST_IN_A_PART]
            numbers = f"{those[0].number} to {those[-1].number}"
            named = wall.within or path
            yield PartToSee(
                key=f"{nth}-{start}",
                within=wall.within,
                name=f"{named}: {numbers}" if is_part else named,
                is_part=is_part,
                works=those,
            )


def _to_see(work: WorkThere, photograph_id: int | None) -> WorkToSee:
    return WorkToSee(
        id=work.work_id,
        number=work.number,
        title=work.title,
        maker=work.maker,
        photograph_id=photograph_id,
        sheet=sheet_drawing(_mm(work.height_um), _mm(work.width_um)),
    )


def _mm(um: int | None) -> float | None:
    return None if um is None else um / UM_PER_MM


def _urgent(terms: Sequence[TermToChoose]) -> tuple[Urgency, ...]:
    return tuple(Urgency(term.term, term.caution) for term in terms if term.urgent_sign)
