"""What can go wrong, in words that a person at the bench can act on.

HingebookError
├── NotFound              the thing asked for is not on record, or is not yours
├── NotAllowed            known and yours to see, but not yours to do
├── RuleBroken            the record would contradict itself or the trade
│   ├── Stale             somebody was quicker
│   └── NumberTaken       a number that is already given
├── BadValue              one or more values cannot be right; each says what would be
│   ├── Contradiction     two parts of what was told cannot both be
│   └── UnknownWord       a material, lot, technique, term or person not on record
├── OutsideKnownRange     a figure outside the range for which its formula holds
└── Busy                  try again shortly
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One wrong value: where it stands (JSON Pointer), what is wrong, what would be right."""

    pointer: str
    message: str
    right: str = ""


class HingebookError(Exception):
    """Anything that this program refuses, with a sentence for the person who asked."""

    code = "refused"

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class NotFound(HingebookError):
    """The thing asked for is not on record, or is not this person's to see."""

    code = "not_found"

    def __init__(self, kind: str, identifier: object) -> None:
        super().__init__(f"There is no {kind} {identifier}.")


class NotAllowed(HingebookError):
    """The person may see it, and may not do this."""

    code = "not_allowed"


class RuleBroken(HingebookError):
    """The record would contradict itself or the trade; `code` names the rule."""

    def __init__(self, message: str, code: str = "rule_broken") -> None:
        super().__init__(message)
        self.code = code


class Stale(RuleBroken):
    """Somebody was quicker; both states are given so that a person can choose."""

    def __init__(self, message: str, *, theirs: object = None) -> None:
        super().__init__(message, "stale")
        self.theirs = theirs


class NumberTaken(RuleBroken):
    """The number is already given to another record."""

    def __init__(self, message: str) -> None:
        super().__init__(message, "number_taken")


class BadValue(HingebookError):
    """One or more values cannot be right."""

    code = "bad_value"

    def __init__(self, message: str, faults: Sequence[Fault] = ()) -> None:
        super().__init__(message)
        self.faults = tuple(faults)

    @classmethod
    def at(cls, pointer: str, message: str, right: str = "") -> "BadValue":
        """Return the error of one wrong value: where it stands and what would be right."""
        return BadValue(message, [Fault(pointer, message, right)])


class Contradiction(BadValue):
    """Two parts of what was told cannot both be; `code` names the rule."""

    def __init__(self, pointer: str, message: str, right: str, code: str = "contradiction") -> None:
        super().__init__(message, [Fault(pointer, message, right)])
        self.code = code


class UnknownWord(BadValue):
    """A word that is not on record; near matches are named, nothing is created in passing."""

    def __init__(self, kind: str, word: str, near: Sequence[str] = (), pointer: str = "") -> None:
        said = kind.replace("_", " ")
        right = f"Perhaps {', '.join(near)}." if near else "Name one that is on record."
        message = f"There is no {said} called {word!r}."
        super().__init__(message, [Fault(pointer, message, right)])
        self.code = f"unknown_{kind}"
        self.near = tuple(near)


class OutsideKnownRange(HingebookError):
    """A figure outside the range for which its formula holds."""

    code = "outside_known_range"


class Busy(HingebookError):
    """Too many are writing at once; nothing was lost, try again shortly."""

    code = "busy"
