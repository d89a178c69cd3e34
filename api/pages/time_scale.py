"""Where on a drawing of years does a day stand?

Time runs from left to right in three pieces, each even in itself: the years before
anybody came to look, drawn together where they would leave too little room for the
rest; the years with visits; and, right of today, what is still to come. A day beyond
either end stands at that end.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from models.rules.calendar_days import add_years, day_date, day_number

# The years before the first visit take no more of the drawing than this share of its past.
MOST_BEFORE = 0.24
# What is to come is drawn for so many years at least and at most.
LEAST_AHEAD_YEARS, MOST_AHEAD_YEARS = 1.0, 8.0
# A past shorter than this is drawn as so long, so that a day is not a broad stripe.
LEAST_PAST_YEARS = 2.0
# Units between the names of two years, and the steps in which years are named.
APART = 46.0
# Nearer to another name, to the edge or to today than this a year is not named.
NAME_WIDTH = 38.0
STEPS = (1, 2, 5, 10, 20, 50, 100, 200)


@dataclass(frozen=True)
class YearMark:
    """The first of January of a year, and its name."""

    x: float
    name: str


@dataclass(frozen=True)
class TimeScale:
    """Days and where they stand; `days` and `places` rise together. `is_drawn_together`: see above.

    The last piece is what is to come; the one before it ends today.
    """

    days: tuple[int, ...]
    places: tuple[float, ...]
    is_drawn_together: bool

    @property
    def today_x(self) -> float:
        """Return where today stands."""
        return self.places[-2]

    @property
    def break_x(self) -> float | None:
        """Return where the years drawn together end; None where there are none."""
        return self.places[1] if self.is_drawn_together else None

    def x(self, day: int) -> float:
        """Return where a day stands, to a tenth of a unit."""
        held = min(max(day, self.days[0]), self.days[-1])
        for (first, last), (left, right) in zip(
            pairwise(self.days), pairwise(self.places), strict=True
        ):
            if held <= last:
                return round(left + (held - first) / (last - first) * (right - left), 1)
        return self.places[-1]

    def is_beyond(self, day: int) -> bool:
        """Say whether a day comes after the end of the drawing."""
        return day > self.days[-1]

    def years(self) -> tuple[YearMark, ...]:
        """Return the first of January of the years, named as closely as there is room."""
        marks = [mark for piece in range(len(self.days) - 1) for mark in self._named(piece)]
        far_enough: list[YearMark] = []
        for mark in marks:
            after = mark.x if not far_enough else mark.x - far_enough[-1].x
            is_whole = mark.x <= self.places[-1] - NAME_WIDTH / 2
            if is_whole and after >= NAME_WIDTH and abs(mark.x - self.today_x) >= NAME_WIDTH:
                far_enough.append(mark)
        return tuple(far_enough)

    def _named(self, piece: int) -> list[YearMark]:
        first, last = self.days[piece], self.days[piece + 1]
        units_a_day = (self.places[piece + 1] - self.places[piece]) / (last - first)
        step = next((s for s in STEPS if s * 365.25 * units_a_day >= APART), STEPS[-1])
        begin, end = day_date(first).year + 1, day_date(last).year
        return [
            YearMark(self.x(day_number(date(year, 1, 1))), str(year))
            for year in range(begin + -begin % step, end + 1, step)
        ]


def time_scale(
    known: Sequence[int], seen: Sequence[int], ahead: Sequence[int], *, today: int, width: float
) -> TimeScale:
    """Return the scale for what is known of the past, the days of visits, and the days to come.

    `width` in units; the part to come takes a fifth of it.
    """
    past = [day for day in (*known, *seen) if day < today]
    first = min([*past, add_years(today, -LEAST_PAST_YEARS)])
    begun = min((day for day in seen if day < today), default=first)
    now_x = round(width * 0.8, 1)
    end = max([*ahead, add_years(today, LEAST_AHEAD_YEARS)])
    end = min(end, add_years(today, MOST_AHEAD_YEARS))
    if (begun - first) / (today - first) <= MOST_BEFORE:
        return TimeScale((first, today, end), (0.0, now_x, width), is_drawn_together=False)
    before = round(now_x * MOST_BEFORE, 1)
    days, places = (first, begun, today, end), (0.0, before, now_x, width)
    return TimeScale(days, places, is_drawn_together=True)
