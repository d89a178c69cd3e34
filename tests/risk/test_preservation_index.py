"""The Preservation Index, against its anchor, a table computed apart, and its mean."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.preservation_index import preservation_index_years, time_weighted_index_years

# Form A, computed apart from the printed formula: degC, % RH, years.
FORM_A = (
    (20, 50, 44.62),
    (20, 45, 51.06),
    (21, 50, 39.44),
    (25, 50, 24.28),
    (25, 75, 12.67),
    (30, 60, 10.48),
    (15, 40, 110.75),
    (15, 50, 83.78),
    (18, 45, 65.65),
    (10, 30, 286.69),
    (5, 35, 495.18),
    (20, 30, 76.50),
)


@pytest.mark.parametrize(("temperature_c", "rh_percent", "years"), FORM_A)
def test_the_index_is_that_of_form_a(temperature_c: float, rh_percent: float, years: float) -> None:
    assert preservation_index_years(temperature_c, rh_percent) == pytest.approx(years, abs=0.005)


def test_the_published_anchor_is_about_fifty_years_at_20_degrees_and_45_percent() -> None:
    assert preservation_index_years(20, 45) == pytest.approx(50, rel=0.03)


def test_equal_times_at_forty_and_eighty_years_make_fifty_three() -> None:
    assert time_weighted_index_years([40, 80], 1) == pytest.approx(53.33, abs=0.005)


def test_a_summer_counts_more_than_a_winter_makes_good() -> None:
    index = preservation_index_years([20, 25, 15], [50, 60, 40])
    assert time_weighted_index_years(index, [30, 30, 30]) == pytest.approx(35.35, abs=0.005)


def test_gaps_count_as_nothing() -> None:
    assert time_weighted_index_years([40, math.nan, 80], [1, 100, 1]) == pytest.approx(53.333333)
    assert math.isnan(time_weighted_index_years([math.nan], 1))


@given(st.floats(-23, 60), st.floats(6, 94), st.floats(0.01, 1))
def test_warmer_or_damper_never_lasts_longer(
    temperature_c: float, rh_percent: float, more: float
) -> None:
    here = preservation_index_years(temperature_c, rh_percent)
    assert preservation_index_years(temperature_c + more, rh_percent) < here
    assert preservation_index_years(temperature_c, rh_percent + more) < here


def test_the_index_of_many_readings_is_that_of_each() -> None:
    temperatures, humidities = np.array([10.0, 20.0, 30.0]), np.array([30.0, 50.0, 60.0])
    each = [
        float(preservation_index_years(t, rh))
        for t, rh in zip(temperatures, humidities, strict=True)
    ]
    assert preservation_index_years(temperatures, humidities).tolist() == each


@pytest.mark.parametrize(("temperature_c", "rh_percent"), [(-31, 50), (66, 50), (20, -1)])
def test_what_no_room_can_be_has_no_index(temperature_c: float, rh_percent: float) -> None:
    with pytest.raises(OutsideKnownRange):
        preservation_index_years(temperature_c, rh_percent)
