"""Where on the sheet is a place on the photograph, and the other way round?

A sheet that is photographed askew is a quadrilateral on the picture. Its four
corners, named in the order upper left, upper right, lower right, lower left as
they are seen there, say how picture and sheet belong together: a plane seen by a
lens is a projective map. Places on the picture are fractions of the upright
picture (0 to 1, from its left and its top). Places on the sheet are millimetres
from the left and from the top, always as seen from the recto: what strikes
through the sheet has one place on both sides, and on a photograph of the verso
left and right are exchanged.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import hypot

from models.errors import BadValue, OutsideKnownRange
from models.vocabulary import Side

# From the left and from the top: fractions of the picture, or millimetres on the sheet.
Point = tuple[float, float]
Corners = tuple[Point, Point, Point, Point]

CORNER_NAMES = ("upper left", "upper right", "lower right", "lower left")
# A corner may lie a little outside the picture, where a mat or its edge hides it.
LOWEST_FRACTION, HIGHEST_FRACTION = -1.0, 2.0
# The sine of the least angle at a corner, and the shortest side as a fraction of the picture:
# flatter or smaller, and a finger's breadth would move the sheet by half its size.
LEAST_SINE, SHORTEST_SIDE = 0.05, 0.02
_ORDER = "Tap upper left, upper right, lower right, lower left, as you see them."

_Row = tuple[float, float, float]


@dataclass(frozen=True)
class SheetOnPhotograph:
    """How a picture and a sheet belong together; the rows of the map and of its inverse."""

    sheet_to_picture: tuple[_Row, _Row, _Row]
    picture_to_sheet: tuple[_Row, _Row, _Row]

    def on_picture(self, place_mm: Point) -> Point:
        """Return where a place of the sheet (mm) is seen, in fractions of the picture.

        Raises OutsideKnownRange for a place behind the camera.
        """
        return _mapped(self.sheet_to_picture, place_mm)

    def on_sheet(self, seen: Point) -> Point:
        """Return the place of the sheet (mm) that is seen at these fractions of the picture.

        Raises OutsideKnownRange where the plane of the sheet is not seen.
        """
        return _mapped(self.picture_to_sheet, seen)


def sheet_on_photograph(
    corners: Sequence[Point], *, width_mm: float, height_mm: float, side: Side
) -> SheetOnPhotograph:
    """Return how a picture and the sheet belong together.

    `side` is the side of the sheet that is seen. Raises BadValue for corners that are none.
    """
    upper_left, upper_right, lower_right, lower_left = checked_corners(corners)
    if side is Side.VERSO:
        seen = (upper_right, upper_left, lower_left, lower_right)
    else:
        seen = (upper_left, upper_right, lower_right, lower_left)
    first, second, third = _square_to(seen)
    to_picture = (
        _scaled(first, width_mm, height_mm),
        _scaled(second, width_mm, height_mm),
        _scaled(third, width_mm, height_mm),
    )
    return SheetOnPhotograph(to_picture, _inverse(to_picture))


def checked_corners(corners: Sequence[Point], of: str = "sheet") -> Corners:
    """Return four corners that can be those of a sheet, or of a window.

    Raises BadValue, in words for whoever tapped them, where they cannot.
    """
    if len(corners) != len(CORNER_NAMES):
        raise _wrong(f"A {of} has four corners; {len(corners)} were given.", _ORDER)
    for name, (left, top) in zip(CORNER_NAMES, corners, strict=True):
        # Written so that a missing number (NaN) is refused too.
        if not all(LOWEST_FRACTION <= at <= HIGHEST_FRACTION for at in (left, top)):
            raise _wrong(f"The {name} corner lies far outside the picture.", "Tap it on it.")
    turns = [_turn(corners, index) for index in range(4)]
    if all(turn <= -LEAST_SINE for turn in turns):
        raise _wrong("The corners run the wrong way round.", _ORDER)
    for name, turn in zip(CORNER_NAMES, turns, strict=True):
        if turn < LEAST_SINE:
            message = f"At the {name} corner the four make no {of}: sides cross or lie in a line."
            raise _wrong(message, _ORDER)
    one, two, three, four = corners
    return (one, two, three, four)


def _wrong(message: str, right: str) -> BadValue:
    return BadValue.at("/corners", message, right)


def _turn(corners: Sequence[Point], index: int) -> float:
    """Return the sine of the angle at a corner: above 0 where the way turns clockwise."""
    (ax, ay), (bx, by), (cx, cy) = (corners[(index + step) % 4] for step in (-1, 0, 1))
    before, after = (bx - ax, by - ay), (cx - bx, cy - by)
    lengths = [hypot(*before), hypot(*after)]
    if min(lengths) < SHORTEST_SIDE:
        return 0.0
    return (before[0] * after[1] - before[1] * after[0]) / (lengths[0] * lengths[1])


def _square_to(seen: Corners) -> tuple[_Row, _Row, _Row]:
    """Return the map of the unit square upon a quadrilateral.

    P. S. Heckbert, Fundamentals of Texture Mapping and Image Warping, master's thesis,
    University of California, Berkeley (1989), section 2.2.3, from memory.
    """
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = seen
    dx1, dx2, sx = x1 - x2, x3 - x2, x0 - x1 + x2 - x3
    dy1, dy2, sy = y1 - y2, y3 - y2, y0 - y1 + y2 - y3
    area = dx1 * dy2 - dx2 * dy1
    g = (sx * dy2 - dx2 * sy) / area
    h = (dx1 * sy - sx * dy1) / area
    return (
        (x1 - x0 + g * x1, x3 - x0 + h * x3, x0),
        (y1 - y0 + g * y1, y3 - y0 + h * y3, y0),
        (g, h, 1.0),
    )


def _scaled(row: _Row, width_mm: float, height_mm: float) -> _Row:
    return (row[0] / width_mm, row[1] / height_mm, row[2])


def _inverse(rows: tuple[_Row, _Row, _Row]) -> tuple[_Row, _Row, _Row]:
    """Return the inverse but for its scale, which a projective map does not have."""
    (a, b, c), (d, e, f), (g, h, i) = rows
    minors = (
        (e * i - f * h, c * h - b * i, b * f - c * e),
        (f * g - d * i, a * i - c * g, c * d - a * f),
        (d * h - e * g, b * g - a * h, a * e - b * d),
    )
    sign = 1.0 if a * minors[0][0] + b * minors[1][0] + c * minors[2][0] > 0 else -1.0
    first, second, third = (tuple(sign * m for m in row) for row in minors)
    return (_row(first), _row(second), _row(third))


def _row(figures: Iterable[float]) -> _Row:
    one, two, three = figures
    return (one, two, three)


def _mapped(rows: tuple[_Row, _Row, _Row], point: Point) -> Point:
    x, y = point
    across, down, depth = (row[0] * x + row[1] * y + row[2] for row in rows)
    if depth <= 0:
        raise OutsideKnownRange("This place is not on the plane of the sheet as it is seen here.")
    return across / depth, down / depth
