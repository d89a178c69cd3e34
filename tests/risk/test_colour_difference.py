"""Against the published test pairs, and against the formula written out once more.

tests/reference/ciede2000_pairs.csv holds all 34 pairs of Sharma, Wu, Dalal, "The
CIEDE2000 color-difference formula: implementation notes, supplementary test data
and mathematical observations", Color Research and Application 30 (2005) 21-30,
table 1, printed there to four decimals.
"""

import csv
from math import atan2, cos, degrees, exp, hypot, radians, sin, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.colour_difference import colour_difference

PAIRS_FILE = Path(__file__).parent.parent / "reference" / "ciede2000_pairs.csv"
CLEAN_PAPER, STAIN = (92.0, -0.5, 4.0), (88.0, 1.0, 12.0)

lab = st.tuples(st.floats(0, 100), st.floats(-128, 128), st.floats(-128, 128))


def published_pairs() -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    with PAIRS_FILE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return np.array([[float(figure) for figure in row[1:]] for row in rows])


def written_out(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """The formula as a textbook prints it, apart from the library."""
    mean_chroma = (hypot(*one[1:]) + hypot(*other[1:])) / 2
    g = 0.5 * (1 - sqrt(mean_chroma**7 / (mean_chroma**7 + 25.0**7)))
    (l1, c1, h1), (l2, c2, h2) = ((p[0], *polar((1 + g) * p[1], p[2])) for p in (one, other))
    turn = (h2 - h1 + 180) % 360 - 180 if c1 * c2 else 0.0
    dl, dc, dh = l2 - l1, c2 - c1, 2 * sqrt(c1 * c2) * sin(radians(turn / 2))
    lightness, chroma = (l1 + l2) / 2, (c1 + c2) / 2
    hue = h1 + h2 if not c1 * c2 else (h1 + turn / 2) % 360
    t = (
        1
        - 0.17 * cos(radians(hue - 30))
        + 0.24 * cos(radians(2 * hue))
        + 0.32 * cos(radians(3 * hue + 6))
        - 0.20 * cos(radians(4 * hue - 63))
    )
    sl = 1 + 0.015 * (lightness - 50) ** 2 / sqrt(20 + (lightness - 50) ** 2)
    sc, sh = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    rotation = -sin(radians(60 * exp(-(((hue - 275) / 25) ** 2))))
    rt = rotation * 2 * sqrt(chroma**7 / (chroma**7 + 25.0**7))
    parts = (dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2 + rt * (dc / sc) * (dh / sh)
    return sqrt(max(parts, 0.0))


def polar(a: float, b: float) -> tuple[float, float]:
    return hypot(a, b), degrees(atan2(b, a)) % 360 if a or b else 0.0


def test_all_published_pairs_come_out_to_the_printed_digits() -> None:
    pairs = published_pairs()
    assert len(pairs) == 34
    found = colour_difference(pairs[:, :3], pairs[:, 3:6])
    np.testing.assert_allclose(found, pairs[:, 6], rtol=0, atol=5.1e-5)


def test_the_formula_written_out_gives_the_same() -> None:
    pairs = published_pairs()
    # Pairs 10 and 14 lie on the jump of the mean hue: opposite hues have two means.
    apart = np.delete(np.arange(34), [9, 13])
    own = [written_out(tuple(row[:3]), tuple(row[3:6])) for row in pairs[apart]]
    found = colour_difference(pairs[apart, :3], pairs[apart, 3:6])
    np.testing.assert_allclose(found, own, rtol=0, atol=1e-9)


def test_paper_that_yellowed_has_moved_by_6_7() -> None:
    # Worked out independently when the formula was first checked, for these two colours.
    np.testing.assert_allclose(colour_difference(STAIN, CLEAN_PAPER), 6.7000, atol=5e-5)


# The grey scale for change in colour, ISO 105-A02: steps 4-5 to 1 in CIE L*a*b* of 1976 (from
# memory). Between greys to either side of L* 50 the two formulas agree.
@pytest.mark.parametrize("step", [0.8, 1.7, 2.5, 3.4, 4.8, 6.8, 9.6, 13.6])
def test_a_step_of_the_grey_scale_about_middle_grey_is_as_far_as_it_is_printed(step: float) -> None:
    darker, lighter = (50 - step / 2, 0, 0), (50 + step / 2, 0, 0)
    np.testing.assert_allclose(colour_difference(darker, lighter), step, rtol=1e-12)


def test_one_reference_serves_for_many_readings() -> None:
    found = colour_difference([STAIN, CLEAN_PAPER], CLEAN_PAPER)
    np.testing.assert_allclose(found, [6.7000, 0.0], atol=5e-5)


def test_a_missing_figure_leaves_the_difference_missing() -> None:
    found = colour_difference([(np.nan, 1.0, 2.0), STAIN], CLEAN_PAPER)
    np.testing.assert_array_equal(np.isnan(found), [True, False])


@given(lab, lab)
def test_it_does_not_matter_which_is_the_reference(
    one: tuple[float, float, float], other: tuple[float, float, float]
) -> None:
    np.testing.assert_allclose(
        colour_difference(one, other), colour_difference(other, one), atol=1e-9
    )


@given(lab)
def test_equal_colours_do_not_differ(one: tuple[float, float, float]) -> None:
    assert float(colour_difference(one, one)) == 0.0


def test_lightness_over_100_is_refused_by_name() -> None:
    with pytest.raises(OutsideKnownRange, match=r"L\* 101 is outside 0 to 100"):
        colour_difference((101.0, 0.0, 0.0), CLEAN_PAPER)
