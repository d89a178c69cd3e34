"""What does somebody tell who fills in the form of a visit?

The form is read in the order of the bench; what was left blank tells nothing. Of
the four questions before an unframing one yes is a stop, and one that nobody
answered is not a no. Before water, solvent or heat three more are asked; a no wants
its reason, and all of it is kept with how the work came off, or with the treatment.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from api.forms import TypedForm
from api.pages.contrast_typed import contrast_typed
from api.pages.form_answers import edtf, number, one_of
from api.pages.outline_typed import outline_typed
from api.pages.package_typed import (
    dismount_typed,
    found_typed,
    layers_fitted_typed,
    layers_now,
    layers_removed_typed,
    mount_typed,
)
from api.pages.row_reader import RowReader
from models.actions.forecasts import finding_facts
from models.actions.work_records import WorkRecords
from models.errors import Fault
from models.rules.record_values import a_line, a_name, between
from models.rules.urgent_signs import SIGN_OF_QUESTION, still_to_ask
from models.rules.visit_as_told import (
    CauseTold,
    ColourTold,
    DismountTold,
    InscriptionTold,
    LayerTestTold,
    ReachTold,
    SightingTold,
    StopTold,
    TreatmentTold,
    VisitTold,
)
from models.tables.case_rows import SightingRow
from models.vocabulary import (
    SEEN_WHEN_OPENED,
    BenchTest,
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Kept,
    Mechanism,
    Severity,
    Shown,
    Side,
    StopQuestion,
    VisitKind,
)

UNKNOWN_HAND = "an unknown hand"
YES, NO = "yes", "no"
SPOTS = {"stain": "stain", "clean": "clean paper"}
AXES = {"L": (0, 100), "a": (-200, 200), "b": (-200, 200)}
LONGEST_MINUTES = 100_000
LONGEST_WHERE = 200
# How the tests of a layer are called in the form.
TESTS = {
    "bevel": BenchTest.BEVEL_COLOUR,
    "pen": BenchTest.PH_PEN,
    "lignin": BenchTest.LIGNIN_SPOT,
    "ph": BenchTest.SURFACE_PH,
}
QUESTIONS = tuple(StopQuestion)
# As what a yes goes on record: no more than was answered.
TERM_OF_QUESTION = {
    StopQuestion.TOUCHES_GLASS: "sheet touching the glazing",
    StopQuestion.LOOSE_OR_FLAKING: "flaking",
    StopQuestion.GLASS_CRACKED: "broken glass",
    StopQuestion.MOULD_OR_INSECTS: "mould or insects",
}
# Asked before water, solvent or heat comes near a work, with what is kept of a yes and of a no.
BEFORE_WATER = (
    ("Is the medium tested with it?", "medium tested", "medium not tested"),
    ("Did the owner agree?", "owner agreed", "owner not asked or not agreed"),
    ("Was a conservator asked?", "conservator asked", "conservator not asked"),
)
QUESTIONS_BEFORE_WATER = tuple(question for question, _yes, _no in BEFORE_WATER)
WET = (FreedBy.WATER, FreedBy.SOLVENT, FreedBy.HEAT)
FROM_NOTES = "stop/from_notes"
# How a work comes off its old mount while a new one is only tried.
CLEAN = DismountTold(freed_by=FreedBy.LIFTED)


@dataclass(frozen=True)
class VisitRead:
    """A visit as told, and the field of the form into which each part was typed.

    `unread` are the fields whose text means nothing; in `told` they are missing.
    """

    told: VisitTold
    fields: Mapping[str, str]
    unread: tuple[Fault, ...] = ()

    def beside(self, fault: Fault) -> Fault:
        """Return a fault of the visit as a fault of the field it belongs to."""
        return fault_beside(fault, self.fields)


def fault_beside(fault: Fault, fields: Mapping[str, str]) -> Fault:
    """Return a fault of a record as a fault of the field into which that part was typed."""
    at = fault.pointer
    if at in fields:
        return Fault(f"/{fields[at]}", fault.message, fault.right)
    around = [place for place in fields if place and at.startswith(f"{place}/")]
    if not around:
        return fault
    nearest = max(around, key=len)
    rest = at.removeprefix(nearest).replace("/reach/", "/").replace("/cause/", "/")
    return Fault(f"/{fields[nearest]}{rest}", fault.message, fault.right)


def read_visit(
    form: TypedForm, kind: VisitKind, records: WorkRecords, near: Mapping[str, FreedBy]
) -> VisitRead:
    """Return what was told, with every field that cannot be read.

    `near` says of a treatment whether it brings water, solvent or heat near the work.
    """
    reader = RowReader(form)
    told = _visit(reader, kind, records, near)
    wrong = reader.answers.wrong()
    return VisitRead(told, reader.fields, () if wrong is None else wrong.faults)


def read_package(form: TypedForm, records: WorkRecords) -> VisitRead:
    """Return what was told of the package alone, as if the work came off its old mount clean.

    Raises BadValue with every field of the package that cannot be read.
    """
    reader = RowReader(form)
    found, mount = found_typed(reader, records), mount_typed(reader, records)
    has_mount = records.current_mount is not None or found is not None
    off = RowReader(form)
    dismount = dismount_typed(off, records, found)
    if dismount is None or off.answers.wrong() is not None:
        dismount = CLEAN if mount is not None and has_mount else None
    told = VisitTold(
        on=reader.answers.needed("on", edtf, ""),
        kind=VisitKind.UNFRAMING,
        reason="to see what the package would do",
        seen=frozenset(Shown),
        tests=_tests(reader, records),
        found=found,
        dismount=dismount,
        layers_removed=layers_removed_typed(reader, records),
        layers_fitted=layers_fitted_typed(reader, records),
        mount=mount,
        based_on=reader.whole("based_on", 1, 2**31 - 1, "version"),
    )
    reader.answers.refuse()
    return VisitRead(told, {**off.fields, **reader.fields})


def _visit(
    reader: RowReader, kind: VisitKind, records: WorkRecords, near: Mapping[str, FreedBy]
) -> VisitTold:
    by = reader.text("by")
    found = found_typed(reader, records)
    dismount = dismount_typed(reader, records, found)
    used = _ways_used(dismount)
    seen = seen_typed(reader.form)
    return VisitTold(
        on=reader.answers.needed("on", edtf, ""),
        kind=kind,
        reason=reader.note("reason"),
        by=None if by == UNKNOWN_HAND else by,
        by_unknown_hand=by == UNKNOWN_HAND,
        minutes=reader.whole("minutes", 0, LONGEST_MINUTES, "number of minutes"),
        seen=seen,
        stop=_stop(reader) if kind is VisitKind.UNFRAMING else None,
        summary=reader.note("summary"),
        sightings=(*sightings_typed(reader, records.sightings), *_signs_of_stop(reader, records)),
        tests=_tests(reader, records),
        inscriptions=_inscriptions(reader),
        treatments=_treatments(
            reader, {term: way for term, way in near.items() if way not in used}
        ),
        found=found,
        dismount=_with_answers_before_water(reader, dismount, used),
        layers_removed=layers_removed_typed(reader, records),
        layers_fitted=layers_fitted_typed(reader, records),
        mount=mount_typed(reader, records),
        also_unframed=reader.ids("also_unframed", "/also_unframed"),
        closed_as_it_was=_is_closed_as_it_was(reader, seen),
        to_write_up=reader.is_ticked("to_write_up"),
        based_on=reader.whole("based_on", 1, 2**31 - 1, "version"),
    )


def _ways_used(dismount: DismountTold | None) -> tuple[FreedBy, ...]:
    """Return by which of water, solvent and heat the work came off its mount."""
    if dismount is None:
        return ()
    ways = {dismount.freed_by, *(hold.freed_by for hold in dismount.holds)}
    return tuple(way for way in WET if way in ways)


def _with_answers_before_water(
    reader: RowReader, dismount: DismountTold | None, used: tuple[FreedBy, ...]
) -> DismountTold | None:
    """Return the dismount with what was asked before water, solvent or heat, where it was used."""
    if dismount is None or not used:
        return dismount
    kept = _asked_before(reader, "wet", " and ".join(used))
    return replace(dismount, reason=_and_also(dismount.reason, kept))


def _asked_before(reader: RowReader, at: str, by: str) -> str:
    """Return what was answered before water, solvent or heat, as it is kept.

    Who tells of it from old notes need not know the answers.
    """
    answers = [reader.form[f"{at}/{i}"] for i in range(len(BEFORE_WATER))]
    if not reader.is_ticked(FROM_NOTES):
        for i, (answer, (question, _yes, _no)) in enumerate(
            zip(answers, BEFORE_WATER, strict=True)
        ):
            if answer not in (YES, NO):
                reader.wrong(f"{at}/{i}", f"{question} This is asked before {by}.", "Yes or no.")
    why = reader.line(f"{at}/why", 300)
    if NO in answers and not why:
        reader.wrong(
            f"{at}/why", f"One answer before {by} is no.", "Say why it was done all the same."
        )
    told = zip(answers, BEFORE_WATER, strict=True)
    kept = (yes if answer == YES else no for answer, (_, yes, no) in told if answer in (YES, NO))
    said = "; ".join(kept)
    return f"Before {by}: {said}{f' ({why})' if why else ''}" if said else ""


def _and_also(told: str, kept: str) -> str:
    # Pages that show a reason or a note end it themselves.
    return ". ".join(filter(None, (told.rstrip("."), kept))) if kept else told


def seen_typed(form: TypedForm) -> frozenset[Shown]:
    """Return the places that are ticked as seen."""
    return frozenset(shown for shown in Shown if shown in form.all("seen"))


def _is_closed_as_it_was(reader: RowReader, seen: frozenset[Shown]) -> bool:
    """Say whether it is ticked; whoever says what was seen inside has said more than that."""
    is_ticked = reader.is_ticked("closed_as_it_was")
    if is_ticked and seen & frozenset(SEEN_WHEN_OPENED):
        message = (
            "“Closed again as it was” says nothing of what it looked like, and more is ticked."
        )
        right = "Untick it: what was seen inside then counts; or untick what was not seen."
        reader.wrong("seen", message, right)
    return is_ticked


def _answers(reader: RowReader) -> dict[StopQuestion, bool]:
    told = {question: reader.form[f"stop/{i}"] for i, question in enumerate(QUESTIONS)}
    return {q: answer == YES for q, answer in told.items() if answer in (YES, NO)}


def _signs_of_stop(reader: RowReader, records: WorkRecords) -> Iterator[SightingTold]:
    """Give a finding for each yes whose sign does not stand yet: it waits until it was seen to."""
    standing = {one.urgent_sign for one in finding_facts(records) if one.is_still_there}
    for question, is_yes in _answers(reader).items():
        if is_yes and SIGN_OF_QUESTION[question] not in standing:
            # How strong it is nobody has said; whoever has looked puts it right.
            yield SightingTold(
                change=Change.NEW,
                term=TERM_OF_QUESTION[question],
                severity=Severity.MODERATE,
                note="Answered with yes before an unframing, and not opened to see more.",
            )


def _stop(reader: RowReader) -> StopTold | None:
    answers = _answers(reader)
    yes = [question.rstrip("?") for question, is_yes in answers.items() if is_yes]
    if yes:
        left = reader.answers.needed("stop/left", a_line("way it was left"), "")
        return StopTold("; ".join(filter(None, [*yes, reader.line("stop/why", 300)])), left)
    if not reader.is_ticked(FROM_NOTES):
        for question in still_to_ask(answers):
            message = f"{question.capitalize()} This is asked before any package is opened."
            right = "Yes or no; or tick below that this is told from old notes."
            reader.wrong(f"stop/{QUESTIONS.index(question)}", message, right)
    return None


def sightings_typed(reader: RowReader, before: Iterable[SightingRow]) -> tuple[SightingTold, ...]:
    """Return what was seen of the findings so far, and the new ones."""
    told: list[SightingTold] = []
    for row in {row.finding_id: row for row in before}.values():
        at = f"finding/{row.finding_id}"
        change = reader.word(f"{at}/change", Change)
        # What nobody saw this time is as it was: nothing is told of it.
        cause = reader.answers.read(f"{at}/cause", cause_in)
        if (change is not None and change is not Change.NOT_SEEN) or cause is not None:
            reader.told_at(f"/report/sightings/{len(told)}", at)
            told.append(_seen_again(reader, at, row, change or Change.NOT_SEEN, cause))
    for at in reader.rows("new"):
        if reader.has_any(at, besides=("side", "change", "mount")):
            reader.told_at(f"/report/sightings/{len(told)}", at)
            told.append(_seen_first(reader, at))
    return tuple(told)


def words_of_cause(mechanism: Mechanism | None, mount: CauseMount) -> str:
    """Return a cause as a choice of the form sends it: "acid migration, this"."""
    return mount.value if mechanism is None else f"{mechanism}, {mount}"


def cause_in(words: str) -> CauseTold:
    """Return the cause that such words name. Raises BadValue."""
    mechanism, _, mount = words.rpartition(", ")
    named = one_of(Mechanism)(mechanism) if mechanism else None
    return CauseTold(named, one_of(CauseMount)(mount))


def _seen_again(
    reader: RowReader, at: str, row: SightingRow, change: Change, cause: CauseTold | None
) -> SightingTold:
    mm = reader.length(f"{at}/mm")
    return SightingTold(
        finding=row.finding_id,
        change=change,
        reach=None if mm is None else ReachTold(row.edge or Edge.ALL, mm),
        severity=reader.word(f"{at}/severity", Severity),
        extent_percent=_percent(reader, f"{at}/extent_percent"),
        note=reader.note(f"{at}/note"),
        cause=cause,
        colours=_colours(reader, at),
        contrast=reader.answers.read(f"{at}/contrast", contrast_typed),
        outline=reader.answers.read(f"{at}/outline", outline_typed),
    )


def _seen_first(reader: RowReader, at: str) -> SightingTold:
    mechanism = reader.word(f"{at}/mechanism", Mechanism)
    mount = reader.word(f"{at}/mount", CauseMount)
    is_told = mechanism is not None or mount is not None
    return SightingTold(
        change=reader.word(f"{at}/change", Change) or Change.NEW,
        term=reader.text(f"{at}/term"),
        side=reader.word(f"{at}/side", Side) or Side.RECTO,
        reach=_reach(reader, at),
        severity=reader.word(f"{at}/severity", Severity),
        extent_percent=_percent(reader, f"{at}/extent_percent"),
        note=reader.note(f"{at}/note"),
        cause=CauseTold(mechanism, mount or CauseMount.CANNOT_TELL) if is_told else None,
        colours=_colours(reader, at),
        contrast=reader.answers.read(f"{at}/contrast", contrast_typed),
        outline=reader.answers.read(f"{at}/outline", outline_typed),
    )


def _percent(reader: RowReader, name: str) -> float | None:
    check = between(0, 100, "%")
    return reader.answers.read(name, lambda text: check(number(text)))


def _reach(reader: RowReader, at: str) -> ReachTold | None:
    edge, mm = reader.word(f"{at}/edge", Edge), reader.text(f"{at}/mm")
    if edge is None and mm is None:
        return None
    if edge is None or mm is None:
        name = "edge" if edge is None else "mm"
        reader.wrong(f"{at}/{name}", "A reach is an edge and how far in.", "Give both, or none.")
        return None
    reach = reader.length(f"{at}/mm")
    return None if reach is None else ReachTold(edge, reach, reader.is_ticked(f"{at}/follows"))


def _colours(reader: RowReader, at: str) -> tuple[ColourTold, ...]:
    return tuple(
        _colour(reader, f"{at}/{name}", spot)
        for name, spot in SPOTS.items()
        if any(reader.text(f"{at}/{name}/{axis}") for axis in AXES)
    )


def _colour(reader: RowReader, at: str, spot: str) -> ColourTold:
    lightness, a, b = (_axis(reader, f"{at}/{axis}", axis) for axis in AXES)
    return ColourTold(lightness, a, b, spot)


def _axis(reader: RowReader, name: str, axis: str) -> float:
    check = between(*AXES[axis], f"{axis}*")
    return reader.answers.needed(name, lambda text: check(number(text)), 0.0)


def _tests(reader: RowReader, records: WorkRecords) -> tuple[LayerTestTold, ...]:
    told: list[LayerTestTold] = []
    for layer in layers_now(records):
        for name, test in TESTS.items():
            at = f"layer/{layer.id}/{name}"
            result = reader.text(at)
            if result is not None:
                reader.told_at(f"/tests/{len(told)}", at, "layer", "result")
                told.append(LayerTestTold(layer.id, test, result.replace(",", ".")))
    return tuple(told)


def _inscriptions(reader: RowReader) -> tuple[InscriptionTold, ...]:
    return tuple(
        InscriptionTold(
            reader.answers.needed(f"{at}/where", a_name("place", LONGEST_WHERE), ""),
            reader.note(f"{at}/text"),
            reader.word(f"{at}/kept", Kept),
        )
        for at in reader.rows("inscriptions")
        if reader.text(f"{at}/text") or reader.text(f"{at}/where")
    )


def _treatments(reader: RowReader, near: Mapping[str, FreedBy]) -> tuple[TreatmentTold, ...]:
    told: list[TreatmentTold] = []
    for at in reader.rows("treatments"):
        if not reader.has_any(at):
            continue
        place = f"/treatments/{len(told)}"
        reader.told_at(place, at)
        reader.told_at(f"{place}/materials/0", f"{at}/material")
        material = reader.text(f"{at}/material")
        term = reader.answers.needed(f"{at}/term", a_name("treatment"), "")
        asked = _asked_before(reader, f"{at}/wet", near[term]) if term in near else ""
        treatment = TreatmentTold(
            term=term,
            by=reader.text(f"{at}/by"),
            note=_and_also(reader.note(f"{at}/note"), asked),
            materials=() if material is None else (material,),
            removes=reader.ids(f"{at}/removes", f"{place}/removes"),
        )
        told.append(treatment)
    return tuple(told)
