"""Which work gains most by a remat, and what does the remat itself put at risk?

What a work has *still to lose* is summed over the ways in which its package can
harm it and the places where that would show: the weight of the harm, times the
chance of it within five years where the sheet is still clean, or three tenths of
it where the sheet is marked already, less the more it is marked. The clean ones
come first: they have everything to lose.

A remat takes away what the proposed package would not do to it, and puts the
work itself at risk by opening the package and undoing holds. What is left is
weighed by how easily the work could be had again and by its value: *risk
reduced*, by which remats are ranked. Negative: better left alone.

An accident, the paper's own age, a face mount and light are left out: no package
mends them. Of one way to harm only the worst layer at one place counts.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.risk.hazard import Components, Floats, chance, hazard_ahead, summed_hazard
from models.rules.package_components import MENDABLE, ComponentRow, as_arrays
from models.rules.package_facts import FindingFacts
from models.vocabulary import Freeing, Replaceability, Severity, Surface, UrgentSign, ValueBand

# All figures below are defaults of this project (judgement); shares of 1.
WINDOW_YEARS = 5.0
# What a mark can still grow by, against what a clean sheet can lose.
SHARE_OF_A_MARK = 0.3
LEFT_TO_LOSE = {Severity.SLIGHT: 1.0, Severity.MODERATE: 0.6, Severity.SEVERE: 0.3}
WHEN_GROWN = 1.5

RISK_OF_UNFRAMING = 0.003
RISK_OF_UNFRAMING_FRIABLE = 0.03
RISK_OF_UNFRAMING_STUCK = 0.10
RISK_OF_UNDOING = {
    Freeing.NO_ADHESIVE: 0.002,
    Freeing.WATER: 0.02,
    Freeing.SOLVENT_OR_HEAT: 0.06,
    Freeing.NOT_WITHOUT_HARM: 0.40,
}

WEIGHT_OF_REPLACEABILITY = {
    Replaceability.UNIQUE: 1.0,
    Replaceability.SMALL_EDITION: 0.6,
    Replaceability.REPLACEABLE: 0.2,
}
WEIGHT_OF_VALUE = {ValueBand.LOW: 0.5, ValueBand.NORMAL: 1.0, ValueBand.HIGH: 2.0}

# A work that sticks to its glazing, or has slipped, is no longer only lifted out.
STUCK_OR_SLIPPED = frozenset(
    {UrgentSign.FRIABLE_ON_GLAZING, UrgentSign.GELATIN_ON_GLAZING, UrgentSign.SLIPPED_SHEET}
)


@dataclass(frozen=True)
class StillToLose:
    """What each work has still to lose, and its chance of new harm within five years.

    `leading` is, per work, the row that has most of it; None where there is nothing.
    """

    loss: Floats
    chance_new_5y: Floats
    leading: tuple[ComponentRow | None, ...]


def still_to_lose(
    rows_of_works: Sequence[Sequence[ComponentRow]],
    findings_of_works: Sequence[Sequence[FindingFacts]] | None = None,
) -> StillToLose:
    """Return what each of these works has still to lose in its package.

    Without findings nothing is marked by this package that nobody saw.
    """
    mendable = [tuple(row for row in rows if row.mechanism in MENDABLE) for rows in rows_of_works]
    rows = as_arrays(mendable)
    flat = [row for of_work in mendable for row in of_work]
    if not flat:
        nothing = np.zeros(len(mendable))
        return StillToLose(nothing, nothing, (None,) * len(mendable))
    found = findings_of_works or [()] * len(mendable)
    growing = np.array(
        [
            _left_of(row, its)
            for of_work, its in zip(mendable, found, strict=True)
            for row in of_work
        ]
    )
    lost = _loss_of_rows(rows, np.array([row.severity for row in flat]), growing)
    worst = np.maximum.reduceat(lost, rows.group_starts)
    return StillToLose(
        loss=_sum_of_works(rows, worst),
        chance_new_5y=chance(hazard_ahead(rows, WINDOW_YEARS)),
        leading=_leading(rows, lost, flat),
    )


def risk_of_unframing(surface: Surface, signs: Iterable[UrgentSign | None]) -> float:
    """Return what opening the package puts at risk, before any hold is undone."""
    if STUCK_OR_SLIPPED.intersection(signs):
        return RISK_OF_UNFRAMING_STUCK
    return RISK_OF_UNFRAMING_FRIABLE if surface is Surface.FRIABLE else RISK_OF_UNFRAMING


def risk_of_the_work_itself(
    surface: Surface, signs: Iterable[UrgentSign | None], undone: Iterable[Freeing]
) -> float:
    """Return what a remat puts at risk: the unframing, and each hold that is really undone."""
    return risk_of_unframing(surface, signs) + sum(RISK_OF_UNDOING[freeing] for freeing in undone)


def weight_of_work(replaceability: Replaceability, value_band: ValueBand) -> float:
    """Return how much a harm to this work weighs."""
    return WEIGHT_OF_REPLACEABILITY[replaceability] * WEIGHT_OF_VALUE[value_band]


def risk_reduced(
    *, as_it_is: ArrayLike, proposed: ArrayLike, of_the_work: ArrayLike, weight: ArrayLike
) -> Floats:
    """Return by how much remats reduce the risk to works; negative where they add to it."""
    gained = np.asarray(as_it_is, dtype=np.float64) - np.asarray(proposed) - np.asarray(of_the_work)
    return np.asarray(gained * np.asarray(weight), dtype=np.float64)


def _left_of(row: ComponentRow, findings: Sequence[FindingFacts]) -> float:
    """Return what is left to lose where this row has marked the sheet; NaN where it has not."""
    left = [
        LEFT_TO_LOSE[finding.severity] * (WHEN_GROWN if finding.is_grown else 1.0)
        for finding in findings
        if _is_mark_of(row, finding)
    ]
    return min(left, default=np.nan)


def _is_mark_of(row: ComponentRow, finding: FindingFacts) -> bool:
    """Say whether a finding is what this layer did.

    An earlier mount's mark is none of its own, nor one that was there before the layer.
    """
    return (
        finding.mechanism is row.mechanism
        and finding.shows_at is row.shown
        and finding.is_of_this_mount
        and finding.is_still_there
        and finding.grade in (None, row.grade)
        and (finding.first_seen_day is None or finding.first_seen_day > row.begun_day)
    )


def _loss_of_rows(rows: Components, severity: Floats, growing: Floats) -> Floats:
    """Return the loss by each row, as if it alone were at its place.

    What is marked at a place is marked for every layer there: the worst decides.
    """
    now = summed_hazard(rows, rows.clock_now)
    ahead = summed_hazard(rows, rows.clock_now + rows.rate_per_year * WINDOW_YEARS) - now
    unseen = _worst_of_group(rows, np.maximum(now - rows.hazard_seen, 0.0))
    recorded = _least_of_group(rows, growing)
    marked = np.where(np.isnan(recorded), chance(unseen), 1.0)
    left = np.where(np.isnan(recorded), 1.0, recorded)
    return severity * ((1 - marked) * chance(ahead) + marked * SHARE_OF_A_MARK * left)


def _sum_of_works(rows: Components, of_groups: Floats) -> Floats:
    sums = np.bincount(rows.work_of_group, weights=of_groups, minlength=rows.works)
    return np.asarray(sums, dtype=np.float64)


def _worst_of_group(rows: Components, values: Floats) -> Floats:
    return np.asarray(np.maximum.reduceat(values, rows.group_starts)[rows.group])


def _least_of_group(rows: Components, values: Floats) -> Floats:
    """Return the least known value of each row's group; NaN where none is known."""
    return np.asarray(np.fmin.reduceat(values, rows.group_starts)[rows.group])


def _leading(
    rows: Components, lost: Floats, flat: Sequence[ComponentRow]
) -> tuple[ComponentRow | None, ...]:
    """Return the first row of each work that loses most."""
    first: NDArray[np.int64] = np.searchsorted(rows.work, np.arange(rows.works + 1))
    leading: list[ComponentRow | None] = []
    for start, end in pairwise(first):
        most = start + int(lost[start:end].argmax()) if end > start else None
        leading.append(flat[most] if most is not None and lost[most] > 0 else None)
    return tuple(leading)
