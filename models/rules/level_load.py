"""How is the work of the months ahead spread, so that no month asks more than can be done?

Only forward in time: a date may be moved earlier, never past the day on which the
chance reaches what the work may be exposed to, or its limit by calendar, and never
before its own earliest day or tomorrow. The months are gone through from the last to the
first. Of a month that holds more than the house can do, those stay that could
least be done earlier; the others go to the month before. That leaves no month too
full that could have been emptied. What is due this month already, or can be moved
nowhere, stays, and is counted as too much.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from models.rules.calendar_days import add_months, day_date, day_number

WEEKS_A_MONTH = 365.25 / 12 / 7


@dataclass(frozen=True, kw_only=True)
class Load:
    """One date of one work: the latest day is the one by the rules. `fixed`: it is not moved."""

    work: int
    latest_day: int
    earliest_day: int
    is_fixed: bool = False


@dataclass(frozen=True)
class Move:
    """One date moved earlier."""

    work: int
    from_day: int
    to_day: int


@dataclass(frozen=True)
class Levelled:
    """What is moved, and how many dates a month holds before and after, the current one first."""

    moves: tuple[Move, ...]
    before: tuple[int, ...]
    after: tuple[int, ...]


def month_capacity(unframings_a_week: float) -> int:
    """Return how many works a month can hold; at least one."""
    return max(1, floor(unframings_a_week * WEEKS_A_MONTH))


def level_load(loads: Sequence[Load], *, today: int, months: int, capacity: int) -> Levelled:
    """Return the moves that keep every month within its capacity, as far as that can be.

    `months` ahead are looked at, the current one included; later dates stay.
    """
    starts = _starts(today, months)
    by_month: dict[int, list[Load]] = defaultdict(list)
    for load in loads:
        if load.latest_day < starts[-1]:
            by_month[_month(load.latest_day, starts)].append(load)
    before = tuple(len(by_month[month]) for month in range(months))
    kept: dict[int, list[Load]] = {}
    carried: list[Load] = []
    for month in reversed(range(months)):
        here = [*by_month[month], *carried]
        stuck = [one for one in here if _is_stuck(one, month, today, starts)]
        free = [one for one in here if not _is_stuck(one, month, today, starts)]
        # Whoever can least be done earlier stays.
        free.sort(key=lambda one: (-one.earliest_day, one.latest_day, one.work))
        room = max(0, capacity - len(stuck)) if month else len(free)
        kept[month], carried = [*stuck, *free[:room]], free[room:]
    moves = [move for month in range(months) for move in _moves(kept[month], month, today, starts)]
    after = tuple(len(kept[month]) for month in range(months))
    return Levelled(tuple(sorted(moves, key=lambda move: (move.to_day, move.work))), before, after)


def _moves(kept: Sequence[Load], month: int, today: int, starts: Sequence[int]) -> list[Move]:
    """Return the moves into a month, spread over its days."""
    first, end = max(starts[month], today + 1), starts[month + 1]
    moved = [one for one in kept if _month(one.latest_day, starts) != month]
    step = (end - first) / (len(moved) + 1)
    return [
        Move(
            one.work, one.latest_day, min(max(first + ceil(nth * step), one.earliest_day), end - 1)
        )
        for nth, one in enumerate(moved, 1)
    ]


def _is_stuck(load: Load, month: int, today: int, starts: Sequence[int]) -> bool:
    """Say whether a load cannot go to the month before: it is fixed, or not before this one."""
    return load.is_fixed or _month(max(load.earliest_day, today + 1), starts) >= month


def _month(day: int, starts: Sequence[int]) -> int:
    """Return the month of a day; what is past belongs to the current one."""
    return next((n for n in range(len(starts) - 1) if day < starts[n + 1]), len(starts) - 1)


def _starts(today: int, months: int) -> list[int]:
    first = day_number(day_date(today).replace(day=1))
    return [add_months(first, n) for n in range(months + 1)]
