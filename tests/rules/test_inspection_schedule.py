"""Limits and steps of the schedule: policy of the project, no source."""

from datetime import date

import pytest

from models.rules.calendar_days import add_years, day_number
from models.rules.inspection_schedule import (
    Scheduled,
    Soundness,
    box_check,
    by_formula,
    clean_years_floor,
    shown_day,
    with_clean_years,
    with_look_limits,
    with_unframing_limits,
)
from models.rules.policy import Policy
from models.vocabulary import PlaceUse, Shown


def day(year: int, month: int, on: int) -> int:
    return day_number(date(year, month, on))


LAST = day(2026, 11, 25)
MARGINS = frozenset({Shown.MARGINS})


def look(formula: int | None, use: PlaceUse = PlaceUse.DISPLAY, last: int = LAST) -> int | None:
    return with_look_limits(Scheduled(formula), last_day=last, use=use, policy=Policy()).on


def unframing(
    formula: int | None,
    use: PlaceUse = PlaceUse.DISPLAY,
    soundness: Soundness = Soundness.OTHER,
    because: str | None = None,
) -> Scheduled:
    return with_unframing_limits(
        Scheduled(formula),
        last_day=LAST,
        use=use,
        soundness=soundness,
        left_in_peace_because=because,
        policy=Policy(),
    )


def test_a_keeper_may_set_other_limits() -> None:
    policy = Policy(look_latest_display_months=6, unframing_latest_months=60, box_check_months=6)
    dated = Scheduled(None)
    looked = with_look_limits(dated, last_day=LAST, use=PlaceUse.DISPLAY, policy=policy)
    unframed = with_unframing_limits(
        dated,
        last_day=LAST,
        use=PlaceUse.DISPLAY,
        soundness=Soundness.OTHER,
        left_in_peace_because=None,
        policy=policy,
    )
    checked = box_check(last_day=LAST, use=PlaceUse.BOX, policy=policy)
    assert [looked.on, unframed.on, checked.on] == [
        day(2027, 5, 25),
        day(2031, 11, 25),
        day(2027, 5, 25),
    ]
    assert checked.steps == ("The box is checked every 6 months, last on 25 November 2026.",)


@pytest.mark.parametrize(
    ("use", "formula", "due"),
    [
        (PlaceUse.DISPLAY, LAST, day(2026, 12, 25)),
        (PlaceUse.DISPLAY, day(2027, 3, 1), day(2027, 3, 1)),
        (PlaceUse.DISPLAY, None, day(2027, 11, 25)),
        (PlaceUse.STORAGE, None, day(2029, 11, 25)),
        (PlaceUse.TRANSIT, None, day(2027, 11, 25)),
        (PlaceUse.BOX, day(2027, 3, 1), None),
    ],
)
def test_a_look_is_not_sooner_than_a_month_and_not_later_than_its_place_allows(
    use: PlaceUse, formula: int | None, due: int | None
) -> None:
    assert look(formula, use) == due


def test_a_month_after_the_end_of_january_is_the_end_of_february() -> None:
    assert look(0, last=day(2027, 1, 31)) == day(2027, 2, 28)


@pytest.mark.parametrize(
    ("use", "soundness", "years"),
    [
        (PlaceUse.DISPLAY, Soundness.SOUND, 20),
        (PlaceUse.DISPLAY, Soundness.OTHER, 10),
        (PlaceUse.STORAGE, Soundness.UNKNOWN, 10),
        (PlaceUse.BOX, Soundness.SOUND, 20),
        (PlaceUse.BOX, Soundness.OTHER, 10),
        (PlaceUse.BOX, Soundness.UNKNOWN, 5),
    ],
)
def test_an_unframing_is_not_sooner_than_a_year_and_the_later_the_better_it_is_known(
    use: PlaceUse, soundness: Soundness, years: int
) -> None:
    assert unframing(None, use, soundness).on == day(2026 + years, 11, 25)
    assert unframing(LAST, use, soundness).on == day(2027, 11, 25)


def test_each_limit_is_said_with_its_numbers() -> None:
    assert unframing(None).steps == (
        "Limits: between 1 year and 10 years after the last unframing on 25 November 2026"
        " (not every layer is known and sound). That makes it 25 November 2036.",
    )


def test_what_is_left_in_peace_has_no_latest_day() -> None:
    far = day(2090, 1, 1)
    assert unframing(far, because="its surface is friable").on == far
    assert unframing(None, because="its surface is friable").on is None


def test_without_an_examination_on_record_there_is_no_limit() -> None:
    dated = with_look_limits(Scheduled(LAST), last_day=None, use=PlaceUse.DISPLAY, policy=Policy())
    assert dated.on == LAST


@pytest.mark.parametrize(
    ("clean_years", "floor"),
    [
        (0.0, day(2027, 11, 25)),
        (4.0, day(2027, 11, 25)),
        (8.0, add_years(LAST, 2)),
        (40.0, add_years(LAST, 10)),
    ],
)
def test_a_quarter_of_the_clean_years_is_granted_and_never_less_than_one(
    clean_years: float, floor: int
) -> None:
    assert clean_years_floor(LAST, clean_years) == floor


@pytest.mark.parametrize(
    ("others", "due"),
    [(None, LAST + 700), (LAST + 500, LAST + 500), (LAST + 900, LAST + 700)],
)
def test_a_clean_place_is_held_back_and_the_others_are_not(others: int | None, due: int) -> None:
    dated = with_clean_years(
        Scheduled(LAST + 100),
        others_day=others,
        floor_day=LAST + 700,
        places=MARGINS,
        clean_years=7.0,
    )
    assert dated.on == due


def test_a_date_by_formula_beyond_the_floor_stays() -> None:
    dated = with_clean_years(
        Scheduled(LAST + 900),
        others_day=None,
        floor_day=LAST + 700,
        places=MARGINS,
        clean_years=7.0,
    )
    assert dated.on == LAST + 900


def test_the_formula_says_its_places_its_chance_and_its_day() -> None:
    dated = by_formula(LAST, allowed=0.05, places=[Shown.FRONT])
    assert dated.steps == (
        "By the formula the chance of unseen harm (front) reaches 5 % on 25 November 2026.",
    )
    never = by_formula(None, allowed=0.1, places=[Shown.FRONT])
    assert never.steps == ("By the formula the chance of unseen harm (front) does not reach 10 %.",)


def test_a_box_is_checked_every_year_and_nothing_else_is() -> None:
    assert box_check(last_day=LAST, use=PlaceUse.BOX, policy=Policy()).on == day(2027, 11, 25)
    assert box_check(last_day=LAST, use=PlaceUse.DISPLAY, policy=Policy()).on is None


def test_a_day_that_is_past_is_due_today() -> None:
    assert [shown_day(on, 100) for on in (None, 99, 100, 101)] == [None, 100, 100, 101]
