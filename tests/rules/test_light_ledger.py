"""How much light has a work had, and when must it be taken down?"""

from dataclasses import replace
from datetime import date
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.calendar_days import day_number
from models.rules.climate_record import ClimateRecord
from models.rules.light_ledger import (
    TURNS,
    GlazedFor,
    LightBudget,
    LightLedger,
    LightSensitivity,
    LightStay,
    PlaceLight,
    days_a_year,
    light_budget,
    light_ledger,
    place_light,
    sensitivity_of,
    take_down_on,
)
from models.vocabulary import PlaceUse

TODAY = day_number(date(2026, 11, 25))
NEW_YEAR = day_number(date(2026, 1, 1))
FOR_GOOD = TODAY + 1


def lit(lux: float, hours: float = 8, *, uv: float = 10, days: float = 365) -> PlaceLight:
    """A room for showing."""
    return place_light(
        use=PlaceUse.DISPLAY,
        lux=lux,
        hours_per_day=hours,
        days_per_year=days,
        uv_uw_per_lm=uv,
        is_said=True,
    )


def hung(
    light_class: int,
    place: PlaceLight,
    *,
    since: int = TODAY,
    today: int = TODAY,
    glazed: tuple[GlazedFor, ...] = (),
    recovers: bool = False,
    by_fade_alone: bool = False,
) -> LightLedger:
    """The ledger of a work in one place."""
    return light_ledger(
        LightSensitivity(light_class, recovers),
        [LightStay(since, max(since, today) + 1, place)],
        glazed=glazed,
        today=today,
        by_fade_alone=by_fade_alone,
    )


@pytest.mark.parametrize(
    ("light_class", "lux", "hours", "by_fade", "by_cie"),
    [(2, 250, 8, 25.0, 7.5), (3, 150, 8, 125.0, 12.5), (5, 50, 10, None, 300.0)],
)
def test_days_a_year_on_show_are_those_of_the_table(
    light_class: int, lux: float, hours: float, by_fade: float | None, by_cie: float
) -> None:
    # Design table "days a year on show, JNF | CIE".
    budget = light_budget(LightSensitivity(light_class), uv_filtered=True)
    assert days_a_year(LightBudget(budget.by_fade_lux_hours, inf), lux * hours) == by_fade
    assert days_a_year(LightBudget(inf, budget.by_cie_lux_hours), lux * hours) == by_cie
    assert days_a_year(budget, lux * hours) == by_cie


def test_the_stricter_of_the_two_budgets_holds() -> None:
    sensitive = light_budget(LightSensitivity(1), uv_filtered=False)
    assert sensitive.lux_hours == sensitive.by_fade_lux_hours == pytest.approx(11_000)
    hardy = light_budget(LightSensitivity(5), uv_filtered=False)
    assert (hardy.by_fade_lux_hours, hardy.lux_hours) == (160_000, 150_000)


def test_a_house_may_go_by_the_fade_alone() -> None:
    budget = light_budget(LightSensitivity(2), uv_filtered=True, by_fade_alone=True)
    assert budget == LightBudget(50_000, inf)
    assert hung(2, lit(250), by_fade_alone=True).days_per_year == 25.0


def test_a_cyanotype_has_a_yearly_limit_and_no_count_of_fades() -> None:
    ledger = hung(3, lit(100), since=TODAY - 1000, recovers=True, by_fade_alone=True)
    assert ledger.fades_so_far is None
    assert ledger.years_to_fade is None
    assert ledger.budget == LightBudget(inf, 15_000)
    assert sensitivity_of(3, "cyanotype") == LightSensitivity(3, recovers=True)


def test_a_work_of_unknown_class_counts_as_sensitive_and_says_so() -> None:
    assert sensitivity_of(None, "none") == LightSensitivity(2, is_assumed=True)


def test_the_work_comes_down_on_the_day_its_budget_runs_out() -> None:
    ledger = hung(2, lit(250))
    assert ledger.days_per_year == 7.5
    assert ledger.left_lux_hours == 15_000
    assert ledger.take_down_on == day_number(date(2026, 12, 2))


def test_what_was_shown_since_new_year_counts_against_the_year() -> None:
    # Hung on 1 November at 50 lx and 8 hours: 24 days of 37.5 are gone.
    ledger = hung(3, lit(50), since=day_number(date(2026, 11, 1)))
    assert ledger.this_year.lux_hours == 24 * 400
    assert ledger.left_lux_hours == 15_000 - 9_600
    assert ledger.take_down_on == day_number(date(2026, 12, 8))


