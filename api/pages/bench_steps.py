"""In which steps is a visit made, and at which step does a field stand?

All steps are parts of one form: going from one to the next needs no network. A refusal
leads to the step at fault.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from models.errors import Fault
from models.vocabulary import VisitKind


class Step(StrEnum):
    """A step of a visit, as it stands in the address of its page."""

    START = "start"
    PHOTOGRAPHS = "photographs"
    SEEN = "seen"
    CAME_OFF = "came-off"
    PACKAGE = "package"
    FINISH = "finish"


NAMES = {
    Step.START: "Start",
    Step.PHOTOGRAPHS: "Photographs",
    Step.SEEN: "Seen",
    Step.CAME_OFF: "Came off",
    Step.PACKAGE: "New package",
    Step.FINISH: "Finish",
}
# A look changes nothing inside.
_ONLY_AN_UNFRAMING = frozenset({Step.CAME_OFF, Step.PACKAGE})
# By how the names of fields begin; all others stand at the last step.
_STEP_OF = {
    **dict.fromkeys(("kind", "on", "by", "minutes", "reason", "stop"), Step.START),
    **dict.fromkeys(("seen", "summary", "finding", "new"), Step.SEEN),
    **dict.fromkeys(("found", "dismount", "wet", "layer"), Step.CAME_OFF),
    **dict.fromkeys(("mount", "added"), Step.PACKAGE),
}


@dataclass(frozen=True)
class StepShown:
    """A step in the line of steps; `before` and `after` are its neighbours, empty at an end."""

    slug: Step
    name: str
    is_shown: bool
    is_now: bool
    before: str
    after: str


def steps_of(kind: VisitKind) -> tuple[Step, ...]:
    """Return the steps of a visit of this kind."""
    return tuple(
        step for step in Step if kind is VisitKind.UNFRAMING or step not in _ONLY_AN_UNFRAMING
    )


def steps_shown(kind: VisitKind, now: Step, faults: Iterable[Fault] = ()) -> tuple[StepShown, ...]:
    """Return the line of steps; besides the step at hand each one with a fault is open."""
    steps = steps_of(kind)
    open_too = {step_of(fault) for fault in faults}
    at = {step: index for index, step in enumerate(steps)}
    return tuple(
        StepShown(
            slug=step,
            name=NAMES[step],
            is_shown=step is now or step in open_too,
            is_now=step is now,
            before=steps[at[step] - 1] if at[step] else "",
            after=steps[at[step] + 1] if step is not steps[-1] else "",
        )
        for step in steps
    )


def step_of(fault: Fault) -> Step:
    """Return the step at which the field of a fault stands."""
    begin = fault.pointer.removeprefix("/").partition("/")[0]
    return _STEP_OF.get(begin, Step.FINISH)


def step_named(word: str, kind: VisitKind) -> Step:
    """Return the step of this name; the first one for a name that a visit of this kind has not."""
    steps = steps_of(kind)
    return next((step for step in steps if step == word), steps[0])
