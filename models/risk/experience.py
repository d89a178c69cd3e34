"""What do a collection's own mounts say about a material, beside the default figure?

Of every mechanism and grade: how many mounts were found harmed, against how many
the default figure expected. The factor is (4 + harmed) / (4 + expected): with few
mounts it stays near 1, with many it is what they say.

A mount whose place was seen and clear exposes the hazard up to its clock then;
one whose harm was seen to be new or grown exposes the hazard up to that and
counts as harmed. Harm of unknown age began at some time before it was found:
its exposure is what it would be expected to be, 1/θ - H/(e^(θH) - 1), which
rests on the factor itself; the factor is first worked out as if such harm had
begun half-way, and then three times anew. A finding that belongs to an earlier
mount counts as clear here.

No mount exposes more than 2, so that a few very old ones do not decide alone.
Mounts of assumed dates and unknown grades say nothing.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.vocabulary import UNKNOWN_GRADES, Found, Mechanism

Floats = NDArray[np.float64]

# Defaults of this project (judgement): weight of the default figure in mounts, the most one
# mount may say (a hazard, no unit), passes, and the fewest mounts worth showing.
PRIOR_MOUNTS = 4.0
MOST_OF_ONE_MOUNT = 2.0
PASSES = 3
FEWEST_SHOWN = 5
# Both ends of the 90 % interval, as shares of 1.
_INTERVAL = (0.05, 0.95)


@dataclass(frozen=True, slots=True)
class MountSeen:
    """One mount at one place: `hazard` is that of the default figure up to what was seen."""

    mechanism: Mechanism
    grade: str
    hazard: float
    found: Found
    date_is_assumed: bool = False


@dataclass(frozen=True)
class ExperienceFactor:
    """What multiplies the default hazard, its 90 % interval, and on how much it rests."""

    factor: float
    low: float
    high: float
    mounts: int
    harmed: int
    expected: float

    @property
    def is_shown(self) -> bool:
        """Say whether enough mounts speak for it to be shown as evidence."""
        return self.mounts >= FEWEST_SHOWN


def experience_factors(
    mounts: Iterable[MountSeen], prior_mounts: float = PRIOR_MOUNTS
) -> dict[tuple[Mechanism, str], ExperienceFactor]:
    """Return the factor of every mechanism and known grade that dated mounts speak about.

    `prior_mounts` is the weight of the default figure, in mounts.
    """
    by_grade: dict[tuple[Mechanism, str], list[MountSeen]] = {}
    for mount in mounts:
        if mount.grade not in UNKNOWN_GRADES and not mount.date_is_assumed:
            by_grade.setdefault((mount.mechanism, mount.grade), []).append(mount)
    return {of: experience_factor(those, prior_mounts) for of, those in by_grade.items()}


def experience_factor(
    mounts: Iterable[MountSeen], prior_mounts: float = PRIOR_MOUNTS
) -> ExperienceFactor:
    """Return the factor of the mounts of one mechanism and grade."""
    hazards: dict[Found, list[float]] = {found: [] for found in Found}
    for mount in mounts:
        hazards[mount.found].append(min(mount.hazard, MOST_OF_ONE_MOUNT))
    unknown_age = np.array(hazards[Found.HARMED_AT_UNKNOWN_AGE], dtype=np.float64)
    dated = sum(sum(hazards[found]) for found in Found if found is not Found.HARMED_AT_UNKNOWN_AGE)
    harmed = len(unknown_age) + len(hazards[Found.HARMED])
    expected = _expected(dated, harmed, unknown_age, prior_mounts)
    low, high = (
        gamma_quantile(share, prior_mounts + harmed) / (prior_mounts + expected)
        for share in _INTERVAL
    )
    return ExperienceFactor(
        factor=(prior_mounts + harmed) / (prior_mounts + expected),
        low=low,
        high=high,
        mounts=sum(map(len, hazards.values())),
        harmed=harmed,
        expected=expected,
    )


def _expected(dated: float, harmed: int, unknown_age: Floats, prior_mounts: float) -> float:
    expected = dated + float(unknown_age.sum()) / 2
    for _ in range(PASSES):
        factor = (prior_mounts + harmed) / (prior_mounts + expected)
        expected = dated + float(_exposure_before_found(unknown_age, factor).sum())
    return expected


def _exposure_before_found(hazard: Floats, factor: float) -> Floats:
    """Return the mean exposure at which harm began, given that it began before it was found."""
    # Below a millionth the two terms cancel; their difference is then half the hazard.
    seen = factor * hazard > 1e-6
    within = np.where(seen, hazard, 1.0)
    return np.where(seen, 1 / factor - within / np.expm1(factor * within), hazard / 2)


def gamma_quantile(share: float, shape: float) -> float:
    """Return the value below which this share (0 to 1) of a gamma distribution of scale 1 lies.

    By halving the interval, to the precision of a double; for shapes of 1 and more.
    """
    low, high = 0.0, shape + 20 * math.sqrt(shape) + 20
    while (middle := (low + high) / 2) not in (low, high):
        if _gamma_below(middle, shape) < share:
            low = middle
        else:
            high = middle
    return high


def _gamma_below(value: float, shape: float) -> float:
    """Return the regularised lower incomplete gamma function by its power series."""
    term = total = math.exp(shape * math.log(value) - value - math.lgamma(shape + 1))
    step = shape
    while term > total * 1e-17:
        step += 1
        term *= value / step
        total += term
    return total