def test_last_year_does_not_count_against_this_one() -> None:
    ledger = hung(3, lit(10), since=day_number(date(2000, 1, 1)))
    assert ledger.this_year.lux_hours == (TODAY - NEW_YEAR) * 80
    assert ledger.so_far.lux_hours == (TODAY - day_number(date(2000, 1, 1))) * 80


def test_a_budget_that_is_used_up_means_today() -> None:
    ledger = hung(2, lit(250), since=NEW_YEAR)
    assert ledger.left_lux_hours < 0
    assert ledger.take_down_on == TODAY


def test_a_used_up_work_in_the_dark_has_nothing_to_come_down_from() -> None:
    dark = lit(0)
    stays = [LightStay(NEW_YEAR, TODAY - 10, lit(500)), LightStay(TODAY - 10, TODAY + 1, dark)]
    ledger = light_ledger(LightSensitivity(2), stays, today=TODAY)
    assert ledger.left_lux_hours < 0
    assert (ledger.take_down_on, ledger.days_per_year, ledger.turns) == (None, None, ())


def test_a_budget_that_outlasts_the_year_begins_anew_in_january() -> None:
    christmas = day_number(date(2026, 12, 25))
    # 12.5 days at 1200 lux hours: seven of them in this year, which are lost.
    ledger = hung(3, lit(150), since=christmas, today=christmas)
    assert ledger.take_down_on == day_number(date(2027, 1, 13))


def test_a_budget_for_the_whole_year_never_runs_out() -> None:
    assert hung(5, lit(50), since=NEW_YEAR).take_down_on is None
    assert hung(5, lit(50), since=NEW_YEAR).days_per_year is None


def test_it_counts_from_the_glazing_that_was_in_front_at_the_time() -> None:
    # 100 days unglazed and 100 behind a filter, at 1000 lux hours a day, class 2.
    sunny = lit(125, uv=75)
    filtered = GlazedFor(TODAY - 100, FOR_GOOD, 99)
    ledger = hung(2, sunny, since=TODAY - 200, glazed=(filtered,))
    assert ledger.uv_filtered
    assert ledger.so_far.fades == pytest.approx(100_000 / 0.6e6 + 100_000 / 1e6)
    assert ledger.so_far.lux_hours == 200_000


def test_plain_glass_is_no_filter() -> None:
    plain = hung(2, lit(100, uv=75), glazed=(GlazedFor(TODAY - 9, FOR_GOOD, 45),))
    unknown = hung(2, lit(100, uv=75), glazed=(GlazedFor(TODAY - 9, FOR_GOOD, None),))
    assert (plain.uv_filtered, unknown.uv_filtered) == (False, False)


def read(lux_hours: float, *, first: int, days: int) -> ClimateRecord:
    """What a logger read: so many lux hours on each of so many days."""
    totals = lux_hours * np.arange(days + 1, dtype=np.float64)
    return ClimateRecord(
        place=1, first_day=first, totals={}, lux_hours=totals, light_read_days=days
    )


def test_days_that_a_logger_read_stand_for_what_was_told() -> None:
    place = replace(lit(50), record=read(1_000, first=TODAY - 30, days=20))
    ledger = hung(5, place, since=TODAY - 40)
    assert ledger.so_far.lux_hours == 20 * 400 + 20 * 1_000
    assert (ledger.so_far.days, ledger.so_far.days_measured) == (40, 20)


def test_a_year_of_readings_says_how_bright_it_will_be() -> None:
    place = replace(lit(50), record=read(1_000, first=TODAY - 400, days=400))
    ledger = hung(3, place)
    assert ledger.is_measured
    assert ledger.lux_hours_a_day == pytest.approx(1_000)
    assert ledger.days_per_year == pytest.approx(15.0)


def test_a_few_days_read_do_not_speak_for_the_year() -> None:
    place = replace(lit(50), record=read(9_000, first=TODAY - 30, days=30))
    ledger = hung(5, place, since=TODAY - 40)
    assert (ledger.is_measured, ledger.lux_hours_a_day) == (False, 400)


def used_as(use: PlaceUse, *, is_said: bool, is_said_by_itself: bool = False) -> float:
    """What a day brings at 80 lx and eight hours in a place of this use."""
    return place_light(
        use=use,
        lux=80,
        hours_per_day=8,
        days_per_year=365,
        uv_uw_per_lm=10,
        is_said=is_said,
        is_said_by_itself=is_said_by_itself,
    ).told_lux_hours_a_day


