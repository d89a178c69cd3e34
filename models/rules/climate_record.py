"""How far have the clocks run in a place whose climate was measured, and how fast do they run?

A record is the days from the first to the last on which a logger read, as running totals
of each clock: what ran between two days is a difference. The part of a day that was not
read is filled at the rate of the climate that the place is said to have, and so is the
time before and after the record. Ahead, a clock runs as in the last whole years of the
record, three at most; a record of less than a year says nothing of the years to come.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from models.rules.default_figures import Clock
from models.vocabulary import DAYS_PER_YEAR

Floats = NDArray[np.float64]

MOST_YEARS = 3
DAMP_CLOCKS = (Clock.DAMP, Clock.DAMP_FROM_60)


@dataclass(frozen=True, kw_only=True, eq=False)
class ClimateRecord:
    """The measured days of a place.

    `totals` holds for each clock that depends on climate what it had run at the beginning of
    each day and, at last, at the end: days at 20 degC and 50 %, or germinations. Light in lux
    hours likewise. `read_days` is how many days of it were really read.
    """

    place: int
    first_day: int
    totals: Mapping[Clock, Floats]
    lux_hours: Floats
    ever_damp: frozenset[Clock] = frozenset()
    read_days: float = 0.0
    light_read_days: float = 0.0

    @property
    def day_count(self) -> int:
        """How many days it spans."""
        return len(self.lux_hours) - 1

    @property
    def end_day(self) -> int:
        """The first day after it."""
        return self.first_day + self.day_count

    def within(self, start: int, end: int) -> tuple[int, int] | None:
        """Return the part of a span of days that lies in the record, None for none."""
        begun, ended = max(start, self.first_day), min(end, self.end_day)
        return (begun, ended) if ended > begun else None

    def ran(self, clock: Clock, start: int, end: int) -> float:
        """Return how many days of its own, or germinations, a clock ran in a span within it."""
        totals = self.totals[clock]
        return float(totals[end - self.first_day] - totals[start - self.first_day])

    def lit(self, start: int, end: int) -> float:
        """Return the lux hours of a span within it."""
        return float(self.lux_hours[end - self.first_day] - self.lux_hours[start - self.first_day])

    def totals_between(self, clock: Clock, start: int, end: int) -> Floats:
        """Return what a clock had run at the beginning of each day of a span, and at its end."""
        return self.totals[clock][start - self.first_day : end - self.first_day + 1]

    @property
    def whole_years(self) -> int:
        """How many of its last years speak for the years to come."""
        # A year of 365 days is whole as well.
        return min(MOST_YEARS, int((self.day_count + 1) / DAYS_PER_YEAR))

    def rate_ahead(self, clock: Clock) -> float | None:
        """Return a clock's own years (or germinations) a year from now on; None: not a year long.

        A damp clock runs on or stands: what is dry later undoes no harm.
        """
        years = self.whole_years
        if years == 0:
            return None
        days = min(round(years * DAYS_PER_YEAR), self.day_count)
        ran = self.ran(clock, self.end_day - days, self.end_day)
        if clock in DAMP_CLOCKS:
            return max(0.0, ran) / days * DAYS_PER_YEAR
        return ran / days

    def lux_hours_a_year(self) -> float | None:
        """Return the light of a year to come, as of the last whole years; None: not a year long."""
        years = self.whole_years
        if years == 0 or self.light_read_days == 0:
            return None
        days = min(round(years * DAYS_PER_YEAR), self.day_count)
        return self.lit(self.end_day - days, self.end_day) / days * DAYS_PER_YEAR


def record_of_days(
    place: int,
    first_day: int,
    days: Mapping[str, Floats],
    *,
    assumed_per_day: Mapping[Clock, float],
    assumed_lux_hours_per_day: float,
) -> ClimateRecord:
    """Return the record of a place whose days are stored, each column by its name.

    What was not read of a day runs at the assumed rates.
    """
    unread = 1 - days["read_share"]
    columns = {
        Clock.PAPER: "paper_days",
        Clock.ADHESIVE: "adhesive_days",
        Clock.DAMP: "damp",
        Clock.DAMP_FROM_60: "damp_from_60",
    }
    dark = 1 - days["light_read_share"]
    each = {clock: days[name] + unread * assumed_per_day[clock] for clock, name in columns.items()}
    return ClimateRecord(
        place=place,
        first_day=first_day,
        totals={clock: _running(per_day) for clock, per_day in each.items()},
        ever_damp=frozenset(clock for clock in DAMP_CLOCKS if (each[clock] > 0).any()),
        lux_hours=_running(days["lux_hours"] + dark * assumed_lux_hours_per_day),
        read_days=float(days["read_share"].sum()),
        light_read_days=float(days["light_read_share"].sum()),
    )


def _running(each: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(each)])
