"""What cannot have happened?

A work cannot be taken from a mount before it was put into it, held by two
mounts at once, or seen tomorrow. Dates are half known, so only what is certain
is refused: "about 2005" before "2005" may be right. Each refusal names what is
wrong and what would be right.
"""

from collections.abc import Collection

from models.errors import Contradiction, RuleBroken
from models.rules.half_known_dates import HalfKnownDate, in_words, is_certainly_before
from models.vocabulary import SEEN_WHEN_OPENED, Shown, VisitKind


def refuse_future(on: HalfKnownDate, today: int, what: str = "visit") -> None:
    """What happened is in the future only if even its first day is."""
    if on.first_day is not None and on.first_day > today:
        raise RuleBroken(
            f"{in_words(on)} has not come yet; record the {what} on the day it was made.",
            "in_the_future",
        )


def refuse_end_before_start(what: str, start: HalfKnownDate | None, end: HalfKnownDate) -> None:
    """Nothing ends before it began."""
    if start is not None and is_certainly_before(end, start):
        raise RuleBroken(
            f"The {what} cannot have ended {in_words(end)}: it began {in_words(start)}.",
            "ended_before_it_began",
        )


def refuse_second_current(what: str, *, has_current: bool) -> None:
    """A work is held by one mount at a time."""
    if has_current:
        raise RuleBroken(
            f"This work has a current {what} already; record its end first, in the same visit.",
            f"two_current_{what.replace(' ', '_')}s",
        )


def refuse_overlap(what: str, end: HalfKnownDate | None, next_start: HalfKnownDate) -> None:
    """What takes the place of another cannot certainly have begun before the other ended."""
    if end is not None and is_certainly_before(next_start, end):
        raise RuleBroken(
            f"The new {what} began {in_words(next_start)}, and the one before it ended only"
            f" {in_words(end)}; two cannot lie in one place.",
            "overlap",
        )


def refuse_contradictions(
    kind: VisitKind,
    *,
    closed_as_it_was: bool,
    opens_package: bool,
    is_stopped: bool,
) -> None:
    """A look opens nothing, and what was closed again as it was did not change."""
    if closed_as_it_was and opens_package:
        raise Contradiction(
            "/closed_as_it_was",
            "Closed again as it was, and yet something was dismounted, mounted, removed or fitted.",
            "Say one or the other.",
        )
    if closed_as_it_was and is_stopped:
        raise Contradiction(
            "/closed_as_it_was",
            "A visit that was stopped before unframing did not close anything again.",
            "Say one or the other.",
        )
    if closed_as_it_was and kind is not VisitKind.UNFRAMING:
        raise Contradiction(
            "/closed_as_it_was",
            "Only an unframing can be closed again as it was.",
            "Record an unframing, or leave it out.",
        )
    if is_stopped and opens_package:
        raise Contradiction(
            "/stop",
            "A visit that was stopped before unframing can have changed nothing inside.",
            "Say one or the other.",
        )
    if opens_package and kind is not VisitKind.UNFRAMING:
        raise Contradiction(
            "/kind",
            f"A {kind} opens nothing.",
            "Record an unframing (for a work in a box: taking it out).",
            "needs_unframing",
        )


def refuse_seeing_through(kind: VisitKind, seen: Collection[Shown]) -> None:
    """What lies under the mat, behind the sheet or under its hinges needs the package opened."""
    hidden = [place for place in SEEN_WHEN_OPENED if place in seen]
    if hidden and kind is not VisitKind.UNFRAMING:
        raise Contradiction(
            "/seen",
            f"A {kind} cannot see {' or '.join(hidden)}.",
            "Record an unframing, or untick it.",
            "cannot_be_seen",
        )


def refuse_before_it_was_made(on: HalfKnownDate, made: HalfKnownDate | None) -> None:
    """Nobody examined a work before it was made."""
    if made is not None and is_certainly_before(on, made):
        raise RuleBroken(
            f"This work was made {in_words(made)}; it cannot have been examined {in_words(on)}.",
            "before_it_was_made",
        )


def refuse_begun_after(pointer: str, begun: HalfKnownDate | None, on: HalfKnownDate) -> None:
    """What was found at a visit had begun by then."""
    if begun is not None and is_certainly_before(on, begun):
        raise Contradiction(
            pointer,
            f"What was found {in_words(on)} cannot have begun {in_words(begun)}.",
            "A day up to that of the visit.",
            "begun_after_the_visit",
        )
