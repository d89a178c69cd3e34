"""Clocks run by a measured record, against days counted by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.climate_record import ClimateRecord, record_of_days
from models.rules.default_figures import Clock
from models.rules.package_facts import ClimateFacts
from models.rules.place_clock import assumed_per_day, damp_reading, elapsed, rate_ahead

DAY_0 = 10_000
YEAR = 365.25
ASSUMED = ClimateFacts(temperature_c=20, rh_percent=50)


def a_record(
    count: int, *, paper: float = 1.0, damp: float = -1 / 30, **more: float
) -> ClimateRecord:
    """A record of as many days, each like the others and read whole unless told otherwise."""
    told = {
        "read_share": 1.0,
        "paper_days": paper,
        "adhesive_days": paper,
        "damp": damp,
        "damp_from_60": damp,
        "light_read_share": 0.0,
        "lux_hours": 0.0,
    } | more
    return of_days({name: np.full(count, value) for name, value in told.items()})


def of_days(days: dict[str, np.ndarray[tuple[int], np.dtype[np.float64]]]) -> ClimateRecord:
    return record_of_days(
        1,
        DAY_0,
        days,
        assumed_per_day={
            clock: assumed_per_day(clock, 20, 50) for clock in Clock if clock is not Clock.CALENDAR
        },
        assumed_lux_hours_per_day=400,
    )


def in_place(record: ClimateRecord) -> ClimateFacts:
    return ClimateFacts(temperature_c=20, rh_percent=50, record=record)


def test_what_ran_between_two_days_is_as_measured_inside_and_as_assumed_outside() -> None:
    place = in_place(a_record(100, paper=2.0))
    found = elapsed(Clock.PAPER, (), place, DAY_0 - 10, DAY_0 + 130)
    assert found == pytest.approx((10 + 200 + 30) / YEAR)
    assert elapsed(Clock.PAPER, (), place, DAY_0 + 20, DAY_0 + 30) == pytest.approx(20 / YEAR)


def test_a_calendar_clock_takes_no_notice_of_a_record() -> None:
    place = in_place(a_record(500, paper=2.0))
    assert elapsed(Clock.CALENDAR, (), place, DAY_0, DAY_0 + 100) == pytest.approx(100 / YEAR)
    assert rate_ahead(Clock.CALENDAR, place) == 1


def test_what_was_not_read_of_a_day_runs_as_assumed() -> None:
    record = a_record(10, paper=1.5, read_share=0.75, light_read_share=0.5, lux_hours=100)
    assert record.ran(Clock.PAPER, DAY_0, DAY_0 + 10) == pytest.approx(10 * (1.5 + 0.25))
    assert record.lit(DAY_0, DAY_0 + 10) == pytest.approx(10 * (100 + 200))
    assert (record.read_days, record.light_read_days) == (7.5, 5)


def test_a_year_of_365_days_is_whole() -> None:
    assert a_record(365, paper=2.0).whole_years == 1
    assert rate_ahead(Clock.PAPER, in_place(a_record(365, paper=2.0))) == pytest.approx(2.0)
    assert rate_ahead(Clock.PAPER, in_place(a_record(1095, paper=2.0))) == pytest.approx(2.0)


def test_a_record_of_less_than_a_year_says_nothing_of_the_years_to_come() -> None:
    assert rate_ahead(Clock.PAPER, in_place(a_record(364, paper=2.0))) == 1
    assert rate_ahead(Clock.PAPER, in_place(a_record(366, paper=2.0))) == pytest.approx(2.0)
    assert [in_place(a_record(n)).is_measured for n in (364, 365)] == [False, True]
    assert not ASSUMED.is_measured


def test_the_years_to_come_are_as_the_last_three() -> None:
    days = {name: np.ones(5 * 366) for name in ("read_share", "adhesive_days", "damp_from_60")}
    days |= {name: np.zeros(5 * 366) for name in ("light_read_share", "lux_hours", "damp")}
    days["paper_days"] = np.concatenate([np.full(2 * 366, 9.0), np.full(3 * 366, 2.0)])
    assert rate_ahead(Clock.PAPER, in_place(of_days(days))) == 2


def test_a_measured_damp_clock_ahead_runs_on_or_stands() -> None:
    assert rate_ahead(Clock.DAMP, in_place(a_record(366, damp=-0.01))) == 0
    assert rate_ahead(Clock.DAMP, in_place(a_record(366, damp=0.01))) == pytest.approx(0.01 * YEAR)


def test_mould_in_a_damp_month_of_the_record_is_there_to_be_seen() -> None:
    days = {
        name: np.concatenate([np.zeros(60) + dry, np.zeros(30) + damp])
        for name, dry, damp in (
            ("read_share", 1.0, 1.0),
            ("paper_days", 1.0, 1.0),
            ("adhesive_days", 1.0, 1.0),
            ("damp", -1 / 30, 0.02),
            ("damp_from_60", -1 / 30, 0.02),
            ("light_read_share", 0.0, 0.0),
            ("lux_hours", 0.0, 0.0),
        )
    }
    place = in_place(of_days(days))
    found = damp_reading(Clock.DAMP, (), place, begun=DAY_0 - 5, until=DAY_0 + 90 + 12)
    # Dry for 65 days, 30 days forward by 0.02, then back by a thirtieth for 12.
    assert (found.seen, found.now, found.peak) == pytest.approx((0, 0.6 - 0.4, 0.6))


@given(st.integers(0, 200), st.integers(0, 200), st.integers(0, 200))
def test_the_clock_of_a_record_adds_up_over_any_day_between(a: int, b: int, c: int) -> None:
    first, middle, last = sorted((a, b, c))
    place = in_place(a_record(100, paper=3.0))
    whole = elapsed(Clock.PAPER, (), place, DAY_0 - 50 + first, DAY_0 - 50 + last)
    parts = [
        elapsed(Clock.PAPER, (), place, DAY_0 - 50 + start, DAY_0 - 50 + end)
        for start, end in ((first, middle), (middle, last))
    ]
    assert whole == pytest.approx(sum(parts))


@given(st.lists(st.floats(-1 / 30, 0.5), min_size=1, max_size=60), st.floats(0, 3))
def test_a_damp_clock_by_record_is_the_day_by_day_one(each: list[float], begun: float) -> None:
    count = len(each)
    flat = np.zeros(count)
    record = of_days(
        {
            "read_share": np.ones(count),
            "paper_days": flat,
            "adhesive_days": flat,
            "damp": np.array(each),
            "damp_from_60": flat,
            "light_read_share": flat,
            "lux_hours": flat,
        }
    )
    cellar = ClimateFacts(temperature_c=25, rh_percent=70)
    # A hundred days to growth: as many before the record as make `begun`.
    before = round(begun * 100)
    past = ((DAY_0, cellar),)
    found = damp_reading(
        Clock.DAMP, past, in_place(record), begun=DAY_0 - before, until=DAY_0 + count
    )
    state = peak = before / 100
    for one in each:
        state = max(0.0, state + one)
        peak = max(peak, state)
    assert (found.now, found.peak) == pytest.approx((state, peak))
