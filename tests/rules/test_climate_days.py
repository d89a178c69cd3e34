"""What a clock adds up day by day from readings, against integrals done by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.climate_days import (
    COLUMNS,
    DAY_S,
    EDGE_S,
    LONGEST_HOLE_S,
    days_of_readings,
    integrals_by_day,
)

HOUR = 3600
FIVE_MINUTES = 300
NOTHING = np.nan


NO_READINGS = (np.empty(0, np.int64), np.empty((0, 2)))


def row(figures: list[float], count: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.tile(np.array(figures), (count, 1))


def test_a_steady_day_at_the_reference_climate_is_one_day() -> None:
    seconds = np.arange(0, DAY_S + 1, FIVE_MINUTES)
    days = days_of_readings((seconds, row([20, 50], len(seconds))), NO_READINGS)
    # The first and the last reading reach past midnight: those are no days that were read.
    assert days[:, 0].tolist() == [0]
    told = dict(zip(COLUMNS, days[0], strict=True))
    assert told == pytest.approx(
        {
            "day": 0,
            "read_share": 1,
            "paper_days": 1,
            "adhesive_days": 1,
            "damp": -1 / 30,
            "damp_from_60": -1 / 30,
            "light_read_share": 0,
            "lux_hours": 0,
            "uv_lux_hours": 0,
        }
    )


def test_light_adds_up_to_lux_hours_and_ultraviolet_goes_with_it() -> None:
    seconds = np.arange(10 * HOUR, 18 * HOUR + 1, FIVE_MINUTES)
    days = days_of_readings(NO_READINGS, (seconds, row([200, 35], len(seconds))))
    read = 8 + 2 * EDGE_S / HOUR
    assert days[0].tolist() == pytest.approx([0, 0, 0, 0, 0, 0, read / 24, 200 * read, 7000 * read])


def test_an_interval_is_cut_at_midnight() -> None:
    seconds = np.array([DAY_S - HOUR, DAY_S + HOUR])
    found = integrals_by_day(seconds, np.array([[1.0], [3.0]]))
    assert found.days.tolist() == [0, 1]
    assert found.read_s.tolist() == [HOUR + EDGE_S, HOUR + EDGE_S]
    # By hand: the means of 1 to 2 and of 2 to 3, and a quarter of an hour at 1 and at 3.
    assert found.integrals[:, 0] * 24 == pytest.approx([1.5 + 0.25, 2.5 + 0.75])


def test_a_hole_of_more_than_six_hours_is_not_read() -> None:
    bridged = np.array([0, LONGEST_HOLE_S])
    hole = np.array([0, LONGEST_HOLE_S + 1])
    ones = np.ones((2, 1))
    read = [integrals_by_day(s + 2 * HOUR, ones).read_s.tolist() for s in (bridged, hole)]
    assert read == [[LONGEST_HOLE_S + 2 * EDGE_S], [4 * EDGE_S]]


def test_a_row_without_humidity_is_no_reading_of_the_climate() -> None:
    seconds = np.array([HOUR, 2 * HOUR, 3 * HOUR])
    figures = np.array([[20, 50], [40, NOTHING], [20, 50]])
    days = days_of_readings((seconds, figures), NO_READINGS)
    assert days[0][2] == pytest.approx((2 * HOUR + 2 * EDGE_S) / DAY_S)


def test_nothing_read_adds_up_to_nothing() -> None:
    assert days_of_readings(NO_READINGS, NO_READINGS).shape == (0, len(COLUMNS))


@given(
    st.lists(st.integers(0, 20 * DAY_S), min_size=1, max_size=60, unique=True),
    st.floats(0.1, 50),
)
def test_a_constant_rate_adds_up_to_the_time_that_was_read(moments: list[int], rate: float) -> None:
    seconds = np.array(sorted(moments)) + DAY_S
    found = integrals_by_day(seconds, np.full((len(seconds), 1), rate))
    assert found.integrals[:, 0] == pytest.approx(found.read_s / DAY_S * rate)
    steps = np.diff(seconds)
    bridged = steps[steps <= LONGEST_HOLE_S].sum()
    holes = (steps > LONGEST_HOLE_S).sum()
    assert found.read_s.sum() == bridged + 2 * EDGE_S * (holes + 1)
    assert (found.read_s <= DAY_S).all()


@given(st.lists(st.floats(-10, 40), min_size=2, max_size=40), st.floats(0.1, 10))
def test_a_warmer_record_never_ages_less(temperatures: list[float], more: float) -> None:
    seconds = np.arange(len(temperatures)) * HOUR
    figures = row([0.0, 50.0], len(temperatures))
    figures[:, 0] = temperatures
    warmer = figures.copy()
    warmer[:, 0] += more
    cool, warm = (days_of_readings((seconds, f), NO_READINGS) for f in (figures, warmer))
    assert (warm[:, 2] > cool[:, 2]).all()
