"""How far has a clock run in the places where a work was, and how fast does it run now?

Every clock of a mechanism is run here and nowhere else. A clock of ageing runs at
the rate of each place for the time spent there. A damp clock goes forward in
damp places and back in dry ones, so three readings of it count: when its place
was last seen, now, and the highest in between, since mould that grew and dried
is there to be seen. It begins anew when somebody looked and found nothing grown.

Where a logger read, the clocks run as it read, day by day. Before and after that, and
where none read, a place has one assumed climate all through the year; its air swings ten percent
to either side of it. The damp clock of the future only stands or runs forward:
what is dry later undoes no harm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from models.risk.ageing import ADHESIVE_J_PER_MOL, PAPER_J_PER_MOL, ageing_rate
from models.risk.damp import (
    FOXING_FROM_PERCENT,
    MOULD_FROM_PERCENT,
    damp_rate_per_day,
    progress,
)
from models.rules.calendar_days import years_between
from models.rules.default_figures import Clock
from models.rules.package_facts import ClimateFacts
from models.vocabulary import DAYS_PER_YEAR, PlaceUse

# No reading says how far the air of an assumed place swings: ten percent to either side, what
# loose specifications of museum climates allow. Default of this project (judgement).
ASSUMED_SWING_RH_PERCENT = 10.0

# The climates of the places before, each with the last day on which it held, oldest first.
PastClimates = Sequence[tuple[int, ClimateFacts]]

ACTIVATION_J_PER_MOL = {Clock.PAPER: PAPER_J_PER_MOL, Clock.ADHESIVE: ADHESIVE_J_PER_MOL}
DAMP_FROM_PERCENT = {
    Clock.DAMP: MOULD_FROM_PERCENT,
    Clock.DAMP_FROM_60: FOXING_FROM_PERCENT,
}


@dataclass(frozen=True)
class DampReading:
    """A damp clock in germinations: when last seen, now, and the highest since it was seen."""

    seen: float
    now: float
    peak: float


NEVER_DAMP = DampReading(0.0, 0.0, 0.0)


def elapsed(
    clock: Clock, past: PastClimates, climate: ClimateFacts, begun: int, until: int
) -> float:
    """Return the years of its own that a clock has run between two days; not for damp clocks."""
    if clock is Clock.CALENDAR or not past:
        return _aged(clock, climate, begun, until) if until > begun else 0.0
    return sum(
        _aged(clock, there, start, end) for there, start, end in stays(past, climate, begun, until)
    )


def rate_ahead(clock: Clock, climate: ClimateFacts) -> float:
    """Return how fast a clock runs from now on: own years, or germinations, per year."""
    if clock is Clock.CALENDAR:
        return 1.0
    measured = None if climate.record is None else climate.record.rate_ahead(clock)
    if measured is not None:
        return measured
    assumed = assumed_per_day(clock, climate.temperature_c, climate.rh_percent)
    return max(0.0, assumed) * DAYS_PER_YEAR if clock in DAMP_FROM_PERCENT else assumed


@lru_cache(maxsize=4096)
def assumed_per_day(clock: Clock, temperature_c: float, rh_percent: float) -> float:
    """Return own days, or germinations, a day in a climate that stays; below 0: it dries."""
    if clock in DAMP_FROM_PERCENT:
        from_percent = DAMP_FROM_PERCENT[clock]
        return float(damp_rate_per_day(temperature_c, rh_percent, from_percent=from_percent))
    activation = ACTIVATION_J_PER_MOL[clock]
    return float(ageing_rate(temperature_c, rh_percent, activation_j_per_mol=activation))


def damp_reading(
    clock: Clock,
    past: PastClimates,
    climate: ClimateFacts,
    *,
    begun: int,
    until: int,
    seen: int | None = None,
    clean: int | None = None,
) -> DampReading:
    """Return a damp clock that started at nothing on the day `begun`.

    `seen` is the last day on which its place was seen, `clean` the last on which
    somebody looked and nothing had grown.
    """
    if not is_ever_damp(clock, past, climate):
        return NEVER_DAMP
    at_sight = state = peak = 0.0
    for there, start, end in _cut(stays(past, climate, begun, until), (seen, clean)):
        state, highest = _advance(clock, there, start, end, state)
        peak = max(peak, highest)
        if end == clean:
            state = 0.0
        if end == seen:
            at_sight = peak = state
    return DampReading(at_sight, state, peak)


def is_ever_damp(clock: Clock, past: PastClimates, climate: ClimateFacts) -> bool:
    """Say whether any of the places makes a damp clock run forward."""
    return any(
        _germination_a_day(clock, there) > 0
        or (there.record is not None and clock in there.record.ever_damp)
        for there in (climate, *(c for _, c in past))
    )


def stays(
    past: PastClimates, climate: ClimateFacts, begun: int, until: int
) -> Iterator[tuple[ClimateFacts, int, int]]:
    """Give each climate with the first and the last day on which it held, within two days."""
    start = begun
    for last_day, there in past:
        end = min(until, last_day)
        if end > start:
            yield there, start, end
            start = end
    if until > start:
        yield climate, start, until


def moves(past: PastClimates, after: int, until: int) -> int:
    """Return how often the work changed its place later than one day and not after another."""
    return sum(after < last_day <= until for last_day, _ in past)


def years_by_use(
    past: PastClimates, climate: ClimateFacts, begun: int, until: int
) -> dict[PlaceUse, float]:
    """Return the years that the work was in places of each use."""
    years: dict[PlaceUse, float] = {}
    for there, start, end in stays(past, climate, begun, until):
        years[there.use] = years.get(there.use, 0.0) + years_between(start, end)
    return years


def dampest_rh_percent(past: PastClimates, climate: ClimateFacts, begun: int, until: int) -> float:
    """Return the dampest air between two days, percent RH; that of the present place at least.

    Of the air that each place is said to have, also where a logger read: a record keeps what
    its clocks ran each day, not how damp the dampest day was.
    """
    places = [climate, *(there for there, _, _ in stays(past, climate, begun, until))]
    return min(100.0, max(one.rh_percent for one in places) + ASSUMED_SWING_RH_PERCENT)


def _aged(clock: Clock, climate: ClimateFacts, start: int, end: int) -> float:
    if clock is Clock.CALENDAR:
        return years_between(start, end)
    assumed = assumed_per_day(clock, climate.temperature_c, climate.rh_percent)
    record = climate.record
    read = None if record is None else record.within(start, end)
    if record is None or read is None:
        return assumed * years_between(start, end)
    unread_days = (end - start) - (read[1] - read[0])
    return (record.ran(clock, *read) + assumed * unread_days) / DAYS_PER_YEAR


def _advance(
    clock: Clock, climate: ClimateFacts, start: int, end: int, state: float
) -> tuple[float, float]:
    """Return the damp clock at the end of a stay, and the highest it was in it."""
    record = climate.record
    read = None if record is None else record.within(start, end)
    if record is None or read is None:
        return _advance_as_assumed(clock, climate, end - start, state)
    now, before = _advance_as_assumed(clock, climate, read[0] - start, state)
    reached = progress(np.diff(record.totals_between(clock, *read)), now)
    now, after = _advance_as_assumed(clock, climate, end - read[1], float(reached[-1]))
    return now, max(before, float(reached.max()), after)


def _advance_as_assumed(
    clock: Clock, climate: ClimateFacts, days: int, state: float
) -> tuple[float, float]:
    now = max(0.0, state + _germination_a_day(clock, climate) * days)
    return now, max(state, now)


def _germination_a_day(clock: Clock, climate: ClimateFacts) -> float:
    return assumed_per_day(clock, climate.temperature_c, climate.rh_percent)


def _cut(
    whole: Iterator[tuple[ClimateFacts, int, int]], days: tuple[int | None, ...]
) -> Iterator[tuple[ClimateFacts, int, int]]:
    """Give the stays cut at these days, so that the clock can be read on each."""
    at = sorted({day for day in days if day is not None})
    for climate, start, end in whole:
        for day in (*(day for day in at if start < day < end), end):
            yield climate, start, day
            start = day
