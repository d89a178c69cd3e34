"""What of an old mount stays on the work, and goes on acting?

A stub, a piece of tape or a residue left on the work keeps touching it with the
clock it had, through every later package, until a treatment removes it. A hold
that came off clean leaves nothing, and a hold without adhesive never does.
A hold that was tried and left is still the hold; it remains too when the work
went into another package with it.
"""

from collections.abc import Collection, Iterable

from models.rules.freeing import adhesive_of_hold
from models.rules.package_facts import HoldFacts, Key, RemainFacts
from models.vocabulary import Outcome

RESIDUE = "residue"

# What stays when nothing is said of a residue; None: nothing.
WHAT_STAYS: dict[Outcome, str | None] = {
    Outcome.FREED: None,
    Outcome.PART_FREED: "part of the hold",
    Outcome.TRIED_AND_LEFT: "the whole hold",
    Outcome.CUT_AND_STUB_LEFT: "stub",
    Outcome.LEFT_ON_THE_WORK: "the whole hold",
}


def adhesive_clock_start(hold: HoldFacts, mounted_day: int | None) -> int | None:
    """Return the day the adhesive's clock started; before the mount if only the tab is new."""
    return mounted_day if hold.since_day is None else hold.since_day


def remain_after(
    hold: HoldFacts, outcome: Outcome, *, residue: str, mounted_day: int | None
) -> RemainFacts | None:
    """Return what one hold left on the work at a dismount, or None if it left nothing."""
    grade = adhesive_of_hold(hold)
    what = WHAT_STAYS[outcome] or (RESIDUE if residue.strip() else None)
    if grade is None or what is None:
        return None
    return RemainFacts(
        what=what,
        key=hold.key,
        grade=grade,
        since_day=adhesive_clock_start(hold, mounted_day),
        covers_all=hold.covers_all,
        frees_by=hold.frees_by,
    )


def still_on_the_work(
    remains: Iterable[RemainFacts], removed: Collection[Key]
) -> tuple[RemainFacts, ...]:
    """Return the remains that no treatment has removed."""
    return tuple(remain for remain in remains if remain.key not in removed)
