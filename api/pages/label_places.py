"""Where do the labels of a drawing stand so that none lies upon another?

Each has the place where it would stand best, and they are placed one after the other, what
matters most first. Where another stands already a label moves aside, as little as will do,
and a leader leads back; where no room is left it is left out: all of them stand in the
table beside the drawing. Lengths are units of the drawing.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import hypot

# Ways to move aside, down before up before sideways, each as far as needed.
_WAYS = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, 1), (1, -1), (-1, -1))
# A step, and so many of them at most: further off nobody would find what a label belongs to.
STEP_OF_HEIGHT, MOST_STEPS = 0.55, 8
# The mean width of a letter of bold text, of its height; and the air around a label.
LETTER_OF_HEIGHT, AIR_OF_HEIGHT = 0.56, 0.12


@dataclass(frozen=True)
class Box:
    """The room that a label takes."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        """Say whether two boxes have any room in common."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True)
class Label:
    """A text of so much height whose middle would best stand at a place."""

    text: str
    height: float
    x: float
    y: float

    def box(self, x: float, y: float) -> Box:
        """Return its room if its middle stood there."""
        air = AIR_OF_HEIGHT * self.height
        wide = LETTER_OF_HEIGHT * self.height * len(self.text) / 2 + air
        high = self.height / 2 + air
        return Box(x - wide, y - high, x + wide, y + high)


def places_apart(
    labels: Sequence[Label], *, width: float, height: float
) -> list[tuple[float, float] | None]:
    """Return the middle of each label, None for one that is left out; the first matters most."""
    taken: list[Box] = []
    found: list[tuple[float, float] | None] = []
    for label in labels:
        free = next(
            ((x, y) for x, y in _tried(label, width, height) if not _any(label.box(x, y), taken)),
            None,
        )
        if free is not None:
            taken.append(label.box(*free))
        found.append(free)
    return found


def _tried(label: Label, width: float, height: float) -> Iterator[tuple[float, float]]:
    """Give the places of a label within the drawing, the best first."""
    best = label.box(label.x, label.y)
    half_wide, half_high = (best.right - best.left) / 2, (best.bottom - best.top) / 2
    if 2 * half_wide > width or 2 * half_high > height:
        return
    x = min(max(label.x, half_wide), width - half_wide)
    y = min(max(label.y, half_high), height - half_high)
    step = STEP_OF_HEIGHT * label.height
    # A text is wider than high: sideways it moves half its own width at once.
    aside = [
        (across * (half_wide + number * step), down * number * step)
        for number in range(1, MOST_STEPS + 1)
        for across, down in _WAYS
    ]
    for across, down in [(0.0, 0.0), *sorted(aside, key=lambda way: hypot(*way))]:
        there = x + across, y + down
        if (
            half_wide <= there[0] <= width - half_wide
            and half_high <= there[1] <= height - half_high
        ):
            yield there


def _any(box: Box, taken: Iterable[Box]) -> bool:
    return any(box.meets(other) for other in taken)


def leader(label: Label, place: tuple[float, float]) -> str:
    """Return the path from where a label would stand to where it does; empty where it is near."""
    x, y = place
    box = label.box(x, y)
    near_x, near_y = min(max(label.x, box.left), box.right), min(max(label.y, box.top), box.bottom)
    if abs(near_x - label.x) + abs(near_y - label.y) < label.height / 2:
        return ""
    return f"M{label.x:.1f} {label.y:.1f}L{near_x:.1f} {near_y:.1f}"
