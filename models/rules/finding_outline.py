"""What does a finding cover on the sheet, and how much of it?

A finding is a point, an outline, or a band along an edge, so many millimetres in,
along the whole edge or a part of it. An outline is measured by the shoelace
formula, after what goes beyond the sheet is cut off: a hand that goes round an edge
draws a little past it. Millimetres count from the sheet's upper left corner as seen
from the recto; an extent is a percentage of the sheet.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from models.errors import BadValue
from models.rules.sheet_corners import Point
from models.vocabulary import Edge, OutlineShape

# A hand that draws round an edge goes a little past it; further out is a slip.
FURTHEST_OFF_MM = 20.0
# How many points an outline needs, and how many are more than a hand draws.
FEWEST_POINTS, MOST_POINTS = 3, 400


@dataclass(frozen=True)
class Sheet:
    """The size of a sheet in mm."""

    width_mm: float
    height_mm: float

    @property
    def area_mm2(self) -> float:
        """The area in square millimetres."""
        return self.width_mm * self.height_mm


@dataclass(frozen=True)
class Band:
    """A band along an edge, `reach_mm` in; along all of it where no part is told."""

    edge: Edge
    reach_mm: float
    from_mm: float | None = None
    to_mm: float | None = None


def checked_points(shape: OutlineShape, points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the points of a shape. Raises BadValue where there are too few or too many."""
    if shape is OutlineShape.BAND and points:
        raise BadValue.at("/points", "A band has no points.", "its edge and how many mm in")
    if shape is OutlineShape.POINT and len(points) != 1:
        raise BadValue.at("/points", f"A point is one place; {len(points)} were given.", "one")
    if shape is OutlineShape.OUTLINE and not FEWEST_POINTS <= len(points) <= MOST_POINTS:
        message = f"An outline has {FEWEST_POINTS} to {MOST_POINTS} points; {len(points)} are none."
        raise BadValue.at("/points", message, "Tap round the finding, at least three points.")
    return tuple(points)


def refuse_off_the_sheet(points: Sequence[Point], sheet: Sheet) -> None:
    """Raise BadValue for a point that is far off the sheet."""
    for left, top in points:
        far_left = -FURTHEST_OFF_MM <= left <= sheet.width_mm + FURTHEST_OFF_MM
        far_down = -FURTHEST_OFF_MM <= top <= sheet.height_mm + FURTHEST_OFF_MM
        if not (far_left and far_down):
            message = f"{left:.0f} mm from the left, {top:.0f} mm from the top is off the sheet."
            right = f"at most {sheet.width_mm:g} mm and {sheet.height_mm:g} mm, as it is recorded"
            raise BadValue.at("/points", message, right)


def band_outlines(band: Band, sheet: Sheet) -> tuple[tuple[Point, ...], ...]:
    """Return the outlines of a band in mm: one, or four that do not overlap for all edges."""
    if band.edge is not Edge.ALL:
        return (_along_one_edge(band, sheet),)
    width, height = sheet.width_mm, sheet.height_mm
    across, down = min(band.reach_mm, width / 2), min(band.reach_mm, height / 2)
    return (
        _rectangle(0, 0, width, down),
        _rectangle(width - across, down, width, height - down),
        _rectangle(0, height - down, width, height),
        _rectangle(0, down, across, height - down),
    )


def _along_one_edge(band: Band, sheet: Sheet) -> tuple[Point, ...]:
    width, height, reach = sheet.width_mm, sheet.height_mm, band.reach_mm
    length = edge_length_mm(band.edge, sheet)
    start = 0.0 if band.from_mm is None else band.from_mm
    end = length if band.to_mm is None else band.to_mm
    if band.edge is Edge.TOP:
        return _rectangle(start, 0, end, reach)
    if band.edge is Edge.BOTTOM:
        return _rectangle(start, height - reach, end, height)
    if band.edge is Edge.LEFT:
        return _rectangle(0, start, reach, end)
    return _rectangle(width - reach, start, width, end)


def edge_length_mm(edge: Edge, sheet: Sheet) -> float:
    """Return how long an edge is."""
    return sheet.width_mm if edge in (Edge.TOP, Edge.BOTTOM) else sheet.height_mm


def _rectangle(left: float, top: float, right: float, bottom: float) -> tuple[Point, ...]:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def extent_percent(outlines: Sequence[Sequence[Point]], sheet: Sheet) -> float:
    """Return how much of the sheet these outlines cover, in percent; none overlaps another."""
    covered = sum(area_mm2(cut_to(outline, sheet)) for outline in outlines)
    return min(100.0, 100.0 * covered / sheet.area_mm2)


def area_mm2(outline: Sequence[Point]) -> float:
    """Return the area of an outline, by the shoelace formula."""
    following = [*outline[1:], *outline[:1]]
    pairs = zip(outline, following, strict=True)
    turned: float = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)
    return abs(turned) / 2


def cut_to(outline: Sequence[Point], sheet: Sheet) -> tuple[Point, ...]:
    """Return what of an outline lies on the sheet.

    I. E. Sutherland and G. W. Hodgman, Reentrant polygon clipping, Communications of the
    ACM 17 (1974) 32-42: it is cut along one edge of the sheet after the other.
    """
    cut = _cut(outline, lambda p: p[0])
    cut = _cut(cut, lambda p: sheet.width_mm - p[0])
    cut = _cut(cut, lambda p: p[1])
    return _cut(cut, lambda p: sheet.height_mm - p[1])


def _cut(outline: Sequence[Point], inside: Callable[[Point], float]) -> tuple[Point, ...]:
    """Return what lies where `inside` is not below 0."""
    kept: list[Point] = []
    for before, point in zip([*outline[-1:], *outline[:-1]], outline, strict=True):
        was, now = inside(before), inside(point)
        if (was < 0) != (now < 0):
            part = was / (was - now)
            left, top = (b + part * (p - b) for b, p in zip(before, point, strict=True))
            kept.append((left, top))
        if now >= 0:
            kept.append(point)
    return tuple(kept)


def reach_mm(points: Sequence[Point], edge: Edge, sheet: Sheet) -> float:
    """Return how far in from an edge these points go; from the nearest edge for all of them."""
    from_edges = {
        Edge.TOP: [top for _, top in points],
        Edge.BOTTOM: [sheet.height_mm - top for _, top in points],
        Edge.LEFT: [left for left, _ in points],
        Edge.RIGHT: [sheet.width_mm - left for left, _ in points],
    }
    if edge is not Edge.ALL:
        return max(0.0, *from_edges[edge])
    nearest: list[float] = [min(ways) for ways in zip(*from_edges.values(), strict=True)]
    return max(0.0, *nearest)


def nearest_edge(points: Sequence[Point], sheet: Sheet) -> Edge:
    """Return the edge from which these points go in least far."""
    edges = (Edge.TOP, Edge.RIGHT, Edge.BOTTOM, Edge.LEFT)
    return min(edges, key=lambda edge: reach_mm(points, edge, sheet))
