"""How fast does mould come on in this air, how fast does the danger run back, how far is it?

The days until growth shows on the most susceptible materials at 25 degC, as read from the
published curve (Canadian Conservation Institute; Ayerst 1969): three years at 65 % RH, 100
days at 70 %, 37 at 75 %, 10 at 80 %, 2 at 90 % and above, log-linear between; twice as many
for each 10 degC below 25. Nothing grows below 2 or above 45 degC. In drier air the danger
runs back by a thirtieth a day (default of this project).

Foxing is counted from 60 %: the line between 65 and 70 % is continued down to there (11 990
days at 60 %), which no curve says: default of this project.

Progress over days, with S(t) their sum from the first day s on, is
D(t) = max(D0 + S(t) - S(s), S(t) - min S): never below nothing, and no loop over days.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.errors import OutsideKnownRange

Floats = NDArray[np.float64]

MOULD_FROM_PERCENT = 65.0
FOXING_FROM_PERCENT = 60.0
# A share of one germination a day, below the threshold.
RUNS_BACK_PER_DAY = 1 / 30
# % RH, days to visible growth at 25 degC; the first is the line of the next two continued.
_CURVE_RH = np.array([60.0, 65.0, 70.0, 75.0, 80.0, 90.0])
_CURVE_DAYS = np.array([1095.0**2 / 100, 1095.0, 100.0, 37.0, 10.0, 2.0])
_LOG_DAYS = np.log(_CURVE_DAYS)
_BEST_C, _DOUBLES_PER_C = 25.0, 10.0
_LIVES_BETWEEN_C = (2.0, 45.0)


def days_to_growth(
    temperature_c: ArrayLike, rh_percent: ArrayLike, *, from_percent: float = MOULD_FROM_PERCENT
) -> Floats:
    """Return the days until growth shows if this climate stays; infinity where none comes.

    A missing reading (NaN) stays missing. Raises OutsideKnownRange beyond 0…100 % RH.
    """
    temperature = np.asarray(temperature_c, dtype=np.float64)
    humidity = np.asarray(rh_percent, dtype=np.float64)
    if ((humidity < 0) | (humidity > 100)).any():
        raise OutsideKnownRange("Relative humidity lies between 0 and 100 %.")
    days = np.exp(np.interp(humidity, _CURVE_RH, _LOG_DAYS))
    days = days * 2 ** (np.maximum(_BEST_C - temperature, 0) / _DOUBLES_PER_C)
    low, high = _LIVES_BETWEEN_C
    none = (humidity < from_percent) | (temperature < low) | (temperature > high)
    return np.asarray(np.where(none, np.inf, days))


def damp_rate_per_day(
    temperature_c: ArrayLike, rh_percent: ArrayLike, *, from_percent: float = MOULD_FROM_PERCENT
) -> Floats:
    """Return what share of one germination a day in this climate adds; below 0 it runs back.

    From the threshold on it never runs back, even where it is too cold or hot to grow.
    """
    humidity = np.asarray(rh_percent, dtype=np.float64)
    grows = 1 / days_to_growth(temperature_c, humidity, from_percent=from_percent)
    return np.asarray(np.where(humidity < from_percent, -RUNS_BACK_PER_DAY, grows))


def progress(per_day: ArrayLike, start: float = 0.0, clean_after: Sequence[int] = ()) -> Floats:
    """Return the germinations reached at the start and after each day, one value more than days.

    `per_day` are germinations a day in order, `start` those at the first, and
    `clean_after` the numbers of days (0: at the start) after which somebody saw
    that nothing grew: from there it begins anew. A missing day (NaN) moves nothing.
    """
    days = np.nan_to_num(np.asarray(per_day, dtype=np.float64))
    ends = [*sorted(set(clean_after)), len(days)]
    reached = _without_cleaning(days, start)
    for first, end in pairwise(ends):
        reached[first : end + 1] = _without_cleaning(days[first:end], 0.0)
    return reached


def _without_cleaning(days: Floats, start: float) -> Floats:
    summed = np.concatenate([[0.0], np.cumsum(days)])
    return np.asarray(np.maximum(start + summed, summed - np.minimum.accumulate(summed)))
