"""How does a band lie on the sheet that follows the edge of a window, and how far in is that edge?

How far a band goes in is told from the edge of the sheet; its inner border is drawn
alongside the edge of the window, which seldom lies square to the sheet: as much of it goes in
further than was told as less far. So a band measures the same whether the window is
known or not. Millimetres count from the sheet's upper left corner as seen from the recto.
"""

from collections.abc import Sequence

from models.rules.finding_outline import Band, Sheet, edge_length_mm
from models.rules.sheet_corners import Point
from models.vocabulary import Edge

Outline = tuple[Point, ...]


def window_side(window: Sequence[Point], edge: Edge) -> tuple[Point, Point]:
    """Return the ends of the side of a window that is next to an edge, the upper or left first.

    `window`: four corners in mm, in any order, turned by less than an eighth.
    """
    axis = 0 if edge in (Edge.LEFT, Edge.RIGHT) else 1
    outwards = sorted(window, key=lambda point: point[axis])
    pair = outwards[:2] if edge in (Edge.LEFT, Edge.TOP) else outwards[2:]
    first, second = sorted(pair, key=lambda point: point[1 - axis])
    return first, second


def window_edge_mm(window: Sequence[Point], edge: Edge, sheet: Sheet) -> float:
    """Return how far in from an edge of the sheet the window's lies, midway; below 0 off it."""
    axis = 0 if edge in (Edge.LEFT, Edge.RIGHT) else 1
    middle = sum(point[axis] for point in window_side(window, edge)) / 2
    far = (sheet.width_mm, sheet.height_mm)[axis]
    return middle if edge in (Edge.LEFT, Edge.TOP) else far - middle


def band_along_window(band: Band, sheet: Sheet, window: Sequence[Point]) -> tuple[Outline, ...]:
    """Return the outlines of a band in mm: one, or four that do not overlap for all edges."""
    if band.edge is Edge.ALL:
        return _all_round(band, sheet, window)
    start = 0.0 if band.from_mm is None else band.from_mm
    end = edge_length_mm(band.edge, sheet) if band.to_mm is None else band.to_mm
    slope = _slope(window, band.edge)
    half = slope * (end - start) / 2
    if band.edge is Edge.LEFT:
        first, second = _reaches(band.reach_mm, -half)
        return (((0.0, start), (first, start), (second, end), (0.0, end)),)
    if band.edge is Edge.TOP:
        first, second = _reaches(band.reach_mm, -half)
        return (((start, 0.0), (end, 0.0), (end, second), (start, first)),)
    first, second = _reaches(band.reach_mm, half)
    if band.edge is Edge.RIGHT:
        wide = sheet.width_mm
        return (((wide - first, start), (wide, start), (wide, end), (wide - second, end)),)
    high = sheet.height_mm
    return (((start, high - first), (end, high - second), (end, high), (start, high)),)


def _reaches(reach: float, at_first: float) -> tuple[float, float]:
    """Return how far a border goes in at both of its ends, `at_first` further at its first."""
    turned = max(-reach, min(reach, at_first))
    return reach + turned, reach - turned


def _slope(window: Sequence[Point], edge: Edge) -> float:
    """Return by how much a side leaves its direction: across per down, or down per across."""
    (x1, y1), (x2, y2) = window_side(window, edge)
    return (x2 - x1) / (y2 - y1) if edge in (Edge.LEFT, Edge.RIGHT) else (y2 - y1) / (x2 - x1)


def _all_round(band: Band, sheet: Sheet, window: Sequence[Point]) -> tuple[Outline, ...]:
    width, height = sheet.width_mm, sheet.height_mm
    across, down = min(band.reach_mm, width / 2), min(band.reach_mm, height / 2)
    left, right = ((x, _slope(window, e)) for x, e in ((across, Edge.LEFT), (-across, Edge.RIGHT)))
    top, bottom = ((y, _slope(window, e)) for y, e in ((down, Edge.TOP), (-down, Edge.BOTTOM)))
    middle = width / 2, height / 2
    upright = {"left": left, "right": (width + right[0], right[1])}
    level = {"top": top, "bottom": (height + bottom[0], bottom[1])}
    ul, ur = (_crossing(upright[side], level["top"], middle) for side in ("left", "right"))
    ll, lr = (_crossing(upright[side], level["bottom"], middle) for side in ("left", "right"))
    corners = (0.0, 0.0), (width, 0.0), (width, height), (0.0, height)
    return (
        (corners[0], corners[1], ur, ul),
        (ur, corners[1], corners[2], lr),
        (ll, lr, corners[2], corners[3]),
        (corners[0], ul, ll, corners[3]),
    )


def _crossing(
    upright: tuple[float, float], level: tuple[float, float], middle: tuple[float, float]
) -> Point:
    """Return where an upright and a level line cross; each by its place midway and its slope."""
    (at_x, by_x), (at_y, by_y) = upright, level
    x = (at_x + by_x * (at_y - by_y * middle[0] - middle[1])) / (1 - by_x * by_y)
    return x, at_y + by_y * (x - middle[0])
