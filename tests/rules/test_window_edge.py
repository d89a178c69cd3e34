"""How a band lies alongside the edge of a window."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.finding_outline import Band, Sheet, area_mm2, band_outlines
from models.rules.window_edge import band_along_window, window_edge_mm, window_side
from models.vocabulary import Edge

SHEET = Sheet(width_mm=400, height_mm=300)
EDGES = (Edge.TOP, Edge.RIGHT, Edge.BOTTOM, Edge.LEFT)
# Turned a little: its left side leans to the right by 6 mm in 240, and so on round.
ASKEW = ((30, 32), (370, 28), (376, 268), (36, 272))
SQUARE = ((30, 30), (370, 30), (370, 270), (30, 270))


@pytest.mark.parametrize(
    ("edge", "mm"), [(Edge.LEFT, 33), (Edge.TOP, 30), (Edge.RIGHT, 27), (Edge.BOTTOM, 30)]
)
def test_the_edge_of_a_window_is_measured_midway(edge: Edge, mm: float) -> None:
    assert window_edge_mm(ASKEW, edge, SHEET) == mm


def test_the_sides_of_a_window_are_told_apart_from_whichever_corner_it_is_named() -> None:
    for turned in range(4):
        window = (*ASKEW[turned:], *ASKEW[:turned])
        assert window_side(window, Edge.LEFT) == ((30, 32), (36, 272))
        assert window_side(window, Edge.BOTTOM) == ((36, 272), (376, 268))


def test_a_band_leans_as_the_window_does() -> None:
    ((outline),) = band_along_window(Band(Edge.LEFT, 12), SHEET, ASKEW)
    # 6 mm in 240 are 7.5 mm in 300: half of it less at the upper end, half more at the lower.
    assert outline == ((0, 0), (8.25, 0), (15.75, 300), (0, 300))
    (part,) = band_along_window(Band(Edge.TOP, 12, 100, 300), SHEET, ASKEW)
    assert part[:2] == ((100, 0), (300, 0))
    # 4 mm in 340: over the part of 200 mm it falls from 13.18 to 10.82 mm.
    assert [round(top, 2) for _, top in part[2:]] == [10.82, 13.18]


def test_a_band_goes_never_off_the_sheet() -> None:
    (outline,) = band_along_window(Band(Edge.LEFT, 2), SHEET, ASKEW)
    assert outline == ((0, 0), (0, 0), (4, 300), (0, 300))


@pytest.mark.parametrize("edge", [*EDGES, Edge.ALL])
def test_alongside_a_window_that_lies_square_a_band_is_as_without_it(edge: Edge) -> None:
    band = Band(edge, 12)
    by_window = band_along_window(band, SHEET, SQUARE)
    areas = sum(map(area_mm2, by_window)), sum(map(area_mm2, band_outlines(band, SHEET)))
    assert areas[0] == pytest.approx(areas[1])
    if edge is not Edge.ALL:
        assert by_window == band_outlines(band, SHEET)


@given(st.sampled_from(EDGES), st.floats(10, 60), st.floats(-9, 9), st.floats(-9, 9))
def test_a_band_measures_the_same_however_the_window_lies(
    edge: Edge, reach: float, one: float, other: float
) -> None:
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = SQUARE
    window = ((ax + one, ay), (bx, by + other), (cx, cy), (dx, dy + other))
    band = Band(edge, reach)
    (leaning,), (square,) = band_along_window(band, SHEET, window), band_outlines(band, SHEET)
    assert area_mm2(leaning) == pytest.approx(area_mm2(square))
