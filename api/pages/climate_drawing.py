"""How is a record of climate drawn: two lines over time, with their holes, bands and scales?

Numbers for attributes of SVG alone; colours come by class. Each line goes through the lowest
and the highest of every part, so that no peak is lost, and begins anew after a hole.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from api.template_filters import MONTHS
from models.rules.climate_days import DAY_S
from models.rules.climate_summary import Part, Spread

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 760, 190, 52, 8, 10, 24
_EPOCH = date(1970, 1, 1)
# Days of a span from which on only its months, or every seventh day, are named.
_BY_MONTH_FROM, _BY_WEEK_FROM = 70, 15
_MOST_NAMES = 13


@dataclass(frozen=True)
class Mark:
    """A line of a scale, where it stands and what is written at it."""

    at: float
    text: str


@dataclass(frozen=True)
class Panel:
    """One drawing: the path of its line, the band, the scales."""

    name: str
    unit: str
    path: str
    band_top: float
    band_height: float
    across: tuple[Mark, ...]
    up: tuple[Mark, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = HEIGHT - BOTTOM


def panel(
    name: str,
    unit: str,
    parts: Sequence[Part],
    which: int,
    spread: Spread,
    days: tuple[int, int],
    step: float,
) -> Panel:
    """Return the drawing of one of the two figures of the parts over a span of days."""
    low = math.floor(spread.lowest / step) * step
    high = max(math.ceil(spread.highest / step) * step, low + step)
    seconds = days[0] * DAY_S, (days[1] + 1) * DAY_S

    def across(second: float) -> float:
        share = (second - seconds[0]) / (seconds[1] - seconds[0])
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    def up(value: float) -> float:
        return round(HEIGHT - BOTTOM - (value - low) / (high - low) * (HEIGHT - TOP - BOTTOM), 1)

    steps = [
        f"{'M' if part.after_hole else 'L'}{across(part.second)} {up(part.highs[which])}"
        f"L{across(part.second)} {up(part.lows[which])}"
        for part in parts
    ]
    band_top = up(spread.band_high)
    return Panel(
        name=name,
        unit=unit,
        path="".join(steps),
        band_top=band_top,
        band_height=round(up(spread.band_low) - band_top, 1),
        across=tuple(Mark(across(day * DAY_S), text) for day, text in _named_days(*days)),
        up=tuple(Mark(up(value), f"{value:g}") for value in _scale(low, high, step)),
    )


def _scale(low: float, high: float, step: float) -> Iterator[float]:
    apart = step * max(1, round((high - low) / step / 5))
    value = low
    while value <= high:
        yield value
        value += apart


def _named_days(first: int, last: int) -> list[tuple[int, str]]:
    span = last - first + 1
    if span >= _BY_MONTH_FROM:
        named = [
            (day, MONTHS[on.month - 1][:3] + (f" {on.year}" if on.month == 1 else ""))
            for day, on in _days(first, last)
            if on.day == 1
        ]
    else:
        apart = 7 if span >= _BY_WEEK_FROM else 1
        named = [
            (day, f"{on.day} {MONTHS[on.month - 1][:3]}")
            for day, on in list(_days(first, last))[::apart]
        ]
    return named[:: -(-len(named) // _MOST_NAMES) or 1]


def _days(first: int, last: int) -> Iterator[tuple[int, date]]:
    return ((day, _EPOCH + timedelta(days=day)) for day in range(first, last + 1))
