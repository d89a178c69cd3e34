"""Sheets that grow and shrink, against worked cases of the trade."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.risk.paper_movement import clearance_mm, movement_mm


# Worked by hand: a sheet of 560 mm across the grain, fitted at 50 %.
@pytest.mark.parametrize(
    ("rh_percent", "grows_mm"), [(60, 0.56), (70, 1.12), (80, 1.68), (30, -1.12), (50, 0)]
)
def test_a_sheet_of_560_mm_grows_half_a_millimetre_for_ten_percent(
    rh_percent: float, grows_mm: float
) -> None:
    assert movement_mm(560, rh_percent - 50) == pytest.approx(grows_mm)


def test_along_its_grain_a_sheet_of_760_mm_moves_less() -> None:
    found = movement_mm(760, [10, 20, 30, -20], per_percent=0.4e-4)
    np.testing.assert_allclose(found, [0.304, 0.608, 0.912, -0.608])


def test_a_sheet_of_600_mm_asks_for_1_6_mm_a_side() -> None:
    # Worked by hand: 50 to 70 %, 1.20 mm in all, and a millimetre for the knife.
    assert clearance_mm(600, 20) == pytest.approx(1.6)


def test_a_sheet_that_only_shrinks_asks_for_what_the_knife_is_out() -> None:
    assert clearance_mm(600, -20) == 1.0


@given(st.floats(1, 3000), st.floats(-100, 100))
def test_a_sheet_that_goes_out_and_back_is_as_long_as_before(length: float, change: float) -> None:
    assert movement_mm(length, change) + movement_mm(length, -change) == 0
