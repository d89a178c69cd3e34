"""How many hours does each kind of date ask of the house, and how many does it have?

A look is made standing before the frame; an unframing is opening, looking, writing and
closing; a remat takes the hours that were worked out for it. What does not wait is
counted as an unframing: somebody goes there at once and leaves the rest. The policy says
how many unframings a week the house can do; at the hours of one that is what it has.
"""

from collections.abc import Iterable
from dataclasses import dataclass

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
    DueKind.BOX_CHECK: HOURS_FOR_A_BOX_CHECK,
    DueKind.UNFRAMING: HOURS_FOR_AN_UNFRAMING,
    DueKind.URGENT: HOURS_FOR_AN_UNFRAMING,
    DueKind.REMAT: HOURS_FOR_A_REMAT,
}
_LOOKS = (DueKind.LOOK, DueKind.FOLLOW_UP, DueKind.BOX_CHECK)


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


def hours_of_dates(kind: DueKind, dates: int, worked_out: float = 0.0) -> float:
    """Return the hours of so many dates of a kind; `worked_out` goes before what is usual."""
    return worked_out or dates * _HOURS_FOR_ONE.get(kind, HOURS_FOR_AN_UNFRAMING)


def bench_hours(dates: Iterable[tuple[DueKind, int, float]]) -> BenchHours:
    """Return the hours of dates told as kind, how many, and the hours worked out for them."""
    looks = unframings = remats = 0.0
    for kind, number, worked_out in dates:
        hours = hours_of_dates(kind, number, worked_out)
        if kind in _LOOKS:
            looks += hours
        elif kind is DueKind.REMAT:
            remats += hours
        else:
            unframings += hours
    return BenchHours(looks, unframings, remats)


def hours_a_month(unframings_a_week: float) -> float:
    """Return the hours that the house has for the bench in a month, by its policy."""
    return month_capacity(unframings_a_week) * HOURS_FOR_AN_UNFRAMING
