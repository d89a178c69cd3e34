"""Against colours whose L*a*b* is printed, and against what must hold of greys."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.photograph_colour import lab_of_srgb


# CSS Color Module Level 4, section on sample colour conversion, and B. Lindbloom's tables of
# companded sRGB under D50 with the Bradford adaptation (both from memory).
@pytest.mark.parametrize(
    ("rgb", "lab"),
    [
        ((1, 0, 0), (54.29, 80.81, 69.89)),
        ((0, 1, 0), (87.82, -79.29, 80.99)),
        ((0, 0, 1), (29.57, 68.30, -112.03)),
    ],
)
def test_the_primaries_of_a_screen_have_their_printed_lab(
    rgb: tuple[float, float, float], lab: tuple[float, float, float]
) -> None:
    np.testing.assert_allclose(lab_of_srgb(rgb), lab, rtol=0, atol=0.03)


def test_white_is_white_and_black_is_black() -> None:
    np.testing.assert_allclose(
        lab_of_srgb([(1, 1, 1), (0, 0, 0)]), [(100, 0, 0), (0, 0, 0)], atol=0.01
    )


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_lighter_grey_is_lighter_and_no_grey_has_a_hue(one: float, other: float) -> None:
    darker, lighter = lab_of_srgb([(min(one, other),) * 3, (max(one, other),) * 3])
    assert darker[0] <= lighter[0] + 1e-9
    np.testing.assert_allclose([darker[1:], lighter[1:]], 0, atol=0.01)


def test_many_places_are_read_as_each_alone() -> None:
    places = [(0.9, 0.85, 0.7), (0.95, 0.93, 0.88)]
    np.testing.assert_array_equal(lab_of_srgb(places), [lab_of_srgb(one) for one in places])


@pytest.mark.parametrize("rgb", [(1.1, 0, 0), (0, -0.1, 0), (float("nan"), 0, 0)])
def test_what_is_no_colour_is_refused(rgb: tuple[float, float, float]) -> None:
    with pytest.raises(OutsideKnownRange, match="from 0 to 1"):
        lab_of_srgb(rgb)
