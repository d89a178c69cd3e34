"""How far has a clock run in the places where a work was, and how fast does it run now?

Every clock of a mechanism is run here and nowhere else. A clock of ageing runs at
the rate of each place for the time spent there. A damp clock goes forward in
damp places and back in dry ones, so three readings of it count: when its place
was last seen, now, and the highest in between, since mould that grew and dried
is there to be seen. It begins anew when somebody looked and found nothing grown.

A place has one assumed climate all through the year. The damp clock of the
future only stands or runs forward: what is dry later undoes no harm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from models.risk.ageing import ADHESIVE_J_PER_MOL, PAPER_J_PER_MOL, ageing_rate
from models.risk.damp import FOXING_FROM_PERCENT, MOULD_FROM_PERCENT, damp_rate_per_day
from models.rules.calendar_days import years_between
from models.rules.default_figures import Clock
from models.rules.package_facts import ClimateFacts
from models.vocabulary import DAYS_PER_YEAR

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


@lru_cache(maxsize=4096)
def rate_ahead(clock: Clock, climate: ClimateFacts) -> float:
    """Return how fast a clock runs from now on: own years, or germinations, per year."""
    if clock is Clock.CALENDAR:
        return 1.0
    if clock in DAMP_FROM_PERCENT:
        return max(0.0, _germination_a_day(clock, climate)) * DAYS_PER_YEAR
    return float(
        ageing_rate(
            climate.temperature_c,
            climate.rh_percent,
            activation_j_per_mol=ACTIVATION_J_PER_MOL[clock],
        )
    )


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
    if not _is_ever_damp(clock, past, climate):
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


def _aged(clock: Clock, climate: ClimateFacts, start: int, end: int) -> float:
    return rate_ahead(clock, climate) * years_between(start, end)


def _advance(
    clock: Clock, climate: ClimateFacts, start: int, end: int, state: float
) -> tuple[float, float]:
    """Return the damp clock at the end of a stay, and the highest it was in it."""
    now = max(0.0, state + _germination_a_day(clock, climate) * (end - start))
    return now, max(state, now)


def _is_ever_damp(clock: Clock, past: PastClimates, climate: ClimateFacts) -> bool:
    return any(_germination_a_day(clock, there) > 0 for there in (climate, *(c for _, c in past)))


@lru_cache(maxsize=4096)
def _germination_a_day(clock: Clock, climate: ClimateFacts) -> float:
    return float(
        damp_rate_per_day(
            climate.temperature_c, climate.rh_percent, from_percent=DAMP_FROM_PERCENT[clock]
        )
    )


def _cut(
    whole: Iterator[tuple[ClimateFacts, int, int]], days: tuple[int | None, ...]
) -> Iterator[tuple[ClimateFacts, int, int]]:
    """Give the stays cut at these days, so that the clock can be read on each."""
    at = sorted({day for day in days if day is not None})
    for climate, start, end in whole:
        for day in (*(day for day in at if start < day < end), end):
            yield climate, start, day
            start = day
