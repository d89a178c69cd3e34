"""How photographs of one sheet are laid upon each other."""

import pytest

from models.errors import BadValue
from models.rules.flat_picture import (
    Matrix,
    Point,
    edge_upon_edge,
    laid_by_corners,
    laid_then,
    laid_whole,
    point_laid,
)

SQUARE = ((0.1, 0.1), (0.9, 0.1), (0.9, 0.9), (0.1, 0.9))


def laid(matrix: Matrix, at: Point) -> Point:
    a, b, c, d, e, f = matrix
    return round(a * at[0] + c * at[1] + e, 6), round(b * at[0] + d * at[1] + f, 6)


def test_the_corners_of_a_sheet_come_to_lie_at_its_size() -> None:
    matrix = laid_by_corners(SQUARE, width_px=1000, height_px=500, width_mm=400, height_mm=300)
    assert [laid(matrix, (x * 1000, y * 500)) for x, y in SQUARE] == [
        (0.0, 0.0),
        (400.0, 0.0),
        (400.0, 300.0),
        (0.0, 300.0),
    ]


def test_a_sheet_photographed_on_its_side_is_turned_upright() -> None:
    # Upper left of the sheet at the upper right of the picture: turned by a quarter.
    turned = ((0.9, 0.1), (0.9, 0.9), (0.1, 0.9), (0.1, 0.1))
    matrix = laid_by_corners(turned, width_px=1000, height_px=1000, width_mm=200, height_mm=200)
    assert laid(matrix, (900, 100)) == (0.0, 0.0)
    assert laid(matrix, (900, 900)) == (200.0, 0.0)


def test_a_sheet_seen_askew_is_laid_as_near_as_it_goes() -> None:
    askew = ((0.1, 0.1), (0.9, 0.1), (0.85, 0.9), (0.15, 0.9))
    matrix = laid_by_corners(askew, width_px=1000, height_px=1000, width_mm=200, height_mm=200)
    left, top = laid(matrix, (100, 100))
    assert (-8 < left < 0, abs(top) < 1e-6) == (True, True)
    assert laid(matrix, (500, 500)) == (100.0, 100.0)


def test_corners_in_a_line_lay_nothing() -> None:
    line = ((0.1, 0.1), (0.2, 0.2), (0.3, 0.3), (0.4, 0.4))
    with pytest.raises(BadValue):
        laid_by_corners(line, width_px=100, height_px=100, width_mm=10, height_mm=10)


def test_a_picture_without_corners_lies_whole_in_the_middle_of_its_sheet() -> None:
    matrix = laid_whole(width_px=100, height_px=100, width_mm=400, height_mm=300)
    assert (laid(matrix, (0, 0)), laid(matrix, (100, 100))) == ((50.0, 0.0), (350.0, 300.0))


def test_an_edge_comes_to_lie_upon_another_without_moving_along_it() -> None:
    onto = ((50.0, 0.0), (50.0, 300.0))
    matrix = edge_upon_edge(((40.0, 30.0), (40.0, 130.0)), onto)
    assert [laid(matrix, point) for point in ((40, 30), (40, 130))] == [(50, 30), (50, 130)]


def test_an_edge_askew_is_turned_about_its_middle_and_keeps_its_length() -> None:
    # A side of 3, 4, 5: turned upright it is as long as before.
    matrix = edge_upon_edge(((0.0, 0.0), (3.0, 4.0)), ((1.5, 0.0), (1.5, 9.0)))
    assert [laid(matrix, point) for point in ((0, 0), (3, 4))] == [(1.5, -0.5), (1.5, 4.5)]


def test_two_maps_one_after_the_other_are_one() -> None:
    first, then = (2.0, 0.0, 0.0, 2.0, 1.0, 0.0), (0.0, 1.0, -1.0, 0.0, 0.0, 5.0)
    both = laid_then(first, then)
    assert point_laid(both, (3, 4)) == point_laid(then, point_laid(first, (3, 4))) == (-8, 12)
