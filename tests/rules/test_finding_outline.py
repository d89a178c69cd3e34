import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import BadValue
from models.rules.finding_outline import (
    Band,
    Sheet,
    area_mm2,
    band_outlines,
    checked_points,
    cut_to,
    edge_length_mm,
    extent_percent,
    nearest_edge,
    reach_mm,
    refuse_off_the_sheet,
)
from models.vocabulary import Edge, OutlineShape

SHEET = Sheet(width_mm=400, height_mm=300)
EDGES = (Edge.TOP, Edge.RIGHT, Edge.BOTTOM, Edge.LEFT)


def test_a_triangle_measures_half_its_base_times_its_height() -> None:
    assert area_mm2([(10, 10), (110, 10), (40, 60)]) == 2500


def test_a_regular_polygon_of_very_many_sides_measures_as_its_circle() -> None:
    # n/2 r^2 sin(2 pi / n): any table of plane figures.
    turns = 2 * np.pi * np.arange(360) / 360
    ring = [(200 + 50 * np.cos(t), 150 + 50 * np.sin(t)) for t in turns]
    printed = 360 / 2 * 50**2 * np.sin(2 * np.pi / 360)
    np.testing.assert_allclose(area_mm2(ring), printed, rtol=1e-12)


def test_a_lattice_outline_measures_as_picks_theorem_counts_it() -> None:
    # Pick's theorem: points inside + points on the outline / 2 - 1.
    corner = [(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)]
    inside = sum(1 for x in range(1, 4) for y in range(1, 4) if x < 2 or y < 2)
    around = 16
    assert area_mm2(corner) == inside + around / 2 - 1 == 12


def test_what_goes_beyond_the_sheet_does_not_count() -> None:
    over_the_corner = [(-10, -10), (30, -10), (30, 20), (-10, 20)]
    assert area_mm2(cut_to(over_the_corner, SHEET)) == 30 * 20
    assert extent_percent([over_the_corner], SHEET) == pytest.approx(0.5)
    assert cut_to([(-9, -9), (-5, -9), (-5, -1)], SHEET) == ()


def test_an_outline_round_the_whole_sheet_is_all_of_it() -> None:
    assert extent_percent([[(-5, -5), (405, -5), (405, 305), (-5, 305)]], SHEET) == 100.0


def test_a_band_of_12_mm_along_the_left_edge_is_3_percent_of_a_sheet_400_mm_wide() -> None:
    outlines = band_outlines(Band(Edge.LEFT, 12), SHEET)
    assert outlines == (((0, 0), (12, 0), (12, 300), (0, 300)),)
    assert extent_percent(outlines, SHEET) == pytest.approx(3.0)


def test_a_band_along_a_part_of_an_edge_covers_that_part() -> None:
    (bottom,) = band_outlines(Band(Edge.BOTTOM, 10, from_mm=100, to_mm=300), SHEET)
    assert bottom == ((100, 290), (300, 290), (300, 300), (100, 300))
    (right,) = band_outlines(Band(Edge.RIGHT, 10, from_mm=50), SHEET)
    assert right == ((390, 50), (400, 50), (400, 300), (390, 300))
    (top,) = band_outlines(Band(Edge.TOP, 10, to_mm=50), SHEET)
    assert top == ((0, 0), (50, 0), (50, 10), (0, 10))


def test_a_band_along_all_edges_counts_no_corner_twice() -> None:
    # The sheet less its middle: 400 x 300 less 380 x 280.
    outlines = band_outlines(Band(Edge.ALL, 10), SHEET)
    assert extent_percent(outlines, SHEET) == pytest.approx(100 * (1 - 380 * 280 / 120_000))
    assert extent_percent(band_outlines(Band(Edge.ALL, 200), SHEET), SHEET) == 100.0


@given(st.lists(st.tuples(st.floats(-20, 420), st.floats(-20, 320)), min_size=3, max_size=9))
def test_no_outline_covers_more_than_the_sheet(points: list[tuple[float, float]]) -> None:
    for left, top in cut_to(points, SHEET):
        assert -1e-9 <= left <= 400 + 1e-9
        assert -1e-9 <= top <= 300 + 1e-9
    assert 0 <= extent_percent([points], SHEET) <= 100


def test_an_outline_reaches_as_far_in_as_its_furthest_point() -> None:
    points = [(0.0, 100.0), (14.0, 120.0), (9.0, 150.0)]
    assert [reach_mm(points, edge, SHEET) for edge in EDGES] == [150, 400, 200, 14]
    assert reach_mm(points, Edge.ALL, SHEET) == 14
    assert nearest_edge(points, SHEET) is Edge.LEFT


def test_edges_are_as_long_as_the_sheet_is_wide_or_high() -> None:
    assert [edge_length_mm(edge, SHEET) for edge in EDGES] == [400, 300, 400, 300]


@pytest.mark.parametrize(
    ("shape", "count", "said"),
    [
        (OutlineShape.POINT, 2, "A point is one place; 2 were given"),
        (OutlineShape.OUTLINE, 2, "3 to 400 points; 2 are none"),
        (OutlineShape.OUTLINE, 401, "3 to 400 points; 401 are none"),
        (OutlineShape.BAND, 1, "A band has no points"),
    ],
)
def test_a_shape_with_a_wrong_number_of_points_is_refused(
    shape: OutlineShape, count: int, said: str
) -> None:
    with pytest.raises(BadValue, match=said):
        checked_points(shape, [(1.0, 1.0)] * count)


def test_a_shape_with_the_right_number_of_points_is_taken() -> None:
    counts = {OutlineShape.POINT: 1, OutlineShape.OUTLINE: 3, OutlineShape.BAND: 0}
    taken = {shape: len(checked_points(shape, [(1.0, 1.0)] * counts[shape])) for shape in counts}
    assert taken == counts


def test_a_point_far_off_the_sheet_is_refused_and_one_just_past_its_edge_is_not() -> None:
    refuse_off_the_sheet([(-19.0, 319.0)], SHEET)
    with pytest.raises(BadValue, match="430 mm from the left, 10 mm from the top is off"):
        refuse_off_the_sheet([(430.0, 10.0)], SHEET)
    with pytest.raises(BadValue, match="is off the sheet"):
        refuse_off_the_sheet([(10.0, 330.0)], SHEET)
