"""What is the best use of so many hours, or so much money, at the bench?

The remats that reduce most risk for each hour (or each unit of money) come
first, and each that still fits is taken. Where one large remat alone reduces more
than all those together, that one is taken instead: so never less than half of
the best there could be. It is a plan for a week, not a proof.
"""

from collections.abc import Sequence
from dataclasses import dataclass

RULE = (
    "Taken in the order of risk reduced for each {unit}, as long as they fit; one large remat"
    " instead where it alone reduces more."
)
# Rounding of hours and money, so that what fits exactly fits.
_ROUNDING = 1e-9


@dataclass(frozen=True)
class Candidate:
    """A remat with what it takes (hours or money) and by how much it reduces the risk."""

    work_id: int
    takes: float
    reduced: float


@dataclass(frozen=True)
class BestUse:
    """The remats chosen, in the order in which they are best done, and their sums."""

    work_ids: tuple[int, ...]
    takes: float
    reduced: float


def best_use(candidates: Sequence[Candidate], at_hand: float) -> BestUse:
    """Return what to do with what is at hand; what reduces nothing is never chosen."""
    worth = [one for one in candidates if one.reduced > 0 and one.takes <= at_hand + _ROUNDING]
    chosen = _by_ratio(worth, at_hand)
    alone = max(worth, key=lambda one: one.reduced, default=None)
    if alone is not None and alone.reduced > sum(one.reduced for one in chosen):
        chosen = [alone]
    return BestUse(
        work_ids=tuple(one.work_id for one in chosen),
        takes=sum(one.takes for one in chosen),
        reduced=sum(one.reduced for one in chosen),
    )


def _by_ratio(worth: Sequence[Candidate], at_hand: float) -> list[Candidate]:
    chosen, left = [], at_hand + _ROUNDING
    for one in sorted(worth, key=_ratio, reverse=True):
        if one.takes <= left:
            chosen.append(one)
            left -= one.takes
    return chosen


def _ratio(one: Candidate) -> float:
    return one.reduced / one.takes if one.takes > 0 else float("inf")
