"""By what can this package harm the work, how fast, and where would it show?

Every layer and hold that can harm becomes one row: its mechanism and grade, the
typical time at its distance, the clock it runs by, and the place at which the
harm would show. A board in front shows at the margins, one behind on the verso;
an adhesive shows under the hinges, or on the verso when it lies all over; a
hold that fails, or an accident, shows from the front.

A layer's clock starts when it was fitted or the work was mounted in it,
whichever is later; a hold's at the mounting; what an old mount left keeps the
clock it had. Only replacing starts a clock again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from models.risk.acid_transfer import board_weights
from models.risk.hazard import Components
from models.rules.component_row import (
    MENDABLE,
    NO_WEIGHTS,
    Circumstances,
    ComponentRow,
    Experience,
    clock_row,
)
from models.rules.distance_from_work import DISTANCE_FACTOR, PlacedLayer, place_layers
from models.rules.exposure_components import exposure_rows
from models.rules.framing_date import framed_when
from models.rules.freeing import adhesive_of_hold
from models.rules.hinge_count import hold_life_factor
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts
from models.rules.photographic_contact import (
    ALKALI,
    acts_on_photograph,
    hold_acts_on_photograph,
    is_alkali_on_cyanotype,
)
from models.rules.remains import adhesive_clock_start
from models.rules.three_questions import with_blanks_filled
from models.vocabulary import (
    UNKNOWN_BOARD,
    UNKNOWN_GRADES,
    Distance,
    LayerSide,
    Mechanism,
    PlaceUse,
    Shown,
)

# What a row is and what rows have in common stands in component_row.
__all__ = [
    "MENDABLE",
    "Circumstances",
    "ComponentRow",
    "Experience",
    "as_arrays",
    "component_rows",
    "is_stuck_down_all_over",
]

# In a box or drawer a hold carries nothing. Default of this project (judgement).
BOX_HOLD_FACTOR = 3.0


def component_rows(case: Circumstances) -> tuple[ComponentRow, ...]:
    """Return every row of a package as it must be judged: blanks stand in it as unknown."""
    package = with_blanks_filled(case.package)
    placed = place_layers(package)
    rows = [
        *(row for one in placed for row in _layer_rows(case, package, one)),
        *(row for hold in package.holds for row in _hold_rows(case, package, hold)),
        *(_remain_row(case, package, index) for index in range(len(package.remains))),
        *exposure_rows(case, package, placed),
    ]
    found = [row for row in rows if row is not None]
    return tuple(sorted(found, key=lambda row: (row.mechanism, _PLACES[row.shown])))


def is_stuck_down_all_over(package: PackageFacts) -> bool:
    """Say whether the work has no verso that anybody could see."""
    return any(hold.covers_all for hold in package.holds) or any(
        layer.covers_all for layer in package.layers
    )


def _layer_rows(
    case: Circumstances, package: PackageFacts, placed: PlacedLayer
) -> Iterator[ComponentRow]:
    layer = placed.layer
    mechanism = case.figures.mechanism_of_layer(layer.grade) if layer.grade else None
    if mechanism is Mechanism.ADHESIVE_AGEING:
        if placed.distance is Distance.TOUCHES:
            yield _of_layer(case, package, placed, mechanism, layer.grade, 1.0)
    elif mechanism is not None:
        factor = DISTANCE_FACTOR[placed.distance]
        yield _of_layer(case, package, placed, mechanism, layer.grade, factor)
    acting = acts_on_photograph(placed, case.work.process_group)
    if acting is not None:
        yield _of_layer(
            case,
            package,
            placed,
            Mechanism.PHOTO_ACTIVITY,
            acting.grade,
            acting.factor,
            because=acting.because,
        )
    if is_alkali_on_cyanotype(placed, case.work.process_group):
        yield _of_layer(
            case,
            package,
            placed,
            Mechanism.ALKALI_CONTACT,
            ALKALI,
            1.0,
            because="a buffered board touches a cyanotype",
        )


def _of_layer(
    case: Circumstances,
    package: PackageFacts,
    placed: PlacedLayer,
    mechanism: Mechanism,
    grade: str | None,
    factor: float,
    because: str | None = None,
) -> ComponentRow:
    layer = placed.layer
    shown = _where_a_layer_shows(placed, mechanism)
    return clock_row(
        case,
        mechanism,
        grade or "",
        name=layer.material or layer.role.value,
        key=layer.key,
        shown=shown,
        factor=factor,
        start=_later(layer.fitted_first_day, package.mounted_day),
        weights=_weights(layer, package) if grade == UNKNOWN_BOARD else NO_WEIGHTS,
        can_be_seen=_can_be_seen(package, shown),
        because=because or _why_a_layer(placed),
    )


def _where_a_layer_shows(placed: PlacedLayer, mechanism: Mechanism) -> Shown:
    if mechanism is Mechanism.ADHESIVE_AGEING:
        return Shown.VERSO if placed.layer.covers_all else Shown.UNDER_HINGES
    return Shown.MARGINS if placed.side is LayerSide.FRONT else Shown.VERSO


def _why_a_layer(placed: PlacedLayer) -> str:
    where = _WHERE[placed.distance]
    if placed.layer.grade in UNKNOWN_GRADES:
        return f"nobody knows what it is, and {where}"
    return where


_WHERE = {
    Distance.TOUCHES: "it touches the work",
    Distance.FACES: "it faces the work",
    Distance.APART: "it lies in the package, apart from the work",
}
_PLACES = {place: number for number, place in enumerate(Shown)}


def _weights(layer: LayerFacts, package: PackageFacts) -> tuple[float, float, float]:
    # Of one kind of test the newest counts: the same test again is no new evidence.
    newest = {test.test: test.result for test in layer.tests}
    told = board_weights(framed_when(layer, package), newest.items())
    return float(told[0]), float(told[1]), float(told[2])


def _can_be_seen(package: PackageFacts, shown: Shown) -> bool:
    return shown is not Shown.VERSO or not is_stuck_down_all_over(package)


def _hold_rows(
    case: Circumstances, package: PackageFacts, hold: HoldFacts
) -> Iterator[ComponentRow]:
    yield _holding_row(case, package, hold)
    adhesive = _adhesive_row(case, package, hold)
    if adhesive is not None:
        yield adhesive
    acting = hold_acts_on_photograph(hold, case.work.process_group)
    if acting is not None and package.is_recorded:
        yield clock_row(
            case,
            Mechanism.PHOTO_ACTIVITY,
            acting.grade,
            name=hold.material or hold.grade,
            key=hold.key,
            shown=Shown.VERSO,
            start=package.mounted_day,
            can_be_seen=_can_be_seen(package, Shown.VERSO),
            because=acting.because,
        )


def _holding_row(case: Circumstances, package: PackageFacts, hold: HoldFacts) -> ComponentRow:
    life = hold_life_factor(
        hold.grade,
        count=_hinges_of_grade(package, hold.grade),
        width_mm=case.work.width_mm,
        covers_all=hold.covers_all,
    )
    box = BOX_HOLD_FACTOR if case.climate.use is PlaceUse.BOX else 1.0
    return clock_row(
        case,
        Mechanism.HOLD_FAILURE,
        hold.grade,
        name=hold.material or hold.grade,
        key=hold.key,
        shown=Shown.FRONT,
        factor=life * box,
        start=package.mounted_day,
        because="fewer hinges than the width asks for" if life < 1 else _why_a_hold(hold),
    )


def _why_a_hold(hold: HoldFacts) -> str:
    is_unknown = hold.grade in UNKNOWN_GRADES
    return "nobody knows what holds the work" if is_unknown else "it holds the work"


def _hinges_of_grade(package: PackageFacts, grade: str) -> int | None:
    """Return how many hinges of one grade carry the sheet; None where a count is not known."""
    counts = [hold.count for hold in package.holds if hold.grade == grade]
    known = [count for count in counts if count is not None]
    return sum(known) if len(known) == len(counts) else None


def _adhesive_row(
    case: Circumstances, package: PackageFacts, hold: HoldFacts
) -> ComponentRow | None:
    # A planned package is complete as listed: its adhesives are layers of their own.
    grade = adhesive_of_hold(hold) if package.is_recorded else hold.adhesive_grade
    if grade is None:
        return None
    shown = Shown.VERSO if hold.covers_all else Shown.UNDER_HINGES
    return clock_row(
        case,
        Mechanism.ADHESIVE_AGEING,
        grade,
        name=hold.material or grade,
        key=hold.key,
        shown=shown,
        start=adhesive_clock_start(hold, package.mounted_day),
        can_be_seen=_can_be_seen(package, shown),
        because="it sticks to the work all over" if hold.covers_all else "it sticks to the work",
    )


def _remain_row(case: Circumstances, package: PackageFacts, index: int) -> ComponentRow | None:
    remain = package.remains[index]
    mechanism = case.figures.mechanism_of_layer(remain.grade) if remain.grade else None
    if remain.grade is None or mechanism is None:
        return None
    shown = Shown.VERSO if remain.covers_all else Shown.UNDER_HINGES
    row = clock_row(
        case,
        mechanism,
        remain.grade,
        name=f"{remain.what} of an earlier mount",
        key=remain.key,
        shown=shown,
        start=remain.since_day if remain.since_day is not None else package.mounted_day,
        can_be_seen=_can_be_seen(package, shown),
        because="an earlier mount left it on the work",
    )
    return replace(row, is_of_package=False)


def _later(one: int | None, other: int | None) -> int | None:
    days = [day for day in (one, other) if day is not None]
    return max(days) if days else None


def as_arrays(rows_of_works: Sequence[Sequence[ComponentRow]]) -> Components:
    """Return the rows of many works as parallel arrays; of each work sorted as above."""
    flat = [(work, row) for work, rows in enumerate(rows_of_works) for row in rows]
    places = [(work, row.mechanism, row.shown) for work, row in flat]
    numbers = {place: number for number, place in enumerate(dict.fromkeys(places))}

    def column(name: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([getattr(row, name) for _, row in flat], dtype=np.float64)

    return Components(
        work=np.array([work for work, _ in flat], dtype=np.int64),
        group=np.array([numbers[place] for place in places], dtype=np.int64),
        median=column("median"),
        shape=column("shape"),
        theta=column("theta"),
        clock_seen=column("clock_seen"),
        clock_now=column("clock_now"),
        rate_per_year=column("rate_per_year"),
        weights=np.array([row.weights for _, row in flat], dtype=np.float64).reshape(-1, 3),
        works=len(rows_of_works),
    )
