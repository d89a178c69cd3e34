"""What is one way to harm a work, and what do all ways of one work have in common?

A row names the mechanism and grade, the typical time at its distance, the clock
it runs by with its two readings, and the place at which the harm would show. It
says in a few words why it is there.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from models.rules.default_figures import Clock, DefaultFigures
from models.rules.package_facts import (
    ClimateFacts,
    Key,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.place_clock import elapsed, rate_ahead
from models.vocabulary import SEEN_FROM_OUTSIDE, UNKNOWN_GRADES, Mechanism, Shown

# What a new package, hold or place can mend; an accident and the paper's own age it cannot.
MENDABLE = frozenset(Mechanism) - {
    Mechanism.ACCIDENT,
    Mechanism.OWN_AGEING,
    Mechanism.FACE_MOUNT,
}

# Of a row that is no mixture.
NO_WEIGHTS = (0.0, 0.0, 0.0)

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
    # Why this row is there, in plain words; empty where its grade says it.
    because: str = ""

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


def clock_row(
    case: Circumstances,
    mechanism: Mechanism,
    grade: str,
    *,
    name: str,
    shown: Shown,
    start: int | None,
    key: Key = None,
    factor: float = 1.0,
    weights: tuple[float, float, float] = NO_WEIGHTS,
    can_be_seen: bool = True,
    because: str = "",
) -> ComponentRow:
    """Return a row whose clock started on the day `start`, or starts today where that is None.

    `factor` is what its distance, or its count, makes of the typical time.
    """
    figure = case.figures.figure(mechanism, grade)
    # The three medians of an unknown board stand fixed; at a distance its clock runs slower.
    slower = factor if figure.median is None else 1.0
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
        theta=theta(case, mechanism, grade),
        severity=figure.severity,
        rate_per_year=rate_ahead(figure.clock, case.climate) / slower,
        clock_seen=0.0 if seen is None else _elapsed(case, figure.clock, begun, seen) / slower,
        clock_now=_elapsed(case, figure.clock, begun, case.today) / slower,
        weights=weights,
        begun_day=begun,
        can_be_seen=can_be_seen,
        because=because,
    )


def theta(case: Circumstances, mechanism: Mechanism, grade: str) -> float:
    """Return the experience factor; what is unknown can teach nothing."""
    return 1.0 if grade in UNKNOWN_GRADES else case.experience.get((mechanism, grade), 1.0)


def _elapsed(case: Circumstances, clock: Clock, begun: int, until: int) -> float:
    return elapsed(clock, case.past, case.climate, begun, until)
