"""Against the equations of a projective map solved by linear algebra, and against Pillow."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from models.errors import BadValue, OutsideKnownRange
from models.rules.sheet_corners import (
    Corners,
    Point,
    SheetOnPhotograph,
    checked_corners,
    sheet_on_photograph,
)
from models.vocabulary import Side

ASKEW: Corners = ((0.12, 0.08), (0.91, 0.14), (0.86, 0.93), (0.07, 0.88))
STRAIGHT: Corners = ((0.1, 0.2), (0.9, 0.2), (0.9, 0.8), (0.1, 0.8))
WIDTH_MM, HEIGHT_MM = 400.0, 300.0

near = st.floats(-0.08, 0.08)


def sheet_of(corners: Corners, side: Side = Side.RECTO) -> SheetOnPhotograph:
    return sheet_on_photograph(corners, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, side=side)


def by_linear_algebra(corners: Corners, place_mm: Point) -> Point:
    """The eight equations of four pairs of points, with the ninth figure set to 1.

    R. Hartley, A. Zisserman, Multiple View Geometry in Computer Vision, 2nd edition (2004),
    section 4.1.2, the inhomogeneous solution; from memory.
    """
    on_sheet = ((0, 0), (WIDTH_MM, 0), (WIDTH_MM, HEIGHT_MM), (0, HEIGHT_MM))
    rows, right = [], []
    for (x, y), (u, v) in zip(on_sheet, corners, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    a, b, c, d, e, f, g, h = np.linalg.solve(np.array(rows, float), np.array(right, float))
    x, y = place_mm
    depth = g * x + h * y + 1
    return (a * x + b * y + c) / depth, (d * x + e * y + f) / depth


@given(
    corners=st.tuples(*[st.tuples(near, near)] * 4),
    left=st.floats(0, WIDTH_MM),
    top=st.floats(0, HEIGHT_MM),
)
def test_a_place_is_seen_where_the_equations_of_the_four_corners_put_it(
    corners: Corners, left: float, top: float
) -> None:
    moved = tuple((x + a, y + b) for (x, y), (a, b) in zip(STRAIGHT, corners, strict=True))
    place = (left, top)
    one, two, three, four = moved
    shaken = (one, two, three, four)
    seen = sheet_of(shaken).on_picture(place)
    np.testing.assert_allclose(seen, by_linear_algebra(shaken, place), rtol=0, atol=1e-9)
    np.testing.assert_allclose(sheet_of(shaken).on_sheet(seen), place, rtol=0, atol=1e-6)


def test_pillow_straightens_the_photograph_to_the_same_place() -> None:
    # Pillow's PERSPECTIVE takes the map from the straightened picture to the photograph.
    photograph = Image.new("L", (1000, 800), 0)
    seen = sheet_of(ASKEW).on_picture((100.0, 60.0))
    middle = (round(seen[0] * 1000), round(seen[1] * 800))
    photograph.paste(255, (middle[0] - 2, middle[1] - 2, middle[0] + 3, middle[1] + 3))
    (a, b, c), (d, e, f), (g, h, i) = sheet_of(ASKEW).sheet_to_picture
    scaled = [1000 * a, 1000 * b, 1000 * c, 800 * d, 800 * e, 800 * f, g, h]
    straight = photograph.transform(
        (400, 300), Image.Transform.PERSPECTIVE, [figure / i for figure in scaled]
    )
    box = straight.point(lambda v: 255 if v > 127 else 0).getbbox()
    assert box is not None
    np.testing.assert_allclose(
        [(box[0] + box[2]) / 2, (box[1] + box[3]) / 2], [100, 60], rtol=0, atol=1.0
    )


def test_the_diagonals_of_a_sheet_seen_askew_cross_in_its_middle() -> None:
    # Lines stay lines in every projective map, so the middle is where the diagonals cross.
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = ASKEW
    crossing = np.linalg.solve([[x2 - x0, x1 - x3], [y2 - y0, y1 - y3]], [x1 - x0, y1 - y0])[0]
    middle = (x0 + crossing * (x2 - x0), y0 + crossing * (y2 - y0))
    np.testing.assert_allclose(sheet_of(ASKEW).on_sheet(middle), (200, 150), rtol=0, atol=1e-9)


def test_on_the_verso_left_and_right_are_exchanged() -> None:
    verso = sheet_of(STRAIGHT, Side.VERSO)
    np.testing.assert_allclose(verso.on_picture((0.0, 0.0)), (0.9, 0.2), atol=1e-12)
    np.testing.assert_allclose(verso.on_picture((400.0, 300.0)), (0.1, 0.8), atol=1e-12)
    np.testing.assert_allclose(verso.on_sheet((0.1, 0.2)), (400.0, 0.0), atol=1e-9)


def test_a_sheet_photographed_upside_down_keeps_its_own_upper_left_corner() -> None:
    turned = (STRAIGHT[2], STRAIGHT[3], STRAIGHT[0], STRAIGHT[1])
    np.testing.assert_allclose(sheet_of(turned).on_picture((0.0, 0.0)), (0.9, 0.8), atol=1e-12)


@pytest.mark.parametrize(
    ("corners", "said"),
    [
        (STRAIGHT[:3], "four corners; 3 were given"),
        (STRAIGHT[::-1], "wrong way round"),
        ((STRAIGHT[1], STRAIGHT[0], STRAIGHT[2], STRAIGHT[3]), "sides cross"),
        (((0.1, 0.1), (0.5, 0.1), (0.9, 0.1), (0.5, 0.9)), "upper right corner"),
        (((0.1, 0.1), (0.9, 0.1), (0.3, 0.3), (0.1, 0.9)), "lower right corner"),
        (((0.5, 0.5), (0.5, 0.5), (0.9, 0.9), (0.1, 0.9)), "upper left corner"),
        (((0.1, float("nan")), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9)), "far outside"),
        (((0.1, 0.1), (3.0, 0.1), (0.9, 0.9), (0.1, 0.9)), "upper right corner lies far outside"),
    ],
)
def test_corners_that_make_no_sheet_are_refused_by_name(
    corners: tuple[Point, ...], said: str
) -> None:
    with pytest.raises(BadValue, match=said):
        checked_corners(corners)


def test_a_place_beyond_the_horizon_of_the_sheet_is_none_of_its_places() -> None:
    flat = ((0.4, 0.5), (0.6, 0.5), (0.95, 0.9), (0.05, 0.9))
    with pytest.raises(OutsideKnownRange, match="not on the plane"):
        sheet_of(flat).on_sheet((0.5, -1.0))
