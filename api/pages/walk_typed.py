"""What is told in the form of a walk, and in the line of which work does a refusal stand?

Each work has its fields, each named with its number: `term-41`. The same fields, without the
number, are what is kept of a work until the walk is recorded.
"""

from collections.abc import Collection, Mapping, Sequence

from api.forms import TypedForm
from api.pages.form_answers import Answers, edtf, faults_beside, one_of
from api.pages.walk_form import BESIDE_A_WORK, FIELDS, Answer, WalkPage, WorkToSee, with_faults
from models.actions.walk_drafts import OF_THE_WALK
from models.actions.walks import ExceptionTold, WalkTold
from models.errors import BadValue, Fault, HingebookError
from models.rules.visit_as_told import SightingTold, StopTold
from models.rules.walk_answers import Fields
from models.vocabulary import Change, Severity, Shown

ANSWERED = ("was", *BESIDE_A_WORK)
OF_THE_WHOLE = ("on", "by", "note", "seen")
# Without one of these nothing is said of a work; what can be chosen beside them is blank.
SAYS_SOMETHING = frozenset({"was", "term", "note", "left"})


def answers_typed(form: TypedForm, works: Collection[str]) -> dict[str, Fields]:
    """Return what a form says of these works, and of the walk as a whole."""
    typed = {
        work: _said({name: form.all(f"{name}-{work}") for name in ANSWERED})
        for work in works
        if work != OF_THE_WALK
    }
    if OF_THE_WALK in works:
        typed[OF_THE_WALK] = {name: tuple(form.all(name)) for name in OF_THE_WHOLE}
    return typed


def _said(fields: Mapping[str, Sequence[str]]) -> Fields:
    given = {name: tuple(those) for name, those in fields.items() if any(those)}
    return given if SAYS_SOMETHING & given.keys() else {}


def form_of(answers: Mapping[str, Fields]) -> TypedForm:
    """Return the fields of a form in which this was said."""
    fields = {
        name if work == OF_THE_WALK else f"{name}-{work}": those
        for work, given in answers.items()
        for name, those in given.items()
    }
    return TypedForm(fields, {}, ())


def walk_told(form: TypedForm, works: Sequence[WorkToSee], exceptions: list[int]) -> WalkTold:
    """Return the walk as told by the form; `exceptions` gets the works that differed, in order.

    Raises BadValue with the fault of every field.
    """
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


def refused_page(page: WalkPage, error: HingebookError, exceptions: Sequence[int]) -> WalkPage:
    """Return the page with what is wrong beside its field, or above the form."""
    names = [*FIELDS, *(f"{name}-{work.id}" for work in page.works for name in ANSWERED)]
    placed = _at_works(error, exceptions)
    return with_faults(page, faults_beside(placed, names, {"in_the_future": "on"}))


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
