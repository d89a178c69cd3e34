"""What may an unknown board be, and what does a test at the bench change?

An unknown board is one of three: groundwood, white-core never tested, or
alpha-cellulose or cotton. How likely each is depends on when it was framed.
Every bench test multiplies the three weights; they are made to add up to one
again, and none goes above 0.98, since a test at the bench can be wrong.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from models.errors import BadValue
from models.vocabulary import BenchTest, FramedWhen

Floats = NDArray[np.float64]

# Medians in years at 20 degC and 50 % RH, and shape: the three rows of the risk defaults.
MIXTURE_MEDIANS = np.array([7.0, 40.0, 150.0])
MIXTURE_SHAPE = 2.5

# Groundwood, white-core, alpha or cotton. Defaults of this project (judgement).
WEIGHTS: dict[FramedWhen, tuple[float, float, float]] = {
    FramedWhen.BEFORE_1980: (0.80, 0.15, 0.05),
    FramedWhen.FROM_1980_TO_2000: (0.55, 0.30, 0.15),
    FramedWhen.NO_IDEA: (0.55, 0.30, 0.15),
    FramedWhen.AFTER_2000: (0.35, 0.35, 0.30),
}
STILL_WHITE = "still white after 10 years"
TEST_FACTORS: dict[tuple[BenchTest, str], tuple[float, float, float]] = {
    (BenchTest.BEVEL_COLOUR, "brown"): (0.90, 0.25, 0.02),
    (BenchTest.BEVEL_COLOUR, STILL_WHITE): (0.10, 0.75, 0.98),
    (BenchTest.PH_PEN, "acid"): (0.85, 0.50, 0.03),
    (BenchTest.PH_PEN, "not acid"): (0.15, 0.50, 0.97),
    (BenchTest.LIGNIN_SPOT, "red"): (0.97, 0.10, 0.01),
    (BenchTest.LIGNIN_SPOT, "none"): (0.03, 0.90, 0.99),
}
SUREST = 0.98
_LN_2 = float(np.log(2.0))
_HARM_OF_ONE_YEAR = _LN_2 / MIXTURE_MEDIANS**MIXTURE_SHAPE


def board_weights(framed: FramedWhen, tests: Iterable[tuple[BenchTest, str]] = ()) -> Floats:
    """Return the three weights, adding up to 1. Raises BadValue for a result not on the list.

    A surface pH moves none: it says how acid a board is, and has no factor here.
    """
    weights = np.array(WEIGHTS[framed])
    for test in tests:
        if test[0] is BenchTest.SURFACE_PH:
            continue
        if test not in TEST_FACTORS:
            known = ", ".join(result for of, result in TEST_FACTORS if of is test[0])
            raise BadValue(f"{test[1]!r} is no result of the {test[0]}; it may be: {known}.")
        weights = weights * TEST_FACTORS[test]
    return _none_too_sure(weights / weights.sum())


def _none_too_sure(weights: Floats) -> Floats:
    surest = int(weights.argmax())
    if weights[surest] <= SUREST:
        return weights
    others = weights.sum() - weights[surest]
    capped = weights * ((1 - SUREST) / others)
    capped[surest] = SUREST
    return np.asarray(capped)


def mixture_hazard(clock_years: NDArray[np.float64] | float, weights: Floats) -> Floats:
    """Return the summed hazard of a board that may be any of three, at its ageing clock."""
    clock = np.maximum(np.asarray(clock_years, dtype=np.float64), 0.0)[..., np.newaxis]
    # One power for the three boards.
    harmed = clock**MIXTURE_SHAPE * _HARM_OF_ONE_YEAR
    # The least, which is that of the best board, is taken out first: at long clocks no board
    # survives to the digits of a float.
    least = harmed[..., -1:]
    survived = (weights * np.exp(least - harmed)).sum(axis=-1)
    return np.asarray(least[..., 0] - np.log(survived))