def test_it_is_dark_in_a_box_whatever_the_room_is_like() -> None:
    assert used_as(PlaceUse.BOX, is_said=True) == 0
    assert used_as(PlaceUse.BOX, is_said=True, is_said_by_itself=True) == 640


def test_it_is_dark_in_a_store_of_which_nobody_says_otherwise() -> None:
    assert used_as(PlaceUse.STORAGE, is_said=False) == 0
    assert used_as(PlaceUse.STORAGE, is_said=True) == 640
    assert used_as(PlaceUse.DISPLAY, is_said=False) == 640


def test_a_place_lit_for_part_of_the_year_brings_so_much_less() -> None:
    closed_often = lit(100, 10, days=73)
    assert closed_often.told_lux_hours_a_day == 200
    # Fifteen days with light, of the 73 that it is lit; spread over the year they last 75.
    ledger = hung(3, closed_often, since=NEW_YEAR, today=NEW_YEAR)
    assert ledger.days_per_year == 15.0
    assert ledger.take_down_on == NEW_YEAR + 75


def test_taking_turns_halves_the_light_and_doubles_the_years() -> None:
    # 50 lx and gallery hours: 20 years to one fade of class 3 (published for 3000 hours a year).
    ledger = hung(3, lit(50, 10, days=300))
    assert [turn.turns for turn in ledger.turns] == list(TURNS)
    one, two, *_, twelve = ledger.turns
    assert one.years_to_fade == pytest.approx(20.0)
    assert two.years_to_fade == pytest.approx(40.0)
    assert (two.days_a_year, two.is_within_budget) == (182.5, False)
    assert twelve.years_to_fade == pytest.approx(240.0)
    assert twelve.lux_hours_a_year == pytest.approx(12_500)
    assert twelve.is_within_budget


def test_a_work_without_a_stay_on_record_has_no_dose() -> None:
    ledger = light_ledger(LightSensitivity(2), [], today=TODAY)
    assert (ledger.so_far.lux_hours, ledger.counted_from, ledger.take_down_on) == (0, None, None)


CLASSES = st.integers(1, 8)
LUX = st.floats(0, 2000)
HOURS = st.floats(0, 24)
SHOWN = st.integers(0, 3000)


def _or_never(day: int | None) -> float:
    return inf if day is None else day


@given(CLASSES, LUX, HOURS, SHOWN, st.floats(1, 3))
def test_brighter_is_never_later(c: int, lux: float, hours: float, shown: int, m: float) -> None:
    dim = hung(c, lit(lux, hours), since=TODAY - shown)
    bright = hung(c, lit(lux * m, hours), since=TODAY - shown)
    assert _or_never(bright.take_down_on) <= _or_never(dim.take_down_on)
    assert bright.left_lux_hours <= dim.left_lux_hours


@given(CLASSES, st.floats(1, 2000), SHOWN, st.integers(1, 300))
def test_longer_on_show_is_never_later(c: int, lux: float, shown: int, more: int) -> None:
    short = hung(c, lit(lux), since=TODAY - shown)
    long = hung(c, lit(lux), since=TODAY - shown - more)
    assert _or_never(long.take_down_on) <= _or_never(short.take_down_on)
    assert long.so_far.lux_hours > short.so_far.lux_hours


@given(st.integers(1, 7), st.floats(1, 2000), SHOWN)
def test_a_hardier_class_never_comes_down_sooner(c: int, lux: float, shown: int) -> None:
    weak = hung(c, lit(lux), since=TODAY - shown)
    hardy = hung(c + 1, lit(lux), since=TODAY - shown)
    assert _or_never(weak.take_down_on) <= _or_never(hardy.take_down_on)
    assert hardy.so_far.fades < weak.so_far.fades or shown == 0


@given(CLASSES, st.floats(1, 2000), SHOWN)
def test_ultraviolet_never_lets_a_work_hang_longer(c: int, lux: float, shown: int) -> None:
    filtered = hung(c, lit(lux, uv=10), since=TODAY - shown)
    present = hung(c, lit(lux, uv=75), since=TODAY - shown)
    assert _or_never(present.take_down_on) <= _or_never(filtered.take_down_on)


def test_one_more_lux_hour_than_left_is_today() -> None:
    budget = LightBudget(inf, 15_000)
    assert take_down_on(budget, 0, 400, TODAY) == TODAY
    assert take_down_on(budget, 1, 400, TODAY) == TODAY
    assert take_down_on(budget, 400, 400, TODAY) == TODAY + 1
