"""How many hours does each kind of date ask of the house, and how many does it have?

A look is made standing before the frame; an unframing is opening, looking, writing and
closing; a remat takes the hours that were worked out for it, and what is usual where
nobody worked them out. What does not wait is counted as an unframing: somebody goes there
at once and leaves the rest. The policy says how many unframings a week the house can do;
at the hours of one that is what it has.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from models.rules.level_load import month_capacity
from models.vocabulary import DueKind

# Hours, each; 0 to 100. Default of this project (judgement).
HOURS_FOR_A_LOOK = 0.1
HOURS_FOR_A_BOX_CHECK = 0.5
HOURS_FOR_AN_UNFRAMING = 1.0
# Of a remat of which nobody worked out the hours.
HOURS_FOR_A_REMAT = 2.5

_HOURS_FOR_ONE = {
    DueKind.LOOK: HOURS_FOR_A_LOOK,
    DueKind.FOLLOW_UP: HOURS_FOR_A_LOOK,
    DueKind.TAKE_DOWN: HOURS_FOR_A_LOOK,
    DueKind.BOX_CHECK: HOURS_FOR_A_BOX_CHECK,
    DueKind.UNFRAMING: HOURS_FOR_AN_UNFRAMING,
    DueKind.URGENT: HOURS_FOR_AN_UNFRAMING,
    DueKind.REMAT: HOURS_FOR_A_REMAT,
}
_LOOKS = (DueKind.LOOK, DueKind.FOLLOW_UP, DueKind.TAKE_DOWN, DueKind.BOX_CHECK)


class Dates(NamedTuple):
    """So many dates of one kind; of `known` of them `hours` were worked out, together."""

    kind: DueKind
    number: int
    known: int = 0
    hours: float = 0.0


@dataclass(frozen=True)
class BenchHours:
    """The hours of looks, unframings and remats, each apart."""

    looks: float = 0.0
    unframings: float = 0.0
    remats: float = 0.0

    @property
    def total(self) -> float:
        """Return the hours of all three."""
        return self.looks + self.unframings + self.remats


def hours_of_dates(dates: Dates) -> float:
    """Return the hours of dates: those worked out, and what is usual for each of the others."""
    usual = _HOURS_FOR_ONE.get(dates.kind, HOURS_FOR_AN_UNFRAMING)
    return dates.hours + (dates.number - dates.known) * usual


def bench_hours(all_dates: Iterable[Dates]) -> BenchHours:
    """Return the hours of dates of any kinds."""
    looks = unframings = remats = 0.0
    for dates in all_dates:
        hours = hours_of_dates(dates)
        if dates.kind in _LOOKS:
            looks += hours
        elif dates.kind is DueKind.REMAT:
            remats += hours
        else:
            unframings += hours
    return BenchHours(looks, unframings, remats)


def hours_a_month(unframings_a_week: float) -> float:
    """Return the hours that the house has for the bench in a month, by its policy."""
    return month_capacity(unframings_a_week) * HOURS_FOR_AN_UNFRAMING
