"""The damp clock, against the points of the published curve and a worked case."""

import math
from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import OutsideKnownRange
from models.risk.damp import FOXING_FROM_PERCENT, damp_rate_per_day, days_to_growth, progress


@pytest.mark.parametrize(
    ("rh_percent", "days"), [(65, 1095), (70, 100), (75, 37), (80, 10), (90, 2), (100, 2)]
)
def test_the_points_of_the_curve_are_days_to_growth_at_25_degrees(
    rh_percent: float, days: float
) -> None:
    assert days_to_growth(25, rh_percent) == pytest.approx(days)


def test_fourteen_degrees_and_72_percent_take_144_days() -> None:
    # Worked out apart to six digits; 2.53616 germinations a year.
    assert days_to_growth(14, 72) == pytest.approx(144.017, abs=5e-4)
    assert damp_rate_per_day(14, 72) * 365.25 == pytest.approx(2.53616, abs=5e-6)


@pytest.mark.parametrize(("temperature_c", "rh_percent"), [(20, 64.9), (1.9, 90), (45.1, 90)])
def test_nothing_grows_in_dry_or_very_cold_or_very_hot_air(
    temperature_c: float, rh_percent: float
) -> None:
    assert days_to_growth(temperature_c, rh_percent) == math.inf


def test_dry_air_undoes_a_germination_in_thirty_days() -> None:
    assert damp_rate_per_day(20, 50) * 30 == pytest.approx(-1)
    assert damp_rate_per_day(0, 80) == 0


def test_foxing_is_counted_from_sixty_percent() -> None:
    rate = damp_rate_per_day(25, [59.9, 60, 65, 70], from_percent=FOXING_FROM_PERCENT)
    np.testing.assert_allclose(rate, [-1 / 30, 100 / 1095**2, 1 / 1095, 1 / 100])


@given(st.floats(2, 44), st.floats(0, 99), st.floats(0.01, 1))
def test_damper_or_warmer_air_is_never_slower(
    temperature_c: float, rh_percent: float, more: float
) -> None:
    here = damp_rate_per_day(temperature_c, rh_percent)
    assert damp_rate_per_day(temperature_c, rh_percent + more) >= here
    assert damp_rate_per_day(temperature_c + more, rh_percent) >= here


def test_a_missing_reading_stays_missing() -> None:
    rates = damp_rate_per_day([20, math.nan, 20], [70, 70, math.nan])
    assert list(np.isnan(rates)) == [False, True, True]


def test_impossible_humidity_is_refused() -> None:
    with pytest.raises(OutsideKnownRange):
        days_to_growth(20, 101)


# 144.017 days at 14 degC and 72 % are one germination; dry days then take 1/30 a day back.
def test_a_damp_spell_comes_to_a_germination_and_a_dry_month_undoes_it() -> None:
    damp = np.full(144, float(damp_rate_per_day(14, 72)))
    dry = np.full(40, float(damp_rate_per_day(20, 50)))
    reached = progress(np.concatenate([damp, dry]))
    assert reached[[0, 144, 159, 184]] == pytest.approx([0, 144 / 144.017, 0.49988, 0], abs=1e-5)


def test_what_was_seen_clean_begins_anew() -> None:
    np.testing.assert_allclose(
        progress([0.25] * 4, start=0.5, clean_after=[2]), [0.5, 0.75, 0, 0.25, 0.5]
    )


def test_a_day_that_was_not_read_moves_nothing() -> None:
    np.testing.assert_allclose(progress([0.5, math.nan, 0.5]), [0, 0.5, 0.5, 1])


@given(st.lists(st.floats(-0.5, 0.5), max_size=60), st.floats(0, 3))
def test_the_sum_without_a_loop_is_the_sum_with_one(days: list[float], start: float) -> None:
    one_by_one = list(accumulate(days, lambda now, day: max(0.0, now + day), initial=start))
    np.testing.assert_allclose(progress(days, start), one_by_one, atol=1e-12)
