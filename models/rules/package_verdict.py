"""How good is a package: which layer is its weakest link, and how is the work freed?

Each layer is judged by its own typical time to noticeable harm at the distance
at which it lies: more than 60 years is sound, 20 to 60 doubtful, less harmful.
A hold is judged by the adhesive it puts on the work: a hold that lets go is seen
from the front and belongs to the forecast. What an old mount left on the work
is judged like an adhesive. A layer that harms by none of the grades (glass, a
spacer) is sound.

Some things make a layer worse, none makes it better. Doubtful at best: what
nobody knows, what was told or guessed, what is freed by solvent or heat only,
lignin where there should be none, too little alkaline reserve in a buffered
board, a bench test that speaks against the grade, a recalled lot. Harmful: a
failed Photographic Activity Test against a photograph, and whatever frees the
work not without harm, which is *held for good*. The worst layer is the verdict
on the package; the worst of what touches the work says how it is freed.

The day enters only through the age of an activity test, which is a remark and
no verdict.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from models.risk.acid_transfer import board_weights
from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import DISTANCE_FACTOR, PlacedLayer, place_layers
from models.rules.framing_date import framed_when
from models.rules.freeing import (
    adhesive_of_hold,
    freeing_of_adhesive,
    freeing_of_adhesive_layer,
    freeing_of_hold,
    worst_freeing,
)
from models.rules.material_fitness import Remark, Weight, remarks_on_hold, remarks_on_layer
from models.rules.package_facts import (
    HoldFacts,
    Key,
    LayerFacts,
    PackageFacts,
    RemainFacts,
    WorkFacts,
)
from models.rules.three_questions import unanswered, with_blanks_filled
from models.vocabulary import (
    UNKNOWN_BOARD,
    UNKNOWN_GRADES,
    BenchTest,
    Distance,
    Freeing,
    KnownBy,
    LayerRole,
    Mechanism,
    Question,
    Verdict,
)

# Years at 20 degC and 50 % RH. Defaults of this project (judgement).
SOUND_OVER_YEARS = 60.0
HARMFUL_UNDER_YEARS = 20.0
# A board that nobody knows is judged as groundwood once tests leave it this likely (a share).
AS_GOOD_AS_GROUNDWOOD = 0.9
# Specifications of permanent board ask for kappa 5 and less, and 2 % calcium carbonate and more.
LARGEST_KAPPA = 5.0
SMALLEST_RESERVE_PERCENT = 2.0

WORST_LAST = (Verdict.SOUND, Verdict.DOUBTFUL, Verdict.HARMFUL)
HOLD, REMAINS = "hold", "remains"
HELD_FOR_GOOD = "held for good: it cannot be freed without harm"

_BY_HEARSAY = frozenset({KnownBy.TOLD, KnownBy.GUESSED})
_AGAINST_A_GOOD_BOARD = {
    (BenchTest.BEVEL_COLOUR, "brown"),
    (BenchTest.PH_PEN, "acid"),
    (BenchTest.LIGNIN_SPOT, "red"),
}

_WHERE = {
    Distance.TOUCHES: "it touches the work",
    Distance.FACES: "it faces the work",
    Distance.APART: "it lies apart from the work",
}

Ground = tuple[Verdict, str]


@dataclass(frozen=True)
class LayerVerdict:
    """The judgement on one layer, hold or remain; `typical_years` is None for what has none."""

    key: Key
    role: str
    name: str
    verdict: Verdict
    why: str
    typical_years: float | None = None
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True)
class PackageVerdict:
    """The judgement on a package: layers front to back, then holds, then remains."""

    verdict: Verdict
    freeing: Freeing
    weak_layer: str
    layers: tuple[LayerVerdict, ...]
    sentence: str
    unknown: tuple[Question, ...]

    @property
    def held_for_good(self) -> bool:
        """Say whether the work cannot be freed without harm."""
        return self.freeing is Freeing.NOT_WITHOUT_HARM

    @property
    def is_known_and_sound(self) -> bool:
        """Say whether every layer is known and sound: then it may be left in peace longest."""
        return self.verdict is Verdict.SOUND and not self.unknown


def package_verdict(
    package: PackageFacts, work: WorkFacts, figures: DefaultFigures, today: int
) -> PackageVerdict:
    """Return the verdict on a package, in which blanks stand as unknown."""
    filled = with_blanks_filled(package)
    placed = place_layers(filled)
    layers = (
        *(verdict_of_layer(p, filled, work, figures, today) for p in placed),
        *(verdict_of_hold(hold, work, figures, today) for hold in filled.holds),
        *(verdict_of_remain(remain, figures) for remain in filled.remains),
    )
    worst = max(layers, key=_badness, default=None)
    freeing = freeing_of_package(placed, filled.holds)
    unknown = unanswered(package)
    return PackageVerdict(
        verdict=worst.verdict if worst else Verdict.SOUND,
        freeing=freeing,
        weak_layer=worst.name if worst else "",
        layers=layers,
        sentence=_sentence(worst, freeing, unknown),
        unknown=unknown,
    )


def verdict_of_layer(
    placed: PlacedLayer, package: PackageFacts, work: WorkFacts, figures: DefaultFigures, today: int
) -> LayerVerdict:
    """Return the verdict on one layer at its side and distance."""
    layer = placed.layer
    remarks = tuple(remarks_on_layer(placed, work.process_group, today=today))
    years = _typical_years(placed, figures)
    grounds = [
        _by_time(layer.grade, years, _WHERE[placed.distance]),
        *_by_what_nobody_knows(layer, package),
        *_by_hearsay(layer.known_by, is_graded=layer.grade is not None),
        *_by_lignin_and_reserve(placed),
        *_by_bench_tests(placed),
        *_by_recall(layer.recalled),
        *_by_remarks(remarks),
        *(_by_freeing(freeing_of_adhesive_layer(layer)) if _sticks(placed) else ()),
    ]
    name = layer.material or layer.role.value
    return _judged(layer.key, layer.role.value, name, years, grounds, remarks)


def verdict_of_hold(
    hold: HoldFacts, work: WorkFacts, figures: DefaultFigures, today: int
) -> LayerVerdict:
    """Return the verdict on one hold by the adhesive that it puts on the work."""
    grade = adhesive_of_hold(hold)
    remarks = tuple(remarks_on_hold(hold, work.process_group, today=today))
    years = None if grade is None else figures.figure(Mechanism.ADHESIVE_AGEING, grade).median
    grounds = [
        _by_time(grade, years, "it touches the work"),
        *_by_hearsay(hold.known_by, is_graded=True),
        *_by_recall(hold.recalled),
        *_by_remarks(remarks),
        *_by_freeing(freeing_of_hold(hold)),
    ]
    return _judged(hold.key, HOLD, hold.material or hold.grade, years, grounds, remarks)


def verdict_of_remain(remain: RemainFacts, figures: DefaultFigures) -> LayerVerdict:
    """Return the verdict on what an earlier mount left on the work."""
    years = figures.figure(Mechanism.ADHESIVE_AGEING, remain.grade).median if remain.grade else None
    freed = remain.frees_by or freeing_of_adhesive(remain.grade, covers_all=remain.covers_all)
    grounds = [
        _by_time(remain.grade, years, "it is still on the work"),
        *([] if remain.grade else [(Verdict.DOUBTFUL, "nobody knows what it is")]),
        *_by_freeing(freed, for_good="it cannot be taken off without harm"),
    ]
    name = f"{remain.what} of an earlier mount"
    return _judged(remain.key, REMAINS, name, years, grounds, ())


def freeing_of_package(placed: Iterable[PlacedLayer], holds: Iterable[HoldFacts]) -> Freeing:
    """Return the hardest way out of all that sticks to the work."""
    by_layers = [freeing_of_adhesive_layer(p.layer) for p in placed if _sticks(p)]
    return worst_freeing([*by_layers, *(freeing_of_hold(hold) for hold in holds)])


def _sticks(placed: PlacedLayer) -> bool:
    return placed.layer.role is LayerRole.ADHESIVE and placed.distance is Distance.TOUCHES


def _typical_years(placed: PlacedLayer, figures: DefaultFigures) -> float | None:
    """Return the median at this distance; None where the layer harms by no grade of its own."""
    grade = placed.layer.grade
    mechanism = figures.mechanism_of_layer(grade) if grade else None
    if grade is None or mechanism is None:
        return None
    median = figures.figure(mechanism, grade).median
    if mechanism is Mechanism.ADHESIVE_AGEING:
        return median if placed.distance is Distance.TOUCHES else None
    return None if median is None else median * DISTANCE_FACTOR[placed.distance]


def _by_time(grade: str | None, years: float | None, where: str) -> Ground:
    if years is None:
        harmless = "it harms by none of the known ways" if grade is None else where
        return Verdict.SOUND, harmless
    verdict = _verdict_of_years(years)
    return verdict, f"{where}, and {grade} typically harms there after {years:g} years"


def _verdict_of_years(years: float) -> Verdict:
    if years < HARMFUL_UNDER_YEARS:
        return Verdict.HARMFUL
    return Verdict.DOUBTFUL if years <= SOUND_OVER_YEARS else Verdict.SOUND


def _by_what_nobody_knows(layer: LayerFacts, package: PackageFacts) -> list[Ground]:
    if layer.grade not in UNKNOWN_GRADES:
        return []
    grounds = [(Verdict.DOUBTFUL, "nobody knows what it is")]
    if layer.grade == UNKNOWN_BOARD:
        tests = [(test.test, test.result) for test in layer.tests]
        groundwood = board_weights(framed_when(layer, package), tests)[0]
        if tests and groundwood >= AS_GOOD_AS_GROUNDWOOD:
            grounds.append(
                (Verdict.HARMFUL, f"by its tests it is groundwood ({groundwood * 100:.0f} %)")
            )
    return grounds


def _by_hearsay(known_by: KnownBy | None, *, is_graded: bool) -> list[Ground]:
    if known_by in _BY_HEARSAY:
        return [(Verdict.DOUBTFUL, f"what it is was only {known_by}")]
    if known_by is None and is_graded:
        return [(Verdict.DOUBTFUL, "how anybody knows what it is was not recorded")]
    return []


def _by_lignin_and_reserve(placed: PlacedLayer) -> list[Ground]:
    layer = placed.layer
    if placed.distance is Distance.APART:
        return []
    grounds = []
    if layer.kappa is not None and layer.kappa > LARGEST_KAPPA:
        what = f"it holds lignin (kappa {layer.kappa:g}, at most {LARGEST_KAPPA:g} is asked)"
        grounds.append((Verdict.DOUBTFUL, what))
    reserve = layer.alkaline_reserve_percent
    if layer.buffered and reserve is not None and reserve < SMALLEST_RESERVE_PERCENT:
        asked = f"at least {SMALLEST_RESERVE_PERCENT:g} % is asked"
        grounds.append((Verdict.DOUBTFUL, f"its alkaline reserve is {reserve:g} %, {asked}"))
    return grounds


def _by_bench_tests(placed: PlacedLayer) -> list[Ground]:
    if placed.distance is Distance.APART or placed.layer.grade == UNKNOWN_BOARD:
        return []
    return [
        (Verdict.DOUBTFUL, f"the {test.test} says {test.result}, against its grade")
        for test in placed.layer.tests
        if (test.test, test.result) in _AGAINST_A_GOOD_BOARD
    ]


def _by_recall(recalled: bool) -> list[Ground]:
    return [(Verdict.DOUBTFUL, "its lot or material was recalled")] if recalled else []


def _by_remarks(remarks: Sequence[Remark]) -> list[Ground]:
    return [
        (Verdict.HARMFUL, "it failed the Photographic Activity Test")
        for remark in remarks
        if remark.weight is Weight.FAULT
    ]


def _by_freeing(freeing: Freeing, for_good: str = HELD_FOR_GOOD) -> list[Ground]:
    if freeing is Freeing.NOT_WITHOUT_HARM:
        return [(Verdict.HARMFUL, for_good)]
    if freeing is Freeing.SOLVENT_OR_HEAT:
        return [(Verdict.DOUBTFUL, "it is freed by solvent or heat only")]
    return []


def _judged(
    key: Key,
    role: str,
    name: str,
    years: float | None,
    grounds: Sequence[Ground],
    remarks: tuple[Remark, ...],
) -> LayerVerdict:
    verdict = max((verdict for verdict, _ in grounds), key=WORST_LAST.index)
    why = "; ".join(dict.fromkeys(reason for of, reason in grounds if of is verdict))
    return LayerVerdict(key, role, name, verdict, f"{why[:1].upper()}{why[1:]}.", years, remarks)


def _badness(layer: LayerVerdict) -> tuple[int, float]:
    """Order by verdict, then by the shortest time; of equal layers the first one is named."""
    soon = 0.0 if layer.typical_years is None else 1 / layer.typical_years
    return WORST_LAST.index(layer.verdict), soon


_FREED: dict[Freeing, str] = {
    Freeing.NO_ADHESIVE: "The work lifts out.",
    Freeing.WATER: "The work is freed with water.",
    Freeing.SOLVENT_OR_HEAT: "The work is freed with solvent or heat only.",
    Freeing.NOT_WITHOUT_HARM: "The work is held for good: it cannot be freed without harm.",
}


_NOBODY_KNOWS = "How it is freed nobody knows: solvent or heat must be reckoned with."


def _sentence(worst: LayerVerdict | None, freeing: Freeing, unknown: tuple[Question, ...]) -> str:
    said = []
    if worst is None:
        said.append("Nothing is listed that touches or faces the work.")
    elif worst.verdict is Verdict.SOUND:
        said.append("Every layer is sound.")
    else:
        name = "" if worst.name == worst.role else f" ({worst.name})"
        said.append(f"The weakest link is the {worst.role}{name}, {worst.verdict}. {worst.why}")
    is_guess = Question.HOLDS in unknown and freeing is Freeing.SOLVENT_OR_HEAT
    said.append(_NOBODY_KNOWS if is_guess else _FREED[freeing])
    if unknown:
        said.append(f"Not known: {', '.join(unknown)}.")
    return " ".join(said)
