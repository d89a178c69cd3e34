"""The dew point, against other published constants and plain limits."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.dew_point import dew_point_c

# Worked out to 30 digits from the saturation pressure over water of Hyland and Wexler (1983) as
# the ASHRAE Handbook prints it (2338.8 Pa at 20 degC), solved for the temperature.
REFERENCE = Path(__file__).resolve().parent.parent / "reference" / "dew_points.csv"
with REFERENCE.open(encoding="utf-8", newline="") as file:
    HYLAND_WEXLER = [tuple(map(float, row)) for row in list(csv.reader(file))[1:]]
TEMPERATURES = st.floats(-30, 55)
HUMIDITIES = st.floats(2, 99)


@pytest.mark.parametrize(
    ("temperature_c", "rh_percent", "dew_c"),
    [
        # Computed apart from the printed formula of Alduchov and Eskridge (1996).
        (20, 50, 9.261),
        (20, 65, 13.221),
        (25, 60, 16.698),
        (21, 50, 10.181),
        (18, 55, 8.824),
        (10, 80, 6.708),
        (30, 70, 23.930),
    ],
)
def test_the_dew_point_is_that_of_the_printed_formula(
    temperature_c: float, rh_percent: float, dew_c: float
) -> None:
    assert dew_point_c(temperature_c, rh_percent) == pytest.approx(dew_c, abs=5e-4)


@pytest.mark.parametrize(("temperature_c", "rh_percent", "dew_c"), HYLAND_WEXLER)
def test_it_agrees_with_the_saturation_pressures_of_the_engineers_handbook(
    temperature_c: float, rh_percent: float, dew_c: float
) -> None:
    assert dew_point_c(temperature_c, rh_percent) == pytest.approx(dew_c, abs=0.05)


@given(TEMPERATURES)
def test_saturated_air_is_at_its_dew_point(temperature_c: float) -> None:
    assert dew_point_c(temperature_c, 100) == pytest.approx(temperature_c, abs=1e-9)


@given(TEMPERATURES, HUMIDITIES, st.floats(0.01, 1))
def test_damper_or_warmer_air_has_a_higher_dew_point(
    temperature_c: float, rh_percent: float, more: float
) -> None:
    here = dew_point_c(temperature_c, rh_percent)
    assert dew_point_c(temperature_c, rh_percent + more) > here
    assert dew_point_c(temperature_c + more, rh_percent) > here


def test_a_missing_reading_stays_missing() -> None:
    found = dew_point_c([20, math.nan, 20], [50, 50, math.nan])
    assert list(np.isnan(found)) == [False, True, True]


@pytest.mark.parametrize(("temperature_c", "rh_percent"), [(-41, 50), (61, 50), (20, 101)])
def test_what_no_room_can_be_is_refused(temperature_c: float, rh_percent: float) -> None:
    with pytest.raises(OutsideKnownRange):
        dew_point_c(temperature_c, rh_percent)
