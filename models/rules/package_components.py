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

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from models.risk.acid_transfer import board_weights
from models.risk.ageing import ADHESIVE_J_PER_MOL, PAPER_J_PER_MOL, ageing_rate
from models.risk.hazard import Components
from models.rules.calendar_days import years_between
from models.rules.default_figures import Clock, DefaultFigures
from models.rules.distance_from_work import DISTANCE_FACTOR, PlacedLayer, place_layers
from models.rules.framing_date import framed_when
from models.rules.freeing import adhesive_of_hold
from models.rules.hinge_count import hold_life_factor
from models.rules.package_facts import (
    ClimateFacts,
    HoldFacts,
    Key,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.remains import adhesive_clock_start
from models.rules.three_questions import with_blanks_filled
from models.vocabulary import (
    SEEN_FROM_OUTSIDE,
    UNKNOWN_BOARD,
    UNKNOWN_GRADES,
    Distance,
    LayerRole,
    LayerSide,
    Mechanism,
    PlaceUse,
    Shown,
)

# In a box or drawer a hold carries nothing. Default of this project (judgement).
BOX_HOLD_FACTOR = 3.0

ACCIDENT_GRADE = {
    PlaceUse.DISPLAY: "on display",
    PlaceUse.TRANSIT: "on display",
    PlaceUse.STORAGE: "in storage",
    PlaceUse.BOX: "in storage",
}

_FRAMED = frozenset({LayerRole.GLAZING, LayerRole.FRAME})

# What a new package, hold or place can mend; an accident and the paper's own age it cannot.
MENDABLE = frozenset(Mechanism) - {
    Mechanism.ACCIDENT,
    Mechanism.OWN_AGEING,
    Mechanism.FACE_MOUNT,
}

Experience = Mapping[tuple[Mechanism, str], float]


@dataclass(frozen=True, kw_only=True)
class ComponentRow:
    """One way to harm. Median, clocks and rate in years of the row's own clock.

    `begun_day` is the day on which the clock started. A row that cannot be seen
    stays in the chance and leaves the sum that sets a date.
    """

    mechanism: Mechanism
    grade: str
    name: str
    key: Key
    shown: Shown
    median: float
    shape: float
    theta: float
    severity: float
    rate_per_year: float
    clock_seen: float
    clock_now: float
    weights: tuple[float, float, float]
    begun_day: int
    can_be_seen: bool = True
    is_in_chance: bool = True
    # What an old mount left on the work stays there whatever package it is put into.
    is_of_package: bool = True

    @property
    def from_outside(self) -> bool:
        """Say whether the harm shows without opening the package."""
        return self.shown in SEEN_FROM_OUTSIDE


@dataclass(frozen=True, kw_only=True)
class Circumstances:
    """What the rows of one work have in common."""

    package: PackageFacts
    work: WorkFacts
    climate: ClimateFacts
    seen: SeenFacts
    figures: DefaultFigures
    experience: Experience
    today: int
    # The climates of the places before, each with the last day on which it held.
    past: tuple[tuple[int, ClimateFacts], ...] = ()


def component_rows(case: Circumstances) -> tuple[ComponentRow, ...]:
    """Return every row of a package as it must be judged: blanks stand in it as unknown."""
    package = with_blanks_filled(case.package)
    rows = [
        *(_layer_row(case, package, placed) for placed in place_layers(package)),
        *(_hold_row(case, package, hold) for hold in package.holds),
        *(_adhesive_row(case, package, hold) for hold in package.holds),
        *(_remain_row(case, package, index) for index in range(len(package.remains))),
        _accident_row(case, package),
    ]
    found = [row for row in rows if row is not None]
    return tuple(sorted(found, key=lambda row: (row.mechanism, list(Shown).index(row.shown))))


def is_stuck_down_all_over(package: PackageFacts) -> bool:
    """Say whether the work has no verso that anybody could see."""
    return any(hold.covers_all for hold in package.holds) or any(
        layer.covers_all for layer in package.layers
    )


def _layer_row(
    case: Circumstances, package: PackageFacts, placed: PlacedLayer
) -> ComponentRow | None:
    layer = placed.layer
    mechanism = case.figures.mechanism_of_layer(layer.grade) if layer.grade else None
    if layer.grade is None or mechanism is None:
        return None
    if mechanism is Mechanism.ADHESIVE_AGEING:
        if placed.distance is not Distance.TOUCHES:
            return None
        shown = Shown.VERSO if layer.covers_all else Shown.UNDER_HINGES
        factor = 1.0
    else:
        shown = Shown.MARGINS if placed.side is LayerSide.FRONT else Shown.VERSO
        factor = DISTANCE_FACTOR[placed.distance]
    weights = (0.0, 0.0, 0.0)
    if layer.grade == UNKNOWN_BOARD:
        # Of one kind of test the newest counts: the same test again is no new evidence.
        newest = {test.test: test.result for test in layer.tests}
        told = board_weights(framed_when(layer, package), newest.items())
        weights = (float(told[0]), float(told[1]), float(told[2]))
    return _row(
        case,
        package,
        mechanism,
        layer.grade,
        name=layer.material or layer.role.value,
        key=layer.key,
        shown=shown,
        factor=factor,
        start=_later(layer.fitted_first_day, package.mounted_day),
        weights=weights,
    )


def _hold_row(case: Circumstances, package: PackageFacts, hold: HoldFacts) -> ComponentRow:
    life = hold_life_factor(
        hold.grade,
        count=_hinges_of_grade(package, hold.grade),
        width_mm=case.work.width_mm,
        covers_all=hold.covers_all,
    )
    box = BOX_HOLD_FACTOR if case.climate.use is PlaceUse.BOX else 1.0
    return _row(
        case,
        package,
        Mechanism.HOLD_FAILURE,
        hold.grade,
        name=hold.material or hold.grade,
        key=hold.key,
        shown=Shown.FRONT,
        factor=life * box,
        start=package.mounted_day,
    )


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
    return _row(
        case,
        package,
        Mechanism.ADHESIVE_AGEING,
        grade,
        name=hold.material or grade,
        key=hold.key,
        shown=Shown.VERSO if hold.covers_all else Shown.UNDER_HINGES,
        start=adhesive_clock_start(hold, package.mounted_day),
    )


def _remain_row(case: Circumstances, package: PackageFacts, index: int) -> ComponentRow | None:
    remain = package.remains[index]
    mechanism = case.figures.mechanism_of_layer(remain.grade) if remain.grade else None
    if remain.grade is None or mechanism is None:
        return None
    row = _row(
        case,
        package,
        mechanism,
        remain.grade,
        name=f"{remain.what} of an earlier mount",
        key=remain.key,
        shown=Shown.VERSO if remain.covers_all else Shown.UNDER_HINGES,
        start=remain.since_day if remain.since_day is not None else package.mounted_day,
    )
    return replace(row, is_of_package=False)


def _accident_row(case: Circumstances, package: PackageFacts) -> ComponentRow:
    # A plan without glazing or frame hangs nowhere yet: an accident dates its look,
    # and is no part of the chance by which the plan is judged.
    is_framed = any(layer.role in _FRAMED for layer in package.layers)
    row = _row(
        case,
        package,
        Mechanism.ACCIDENT,
        ACCIDENT_GRADE[case.climate.use],
        name="the place",
        key=None,
        shown=Shown.FRONT,
        start=package.mounted_day,
    )
    return replace(row, is_in_chance=package.is_recorded or is_framed)


def _later(one: int | None, other: int | None) -> int | None:
    days = [day for day in (one, other) if day is not None]
    return max(days) if days else None


def _row(
    case: Circumstances,
    package: PackageFacts,
    mechanism: Mechanism,
    grade: str,
    *,
    name: str,
    key: Key,
    shown: Shown,
    start: int | None,
    factor: float = 1.0,
    weights: tuple[float, float, float] = (0.0, 0.0, 0.0),
) -> ComponentRow:
    figure = case.figures.figure(mechanism, grade)
    # The three medians of an unknown board stand fixed; at a distance its clock runs slower.
    slower = factor if figure.median is None else 1.0
    rate = _rate(figure.clock, case.climate) / slower
    begun = case.today if start is None else start
    seen = case.seen.day_for(mechanism, shown)
    return ComponentRow(
        mechanism=mechanism,
        grade=grade,
        name=name,
        key=key,
        shown=shown,
        median=np.nan if figure.median is None else figure.median * factor,
        shape=np.nan if figure.shape is None else figure.shape,
        theta=1.0 if grade in UNKNOWN_GRADES else case.experience.get((mechanism, grade), 1.0),
        severity=figure.severity,
        rate_per_year=rate,
        clock_seen=0.0 if seen is None else _elapsed(case, figure.clock, begun, seen) / slower,
        clock_now=_elapsed(case, figure.clock, begun, case.today) / slower,
        weights=weights,
        begun_day=begun,
        can_be_seen=not (shown is Shown.VERSO and is_stuck_down_all_over(package)),
    )


def _elapsed(case: Circumstances, clock: Clock, begun: int, until: int) -> float:
    """Return the years a clock has run between two days, in each place at its own rate."""
    elapsed, start = 0.0, begun
    for last_day, climate in case.past:
        end = min(until, last_day)
        if end > start:
            elapsed += _rate(clock, climate) * years_between(start, end)
            start = end
    if until > start:
        elapsed += _rate(clock, case.climate) * years_between(start, until)
    return elapsed


@lru_cache
def _rate(clock: Clock, climate: ClimateFacts) -> float:
    if clock is Clock.CALENDAR:
        return 1.0
    energy = PAPER_J_PER_MOL if clock is Clock.PAPER else ADHESIVE_J_PER_MOL
    return float(
        ageing_rate(climate.temperature_c, climate.rh_percent, activation_j_per_mol=energy)
    )


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
