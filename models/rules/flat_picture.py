"""How is a photograph laid so that the sheet on it lies squarely, at its size in millimetres?

Two photographs of one sheet laid so cover each other. What is used is the nearest affine
map: it takes turning, shifting, scale and shear away, and leaves what perspective a camera
held askew has brought. Where nobody said where the corners are, the picture is laid whole
into the middle of the sheet. Two photographs of one margin come to lie upon each other at the
edge of the window by turning and shifting one of them, never by stretching it.
"""

from collections.abc import Sequence
from math import atan2, cos, sin

from models.errors import BadValue

Point = tuple[float, float]
# Millimetres from pixels, as SVG writes a matrix: x' = a x + c y + e, y' = b x + d y + f.
Matrix = tuple[float, float, float, float, float, float]
# Corners that span less of the picture than this lie in a line.
LEAST_AREA = 1e-4


def laid_by_corners(
    corners: Sequence[Point], *, width_px: int, height_px: int, width_mm: float, height_mm: float
) -> Matrix:
    """Return the map that lays the sheet, or window, of these corners upon 0, 0 to its size.

    `corners` are fractions of the upright picture, clockwise from the upper left as seen.
    By least squares over the four: the sides opposite each other are averaged. Raises
    BadValue for corners in a line.
    """
    (ulx, uly), (urx, ury), (lrx, lry), (llx, lly) = (
        (x * width_px, y * height_px) for x, y in corners
    )
    ex, ey = (urx - ulx + lrx - llx) / (2 * width_mm), (ury - uly + lry - lly) / (2 * width_mm)
    fx, fy = (llx - ulx + lrx - urx) / (2 * height_mm), (lly - uly + lry - ury) / (2 * height_mm)
    area = ex * fy - ey * fx
    if abs(area) * width_mm * height_mm < LEAST_AREA * width_px * height_px:
        raise BadValue("These four corners lie in a line.")
    a, b, c, d = fy / area, -ey / area, -fx / area, ex / area
    middle_x, middle_y = (ulx + urx + lrx + llx) / 4, (uly + ury + lry + lly) / 4
    e = width_mm / 2 - a * middle_x - c * middle_y
    f = height_mm / 2 - b * middle_x - d * middle_y
    return a, b, c, d, e, f


def point_laid(matrix: Matrix, point: Point) -> Point:
    """Return where a point comes to lie by a map."""
    a, b, c, d, e, f = matrix
    x, y = point
    return a * x + c * y + e, b * x + d * y + f


def laid_then(first: Matrix, then: Matrix) -> Matrix:
    """Return the map that does one after the other."""
    a, b, c, d, e, f = first
    p, q, r, s, t, u = then
    origin = p * e + r * f + t, q * e + s * f + u
    return p * a + r * b, q * a + s * b, p * c + r * d, q * c + s * d, *origin


def edge_upon_edge(edge: tuple[Point, Point], onto: tuple[Point, Point]) -> Matrix:
    """Return the turn and shift that lays one straight edge upon another, in mm.

    It is turned about its middle and shifted at right angles to the other: along the edge
    nothing moves, since two windows need not be as long as each other.
    """
    (ax, ay), (bx, by) = edge
    (px, py), (qx, qy) = onto
    there = atan2(qy - py, qx - px)
    turn = there - atan2(by - ay, bx - ax)
    middle_x, middle_y = (ax + bx) / 2, (ay + by) / 2
    off = -sin(there) * ((px + qx) / 2 - middle_x) + cos(there) * ((py + qy) / 2 - middle_y)
    shift_x, shift_y = -sin(there) * off, cos(there) * off
    a, b = cos(turn), sin(turn)
    e = middle_x + shift_x - a * middle_x + b * middle_y
    f = middle_y + shift_y - b * middle_x - a * middle_y
    return a, b, -b, a, e, f


def laid_whole(*, width_px: int, height_px: int, width_mm: float, height_mm: float) -> Matrix:
    """Return the map that lays a whole picture into the middle of a sheet."""
    scale = min(width_mm / width_px, height_mm / height_px)
    left, top = (width_mm - scale * width_px) / 2, (height_mm - scale * height_px) / 2
    return scale, 0.0, 0.0, scale, left, top
