from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.calendar_days import (
    LAST_DAY,
    add_months,
    add_years,
    day_date,
    day_in_words,
    day_number,
    years_between,
)


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 1, 31), 1, date(2028, 2, 29)),
        (date(2026, 11, 25), 12, date(2027, 11, 25)),
        (date(2026, 11, 25), -12, date(2025, 11, 25)),
    ],
)
def test_a_month_keeps_the_end_of_the_month(start: date, months: int, end: date) -> None:
    assert day_date(add_months(day_number(start), months)) == end


def test_six_years_by_dates_are_not_quite_six_years_of_a_clock() -> None:
    # Independent computation, design table: 2191 days.
    span = years_between(day_number(date(2020, 11, 25)), day_number(date(2026, 11, 25)))
    assert round(span, 5) == 5.99863


def test_a_date_is_the_first_whole_day_on_which_it_has_come() -> None:
    assert add_years(0, 2.4705) == 903


def test_nothing_is_due_after_the_calendar_ends() -> None:
    assert (add_years(20_000, float("inf")), add_months(LAST_DAY, 1)) == (LAST_DAY, LAST_DAY)


def test_a_day_is_said_as_people_write_it() -> None:
    assert day_in_words(day_number(date(2029, 3, 5))) == "5 March 2029"


@given(st.dates(), st.integers(0, 600))
def test_more_months_never_come_earlier(start: date, months: int) -> None:
    day = day_number(start)
    assert add_months(day, months + 1) >= add_months(day, months) >= day
