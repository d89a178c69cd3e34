"""What has become of each finding between two visits to a work?

A finding is *new* when it was on record after the later visit and not after the earlier one,
or was gone then and is back; *grown* when it is stronger, reaches further in or covers more, or
when somebody said so; *treated* or *no longer visible* by what was said last; *not seen* when
nobody looked at it between the two. What is none of these is *unchanged*. Visits count by
their order, for a day may be half known.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from models.vocabulary import GONE, Change, Severity

_STRENGTH = {None: 0, Severity.SLIGHT: 1, Severity.MODERATE: 2, Severity.SEVERE: 3}


class Became(StrEnum):
    """What has become of a finding, in the order in which a comparison tells it."""

    NEW = "new"
    GROWN = "grown"
    TREATED = "treated"
    NO_LONGER_VISIBLE = "no longer visible"
    UNCHANGED = "unchanged"
    NOT_SEEN = "not seen"


@dataclass(frozen=True)
class SeenThen:
    """What a finding was at the visit that stands so far from the first; mm and percent."""

    visit: int
    change: Change
    severity: Severity | None = None
    reach_mm: float | None = None
    extent_percent: float | None = None


@dataclass(frozen=True)
class ComparedFinding:
    """What a finding was after each of two visits, and what has become of it."""

    became: Became
    before: SeenThen | None
    after: SeenThen

    @property
    def grown_mm(self) -> float | None:
        """Return by how much its reach has grown; None where it was not measured both times."""
        if self.before is None or self.before.reach_mm is None or self.after.reach_mm is None:
            return None
        return self.after.reach_mm - self.before.reach_mm


def compared(seen: Sequence[SeenThen], earlier: int, later: int) -> ComparedFinding | None:
    """Return what has become of a finding between two visits; None when it was in neither.

    `seen` are its sightings, oldest first.
    """
    before, after = _last(seen, earlier), _last(seen, later)
    if after is None or (before is not None and before.change in GONE and after.change in GONE):
        return None
    return ComparedFinding(_became(seen, before, after, earlier, later), before, after)


def _last(seen: Sequence[SeenThen], visit: int) -> SeenThen | None:
    """Return the last sighting up to a visit at which somebody really looked at it."""
    looked = [one for one in seen if one.visit <= visit and one.change is not Change.NOT_SEEN]
    return looked[-1] if looked else None


def _became(
    seen: Sequence[SeenThen],
    before: SeenThen | None,
    after: SeenThen,
    earlier: int,
    later: int,
) -> Became:
    if after.change is Change.TREATED:
        return Became.TREATED
    if after.change is Change.NO_LONGER_VISIBLE:
        return Became.NO_LONGER_VISIBLE
    if before is None or before.change in GONE:
        return Became.NEW
    between = [one for one in seen if earlier < one.visit <= later]
    looked = [one for one in between if one.change is not Change.NOT_SEEN]
    if not looked:
        return Became.NOT_SEEN
    is_said = any(one.change is Change.GROWN for one in looked)
    return Became.GROWN if is_said or _is_more(before, after) else Became.UNCHANGED


def _is_more(before: SeenThen, after: SeenThen) -> bool:
    """Say whether a finding is stronger, reaches further or covers more than it did."""
    stronger = _STRENGTH[after.severity] > _STRENGTH[before.severity] > 0
    pairs = (
        (before.reach_mm, after.reach_mm),
        (before.extent_percent, after.extent_percent),
    )
    return stronger or any(old is not None and new is not None and new > old for old, new in pairs)
