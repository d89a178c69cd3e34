"""Which day is so many months, or so many years of a clock, from a given day?

Limits that people set count in calendar months and keep the end of the month:
a month after 31 January is the last day of February. What a formula gives in
years counts in years of 365.25 days and is rounded up to a whole day, so that
nothing is looked at before its day has come. Days are whole days since
1970-01-01.
"""

from calendar import monthrange
from datetime import date, timedelta
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from models.vocabulary import DAYS_PER_YEAR

_EPOCH = date(1970, 1, 1)

# 9999-12-31: a clock that takes longer than the calendar lasts is as good as never.
LAST_DAY = 2_932_896
# 0001-01-01.
FIRST_DAY = -719_162


def day_number(on: date) -> int:
    """Return whole days since 1970-01-01."""
    return (on - _EPOCH).days


def day_date(day: int) -> date:
    """Return the calendar day of a day number."""
    return _EPOCH + timedelta(days=day)


def add_months(day: int, months: int) -> int:
    """Return the day so many calendar months later, keeping the end of the month.

    Never before 0001-01-01 and never later than 9999-12-31.
    """
    start = day_date(day)
    year, month0 = divmod(start.year * 12 + start.month - 1 + months, 12)
    if year > date.max.year:
        return LAST_DAY
    if year < date.min.year:
        return FIRST_DAY
    last = monthrange(year, month0 + 1)[1]
    return day_number(date(year, month0 + 1, min(start.day, last)))


def add_years(day: int, years: float) -> int:
    """Return the day so many years of 365.25 days later, rounded up to a whole day."""
    return day + ceil(min(years * DAYS_PER_YEAR, LAST_DAY - day))


def years_between(first_day: int, last_day: int) -> float:
    """Return years of 365.25 days from one day to another."""
    return (last_day - first_day) / DAYS_PER_YEAR


def day_in_words(day: int) -> str:
    """Return a day as people write it: 5 March 2029."""
    on = day_date(day)
    return f"{on.day} {on:%B %Y}"


def months_later(day: NDArray[np.float64], months: ArrayLike) -> NDArray[np.float64]:
    """Return each day so many calendar months later, as `add_months`; NaN for no day."""
    if np.size(day) == np.size(months) == 1:
        # NumPy takes as long for one day as for a hundred: 0.04 ms, and a visit asks six times.
        return _one_later(day, int(np.asarray(months).item()))
    known = ~np.isnan(day)
    start = np.where(known, day, 0.0).astype(np.int64).astype("datetime64[D]")
    first = start.astype("datetime64[M]")
    then = first + np.asarray(months, dtype=np.int64)
    length = ((then + 1).astype("datetime64[D]") - then.astype("datetime64[D]")).astype(np.int64)
    into = np.minimum((start - first.astype("datetime64[D]")).astype(np.int64), length - 1)
    later = np.clip(then.astype("datetime64[D]").astype(np.int64) + into, FIRST_DAY, LAST_DAY)
    return np.where(known, later, np.nan)


def _one_later(day: NDArray[np.float64], months: int) -> NDArray[np.float64]:
    start = day.item()
    return np.full(day.shape, start if np.isnan(start) else add_months(int(start), months))


def years_later(day: NDArray[np.float64], years: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return each day so many years later, as `add_years`; NaN for no day or endless years."""
    ahead = np.ceil(np.minimum(years * DAYS_PER_YEAR, LAST_DAY - day))
    return np.where(np.isinf(years), np.nan, day + ahead)
