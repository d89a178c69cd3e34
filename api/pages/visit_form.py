"""What does the form of a visit show before anybody typed, come back to, and after a refusal?

One form in the order of the bench, its steps one after the other. What the record knows
is filled in beforehand: who is signed in, today, the layers and holds as they are, so
that a new mount is built from the old one by swapping. After a refusal everything typed
comes back.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlmodel import Session

from api.pages.bench_steps import Step, StepShown, steps_shown
from api.pages.contrast_typed import contrast_told_said, contrast_typed
from api.pages.findings_shown import FindingShown, findings_shown
from api.pages.forecast_shown import ForecastShown, forecast_shown
from api.pages.form_shown import FormShown
from api.pages.package_drawing import PackageDrawing
from api.pages.package_swap import Tried, old_package
from api.pages.package_typed import (
    BUILT,
    CHANGED,
    NO_NEW_MOUNT,
    OUT,
    STAYS,
    SWAPPED,
    USUAL,
    holds_now,
    layers_now,
)
from api.pages.photographs_shown import TAKES, Take
from api.pages.visit_typed import (
    NO,
    QUESTIONS,
    QUESTIONS_BEFORE_WATER,
    TESTS,
    UNKNOWN_HAND,
    WET,
    YES,
    words_of_cause,
)
from api.pages.visits_shown import VisitShown, hold_in_words, layer_said, visit_shown
from api.pages.work_page import WorkShown, work_shown
from api.template_filters import day, mm
from models.actions.forecasts import forecast_now
from models.actions.in_force import InForce, in_force
from models.actions.suggested_causes import causes_of
from models.actions.work_records import WorkRecords
from models.errors import BadValue
from models.risk.acid_transfer import TEST_FACTORS
from models.rules.attribution import SuggestedCause
from models.rules.place_tree import PlaceTree
from models.rules.urgent_signs import FIRST_ACTS, LOCAL_CODES, SIGN_OF_QUESTION, Urgent
from models.tables.bench_choices import Choice, Chosen, bench_choices
from models.tables.case_rows import HoldRow, LayerRow
from models.tables.drafts import OnBench
from models.tables.visible import Viewer
from models.vocabulary import (
    SEEN_FROM_OUTSIDE,
    Answer,
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Kept,
    KnownBy,
    LayerRole,
    Mechanism,
    Outcome,
    PlaceUse,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.shipped import shipped_default_figures

NEW_FINDINGS, BLANK_LAYERS = 8, 3
FEWEST_LAYERS = 6
# Found most often where paper was matted; common practice, no source.
USUAL_TERMS = ("mat burn", "foxing", "tide line", "hinge stain", "tape stain", "cockling", "fading")
# What lies in most frames, front to back; whoever finds less blanks a row.
FOUND_ROLES = (
    LayerRole.GLAZING,
    LayerRole.WINDOW_MAT,
    LayerRole.WORK,
    LayerRole.MOUNT_BOARD,
    LayerRole.BACKING,
)
# Roles of what is never board or paper: no test of a board tells anything of it.
NO_BOARD = frozenset({LayerRole.GLAZING, LayerRole.SPACER, LayerRole.FRAME, LayerRole.ADHESIVE})
# Beside the step that needs them; common practice, no source.
CAUTIONS: Mapping[FreedBy, str] = {
    FreedBy.WATER: "Before water: is the medium tested, the owner agreed, a conservator asked?",
    FreedBy.SOLVENT: "Before solvent: tested, agreed, asked? Ventilate, no flame, gloves.",
    FreedBy.HEAT: "Heat scorches paper and skin, and sets some adhesives for good.",
    FreedBy.SCALPEL_OR_SPATULA: "Blades: away from the sheet and from the hand.",
}
SPOT_TEST = "The lignin spot test only on an offcut, away from the work, with goggles."
SEEN_AGAIN = (
    Change.UNCHANGED,
    Change.GROWN,
    Change.TREATED,
    Change.NO_LONGER_VISIBLE,
    Change.NOT_SEEN,
)


@dataclass(frozen=True)
class QuestionShown:
    """One of the four questions, and what is done instead when it is answered with yes."""

    name: str
    question: str
    act: str
    caution: str


@dataclass(frozen=True)
class CauseAsked:
    """A suggested cause as a question, and what can be tapped: the words sent and those read."""

    question: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class NamedPart:
    """A layer, hold, remain or work that the form tells of, by its number.

    `material` and `lot` are what a layer is of: what stays in its row when it stays.
    """

    id: int
    said: str
    is_board: bool = False
    material: str = ""
    lot: str = ""


@dataclass(frozen=True)
class Words:
    """Everything that can be chosen in the form."""

    people: tuple[str, ...]
    terms: tuple[str, ...]
    methods: tuple[str, ...]
    treatments: tuple[str, ...]
    # Of treatments and findings that can hurt somebody, or the work: the caution.
    cautions_of: Mapping[str, str]
    # Treatments that bring water, solvent or heat near the work.
    wet_treatments: tuple[str, ...]
    materials: tuple[str, ...]
    house_packages: tuple[str, ...]
    lots: tuple[Chosen, ...]
    grades: tuple[str, ...]
    hold_grades: tuple[str, ...]
    results: Mapping[str, tuple[str, ...]]
    seen: tuple[Shown, ...]
    # Of each term that suggests how it came about: by which mechanism.
    suggested: Mapping[str, str]
    # What is found most often, to be taken with one tap.
    usual_terms: tuple[str, ...]
    sides: tuple[str, ...] = tuple(Side)
    edges: tuple[str, ...] = tuple(Edge)
    severities: tuple[str, ...] = tuple(Severity)
    seen_again: tuple[tuple[str, str], ...] = tuple((w.value, w.value) for w in SEEN_AGAIN)
    first_seen: tuple[str, ...] = (Change.NEW, Change.FOUND_AGE_UNKNOWN)
    mechanisms: tuple[str, ...] = tuple(Mechanism)
    causes: tuple[str, ...] = tuple(CauseMount)
    roles: tuple[str, ...] = tuple(LayerRole)
    known_by: tuple[str, ...] = tuple(KnownBy)
    freed_by: tuple[str, ...] = tuple(FreedBy)
    outcomes: tuple[str, ...] = tuple(Outcome)
    kept: tuple[str, ...] = tuple(Kept)
    answers: tuple[str, ...] = (Answer.NONE, Answer.UNKNOWN)
    yes_no: tuple[str, ...] = (NO, YES)
    acts: tuple[tuple[str, str], ...] = (
        (STAYS, "stays"),
        (SWAPPED, "change"),
        (OUT, "take out"),
    )
    mounts: tuple[tuple[str, str], ...] = (
        (CHANGED, "on its mount, layers changed"),
        (BUILT, "mounted anew"),
        (USUAL, "a house package"),
        (NO_NEW_MOUNT, "no new mount"),
    )
    cautions: tuple[str, ...] = tuple(CAUTIONS.values())
    before_water: tuple[str, ...] = QUESTIONS_BEFORE_WATER
    new_findings: int = NEW_FINDINGS
    wet_ways: tuple[str, ...] = WET
    spot_test: str = SPOT_TEST
    local_codes: str = LOCAL_CODES


@dataclass(frozen=True)
class Theirs:
    """What is on record now, when somebody was quicker; and what was typed of what is gone."""

    version: int
    latest: str
    mount: str
    layers: tuple[str, ...]
    typed_of_what_is_gone: tuple[str, ...]
    mount_is_gone: bool


@dataclass(frozen=True)
class ToRecord:
    """What would be recorded, and what would be due after it; nothing of it is stored.

    `untold` is what an unframing is for and this one does not tell, with what follows.
    """

    visit: VisitShown
    forecast: ForecastShown
    untold: tuple[str, ...] = ()


@dataclass(frozen=True)
class Difference:
    """A field of which another page has saved something else than what was typed here."""

    field: str
    there: str
    here: str


@dataclass(frozen=True)
class VisitFormPage:
    """What templates/visits/bench.html is given.

    `first_act` is what is done while a sign keeps the package closed, else empty; `kept` is
    what was typed into parts that a visit of this kind does not have. `version` is the saved
    state that the page shows, 0 when nothing was saved yet; `saved` is when, as the clock of
    the house shows it. `elsewhere` is what another page has saved meanwhile.
    """

    work: WorkShown
    kind: VisitKind
    kinds: tuple[VisitKind, ...]
    form: FormShown
    words: Words
    forecast: ForecastShown
    questions: tuple[QuestionShown, ...]
    findings: tuple[FindingShown, ...]
    layers: tuple[NamedPart, ...]
    holds: tuple[NamedPart, ...]
    remains: tuple[NamedPart, ...]
    has_mount: bool
    old: PackageDrawing
    mount_rows: int
    same_package: tuple[NamedPart, ...]
    first_act: str
    person: int
    step: Step
    steps: tuple[StepShown, ...]
    key: str = ""
    version: int = 0
    saved: str = ""
    on_bench: tuple[OnBench, ...] = ()
    elsewhere: tuple[Difference, ...] = ()
    kept: Mapping[str, Sequence[str]] = field(default_factory=dict)
    refusal: str = ""
    theirs: Theirs | None = None
    # Of earlier findings whose cause nobody has confirmed, by the number of the finding.
    causes: Mapping[int, CauseAsked] = field(default_factory=dict)
    tried: Tried | None = None
    outcome: ToRecord | None = None
    takes: tuple[Take, ...] = TAKES


def visit_form_page(
    session: Session,
    viewer: Viewer,
    records: WorkRecords,
    kind: VisitKind,
    *,
    name: str,
    today: int,
    step: Step = Step.START,
) -> VisitFormPage:
    """Return the form as it is before anybody typed; `name` is who is signed in."""
    force = in_force(session)
    tree = force.tree
    forecast = forecast_now(session, records, today=today, force=force)
    beforehand = _beforehand(records, kind, name=name, today=today)
    choices = bench_choices(session, viewer, records.work.id)
    return VisitFormPage(
        work=work_shown(records),
        kind=kind,
        kinds=tuple(_kinds(records, kind, tree, may_be_opened=forecast.may_be_opened)),
        form=FormShown(beforehand, beforehand=beforehand),
        words=_words(choices, kind),
        forecast=forecast_shown(forecast, today=today),
        questions=_questions(),
        findings=findings_shown(records, ()),
        layers=_layers(records),
        holds=tuple(NamedPart(h.id, hold_in_words(h)) for h in holds_now(records)),
        remains=tuple(NamedPart(r.id, r.what) for r in records.remains if not r.ended),
        has_mount=records.current_mount is not None,
        old=old_package(records, forecast.verdict),
        mount_rows=max(len(layers_now(records)) + BLANK_LAYERS, FEWEST_LAYERS),
        same_package=tuple(NamedPart(int(w.of), w.name) for w in choices[Choice.SAME_PACKAGE]),
        first_act=_first_act(forecast.urgent),
        person=viewer.person_id,
        causes=causes_asked(records, force, today=today),
        step=step,
        steps=steps_shown(kind, step),
    )


_BY = {CauseMount.THIS: "this mount", CauseMount.EARLIER: "an earlier mount"}


def causes_asked(records: WorkRecords, force: InForce, *, today: int) -> dict[int, CauseAsked]:
    """Return what is asked of earlier findings without a cause, by the number of the finding."""
    waiting = causes_of(records, force, today=today)
    return {one.finding_id: _cause_asked(one.cause) for one in waiting}


def _cause_asked(cause: SuggestedCause) -> CauseAsked:
    by = f", by {_BY[cause.mount]}" if cause.mount in _BY else ""
    source = f": {cause.layer}" if by and cause.layer else ""
    yes = words_of_cause(cause.mechanism, cause.mount)
    others = ((words_of_cause(cause.mechanism, mount), said) for mount, said in _BY.items())
    cannot = (words_of_cause(None, CauseMount.CANNOT_TELL), "cannot tell")
    choices = (
        (yes, "yes"),
        *(one for one in others if one[0] != yes),
        cannot,
        ("", "not asked now"),
    )
    return CauseAsked(f"Probably {cause.mechanism}{by}{source}?", choices)


def _kinds(
    records: WorkRecords, kind: VisitKind, tree: PlaceTree, *, may_be_opened: bool
) -> Iterator[VisitKind]:
    """Give the kinds of visit that this work can have now, and the one that is open."""
    is_in_box = tree.effective(records.work.place_id).use is PlaceUse.BOX
    offered = {
        VisitKind.LOOK: True,
        VisitKind.UNFRAMING: may_be_opened,
        VisitKind.BOX_CHECK: is_in_box,
    }
    return (one for one in VisitKind if one is kind or offered[one])


def _first_act(urgent: Sequence[Urgent]) -> str:
    acts = (sign.first_act for sign in urgent if sign.first_act.closes_unframing)
    return next((act.act for act in acts), "")


# Parts of the form that only an unframing has, by how their fields begin.
OF_AN_UNFRAMING = frozenset(
    {
        *("stop", "closed_as_it_was", "found", "dismount", "wet"),
        *("layer", "mount", "added", "also_unframed"),
    }
)
KEPT = "kept:"
# Fields that speak of the page and not of the visit.
OF_THE_PAGE = frozenset({"work", "version", "hand", "to", "to_kind"})


def with_typed_of_kind(page: VisitFormPage, typed: Mapping[str, Sequence[str]]) -> VisitFormPage:
    """Return the form with what was saved of a visit; what no page has sent yet is as before."""
    return replace(page, form=replace(page.form, values=typed or page.form.beforehand))


def difference(
    theirs: Mapping[str, Sequence[str]], mine: Mapping[str, Sequence[str]]
) -> tuple[Difference, ...]:
    """Return the fields in which two states of a visit differ."""
    names = sorted({*theirs, *mine} - {"step", "based_on", "mount_seen"})
    both = ((name, list(theirs.get(name, ())), list(mine.get(name, ()))) for name in names)
    return tuple(
        Difference(field_said(name), _values_said(name, a), _values_said(name, b))
        for name, a, b in both
        if a != b and any((*a, *b))
    )


def _values_said(name: str, values: Sequence[str]) -> str:
    said = filter(None, values)
    return ", ".join(map(_contrast_said, said) if name.endswith("/contrast") else said)


def _contrast_said(text: str) -> str:
    try:
        return contrast_told_said(contrast_typed(text))
    except BadValue:
        return text


def field_said(name: str) -> str:
    """Return a field by its place in the form, in words: "new 1, severity"."""
    parts = name.replace("_", " ").split("/")
    counted = [str(int(part) + 1) if part.isdecimal() else part for part in parts]
    return ", ".join([" ".join(counted[:2]), *counted[2:]])


def with_another_kind(page: VisitFormPage, typed: Mapping[str, Sequence[str]]) -> VisitFormPage:
    """Return the form of another kind of visit with everything that was typed into the one before.

    What the new kind has no field for is kept unseen, and comes back with its kind.
    """
    before = kept_of(typed)
    shared = {n: v for n, v in typed.items() if not (n.startswith(KEPT) or _is_of_unframing(n))}
    of_kind = {n: v for n, v in typed.items() if _is_of_unframing(n)}
    places = [str(place) for place in page.words.seen]
    seen = [*typed.get("seen", ()), *before.get(f"{KEPT}seen", ())]
    shared["seen"] = [place for place in seen if place in places]
    unseen = [place for place in seen if place not in places]
    if page.kind is VisitKind.UNFRAMING:
        of_kind |= {n.removeprefix(KEPT): v for n, v in before.items() if n != f"{KEPT}seen"}
        blank = {n: v for n, v in page.form.beforehand.items() if _is_of_unframing(n)}
        values, kept = {**shared, **(of_kind or blank)}, {}
    else:
        values, kept = shared, {**before, **{f"{KEPT}{n}": v for n, v in of_kind.items()}}
        kept[f"{KEPT}seen"] = unseen
    return replace(page, form=replace(page.form, values=values), kept=kept)


def kept_of(typed: Mapping[str, Sequence[str]]) -> dict[str, Sequence[str]]:
    """Return what is carried along unseen."""
    return {name: values for name, values in typed.items() if name.startswith(KEPT)}


def _is_of_unframing(name: str) -> bool:
    return name.partition("/")[0] in OF_AN_UNFRAMING


def parts_that_are_gone(records: WorkRecords, typed: Mapping[str, Sequence[str]]) -> list[str]:
    """Return what was typed of layers and holds that are no longer there."""
    there = {f"layer/{layer.id}" for layer in layers_now(records)}
    there |= {f"dismount/{hold.id}" for hold in holds_now(records)}
    return [
        f"{name.partition('/')[2].partition('/')[2]}: {value}"
        for name, values in typed.items()
        if _of_a_part(name) and "/".join(name.split("/")[:2]) not in there
        for value in values
        if value and value != STAYS
    ]


def is_mount_gone(records: WorkRecords, typed: Mapping[str, Sequence[str]]) -> bool:
    """Say whether the mount that somebody saw in the form holds the work no more."""
    seen = next(iter(typed.get("mount_seen", ())), "")
    return bool(seen) and seen != _mount_key(records)


def _mount_key(records: WorkRecords) -> str:
    mount = records.current_mount
    return "" if mount is None else str(mount.id)


def without_dismount(typed: Mapping[str, Sequence[str]]) -> dict[str, Sequence[str]]:
    """Return what was typed without how the work came off: somebody else took it off."""
    return {name: value for name, value in typed.items() if not name.startswith("dismount/")}


def _latest(records: WorkRecords) -> str:
    """Return who recorded what when, last of all: "unframing, 24 November 2026, by …"."""
    if not records.visits:
        return ""
    visit = visit_shown(max(records.visits, key=lambda row: row.id), records, ())
    who = f"by {visit.by}" if visit.by else "nobody recorded by whom"
    return " ".join([f"{visit.kind}, {visit.on}, {who}.", *visit.deeds])


def theirs_of(records: WorkRecords, typed: Mapping[str, Sequence[str]]) -> Theirs:
    """Return the state that is on record now."""
    mount = records.current_mount
    gone = is_mount_gone(records, typed)
    told = parts_that_are_gone(records, typed)
    if gone:
        told += [
            f"{name.partition('/')[2]}: {value}"
            for name in ("dismount/harm", "dismount/reason", "dismount/residue")
            for value in typed.get(name, ())
            if value
        ]
    return Theirs(
        version=records.work.version,
        latest=_latest(records),
        mount="no mount"
        if mount is None
        else f"mount {mount.mount_no} {mount.method or ''}".strip(),
        layers=tuple(part.said for part in _layers(records)),
        typed_of_what_is_gone=tuple(told),
        mount_is_gone=gone,
    )


def _of_a_part(name: str) -> bool:
    begin, _, rest = name.partition("/")
    return begin in ("layer", "dismount") and rest.partition("/")[0].isdecimal()


def _layers(records: WorkRecords) -> tuple[NamedPart, ...]:
    return tuple(
        NamedPart(
            layer.id,
            layer_said(layer),
            layer.role not in NO_BOARD,
            layer.material or "",
            layer.lot or "",
        )
        for layer in layers_now(records)
        if layer.role is not LayerRole.WORK
    )


def _questions() -> tuple[QuestionShown, ...]:
    acts = [FIRST_ACTS[SIGN_OF_QUESTION[question]] for question in QUESTIONS]
    return tuple(
        QuestionShown(f"stop/{index}", question.capitalize(), act.act, act.caution)
        for index, (question, act) in enumerate(zip(QUESTIONS, acts, strict=True))
    )


def bench_words(session: Session, kind: VisitKind) -> Words:
    """Return everything that can be chosen at a visit of a kind."""
    return _words(bench_choices(session), kind)


def _words(choices: Mapping[Choice, tuple[Chosen, ...]], kind: VisitKind) -> Words:
    figures = shipped_default_figures()

    def names(choice: Choice) -> tuple[str, ...]:
        return tuple(chosen.name for chosen in choices[choice])

    acid = figures.grades(Mechanism.ACID_MIGRATION)
    return Words(
        people=(*names(Choice.PERSON), UNKNOWN_HAND),
        terms=names(Choice.FINDING),
        suggested={term.name: term.of for term in choices[Choice.FINDING] if term.of},
        usual_terms=tuple(term for term in USUAL_TERMS if term in names(Choice.FINDING)),
        methods=names(Choice.METHOD),
        treatments=names(Choice.TREATMENT),
        cautions_of={
            chosen.name: chosen.caution
            for choice in (Choice.FINDING, Choice.TREATMENT)
            for chosen in choices[choice]
            if chosen.caution
        },
        wet_treatments=tuple(one.name for one in choices[Choice.TREATMENT] if one.of),
        materials=names(Choice.MATERIAL),
        house_packages=names(Choice.HOUSE_PACKAGE),
        lots=choices[Choice.LOT_IN_USE],
        grades=(*acid, *figures.grades(Mechanism.ADHESIVE_AGEING)),
        hold_grades=figures.grades(Mechanism.HOLD_FAILURE),
        results={
            name: tuple(result for of, result in TEST_FACTORS if of is test)
            for name, test in TESTS.items()
        },
        seen=tuple(Shown) if kind is VisitKind.UNFRAMING else SEEN_FROM_OUTSIDE,
    )


def _beforehand(
    records: WorkRecords, kind: VisitKind, *, name: str, today: int
) -> dict[str, list[str]]:
    first = Change.NEW if records.visits else Change.FOUND_AGE_UNKNOWN
    filled = {
        "on": day(today),
        "by": name,
        "based_on": str(records.work.version),
        "mount_seen": _mount_key(records),
        "kind": kind.value,
        "mount/how": NO_NEW_MOUNT,
        **{f"finding/{row.finding_id}/change": Change.NOT_SEEN for row in records.sightings},
        **{f"layer/{layer.id}/act": STAYS for layer in layers_now(records)},
        **{f"new/{i}/side": Side.RECTO for i in range(NEW_FINDINGS)},
        **{f"new/{i}/change": first for i in range(NEW_FINDINGS)},
        **_mount_beforehand(records),
        **_found_beforehand(records),
    }
    seen = [] if kind is VisitKind.BOX_CHECK else list(SEEN_FROM_OUTSIDE)
    return {"seen": [str(place) for place in seen]} | {n: [str(v)] for n, v in filled.items() if v}


def _found_beforehand(records: WorkRecords) -> dict[str, str]:
    if records.current_mount is not None:
        return {}
    rows = enumerate(FOUND_ROLES)
    return {
        f"found/layers/{i}/{name}": value
        for i, role in rows
        for name, value in (("role", role), ("order", str(i + 1)))
    }


def _mount_beforehand(records: WorkRecords) -> dict[str, str]:
    """Return the rows of a new mount as the old one is."""
    mount = records.current_mount
    filled: dict[str, str] = {}
    for index, layer in enumerate(layers_now(records)):
        filled |= {f"mount/layers/{index}/{n}": v for n, v in _row(layer, index).items()}
    for index, hold in enumerate(holds_now(records)):
        filled |= {f"mount/holds/{index}/{n}": v for n, v in _hold(hold).items()}
    if mount is not None:
        filled["mount/method"] = mount.method or ""
    return filled


def _row(layer: LayerRow, index: int) -> dict[str, str]:
    filled = {"role": layer.role.value, "order": str(index + 1)}
    if layer.role is LayerRole.WORK:
        return filled
    piece = {"from": str(layer.id), "act": STAYS, "known_by": layer.known_by or ""}
    return filled | piece | {"material": layer.material or "", "lot": layer.lot or ""}


def _hold(hold: HoldRow) -> dict[str, str]:
    return {
        "material": hold.material or "",
        "grade": "" if hold.material else hold.grade,
        "position": hold.position,
        "count": "" if hold.hold_count is None else str(hold.hold_count),
        "clearance_mm": "" if hold.clearance_um is None else mm(hold.clearance_um),
    }
