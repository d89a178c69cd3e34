"""Limits and steps of the schedule: policy of the project, no source."""

from datetime import date

import numpy as np
import pytest

from models.rules.calendar_days import add_years, day_number
from models.rules.inspection_schedule import (
    Scheduled,
    Soundness,
    Step,
    StepKind,
    box_check,
    by_formula,
    clean_years_floor,
    deciding_step,
    look_months,
    shown_day,
    unframing_months,
    with_clean_years,
    with_look_limits,
    with_unframing_limits,
)
from models.rules.policy import Policy
from models.rules.work_dates import within_months
from models.vocabulary import PlaceUse, Shown


def day(year: int, month: int, on: int) -> int:
    return day_number(date(year, month, on))


LAST = day(2026, 11, 25)
MARGINS = frozenset({Shown.MARGINS})


def look(formula: int | None, use: PlaceUse = PlaceUse.DISPLAY, last: int = LAST) -> int | None:
    return within(formula, last, look_months(use, Policy()))


def unframing(
    formula: int | None,
    use: PlaceUse = PlaceUse.DISPLAY,
    soundness: Soundness = Soundness.OTHER,
    because: str | None = None,
    *,
    is_mounting: bool = False,
) -> Scheduled:
    on = formula
    if because is None:
        on = within(formula, LAST, unframing_months(use, soundness, Policy()))
    return with_unframing_limits(
        Scheduled(formula),
        on=on,
        last_day=LAST,
        use=use,
        soundness=soundness,
        left_in_peace_because=because,
        policy=Policy(),
        is_mounting=is_mounting,
    )


def within(formula: int | None, last: int, months: tuple[int, int]) -> int | None:
    earliest, latest = (np.array([its]) for its in months)
    day = np.array([np.nan if formula is None else formula])
    on = within_months(day, np.array([float(last)]), earliest, latest, where=np.array([True]))
    return int(on[0])


def test_a_keeper_may_set_other_limits() -> None:
    policy = Policy(look_latest_display_months=6, unframing_latest_months=60, box_check_months=6)
    assert look_months(PlaceUse.DISPLAY, policy) == (1, 6)
    assert unframing_months(PlaceUse.DISPLAY, Soundness.OTHER, policy) == (12, 60)
    checked = box_check(on=LAST + 181, last_day=LAST, use=PlaceUse.BOX, policy=policy)
    assert checked.sentences == ("The box is checked every 6 months, last on 25 November 2026.",)


@pytest.mark.parametrize(
    ("use", "formula", "due"),
    [
        (PlaceUse.DISPLAY, LAST, day(2026, 12, 25)),
        (PlaceUse.DISPLAY, day(2027, 3, 1), day(2027, 3, 1)),
        (PlaceUse.DISPLAY, None, day(2027, 11, 25)),
        (PlaceUse.STORAGE, None, day(2029, 11, 25)),
        (PlaceUse.TRANSIT, None, day(2027, 11, 25)),
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
    assert unframing(None).sentences == (
        "Limits: between 1 year and 10 years after the last unframing on 25 November 2026"
        " (not every layer is known and sound). That makes it 25 November 2036.",
    )


def test_in_a_box_nothing_is_looked_at_through_glazing() -> None:
    dated = with_look_limits(
        Scheduled(LAST), on=LAST, last_day=LAST, use=PlaceUse.BOX, policy=Policy()
    )
    assert dated.on is None
    assert dated.sentences == (
        "In a box nothing is looked at through glazing: the box is checked.",
    )


def test_what_is_left_in_peace_has_no_latest_day() -> None:
    far = day(2090, 1, 1)
    assert unframing(far, because="its surface is friable").on == far
    assert unframing(None, because="its surface is friable").on is None


def test_without_an_examination_on_record_there_is_no_limit() -> None:
    dated = with_look_limits(
        Scheduled(LAST), on=LAST, last_day=None, use=PlaceUse.DISPLAY, policy=Policy()
    )
    assert dated.sentences == ("Limits: no look is on record from which they could count.",)


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


def test_clean_years_that_move_nothing_are_not_said() -> None:
    dated = with_clean_years(
        Scheduled(LAST + 900),
        on=LAST + 900,
        floor_day=LAST + 700,
        places=MARGINS,
        clean_years=7.0,
    )
    assert dated == Scheduled(LAST + 900)


def test_clean_years_are_said_with_the_day_they_reach() -> None:
    dated = with_clean_years(
        Scheduled(LAST), on=LAST + 730, floor_day=LAST + 730, places=MARGINS, clean_years=8.0
    )
    assert dated.sentences == (
        "Clean years: seen and clear after 8.0 years (margins), so that share does not count"
        " before 24 November 2028. That makes it 24 November 2028.",
    )


def test_the_formula_says_its_places_its_chance_and_its_day() -> None:
    dated = by_formula(LAST, allowed=0.05, places=[Shown.FRONT])
    assert dated.sentences == (
        "By the formula the chance of unseen harm (front) reaches 5 % on 25 November 2026.",
    )
    never = by_formula(None, allowed=0.1, places=[Shown.FRONT])
    assert never.sentences == (
        "By the formula the chance of unseen harm (front) does not reach 10 %.",
    )


def test_a_box_is_checked_every_year_and_nothing_else_is() -> None:
    on = day(2027, 11, 25)
    assert box_check(on=on, last_day=LAST, use=PlaceUse.BOX, policy=Policy()).sentences == (
        "The box is checked every year, last on 25 November 2026.",
    )
    on_the_wall = box_check(on=None, last_day=LAST, use=PlaceUse.DISPLAY, policy=Policy())
    assert on_the_wall == Scheduled(None)


def test_a_mounting_that_counts_as_an_unframing_is_called_a_mounting() -> None:
    assert (
        "10 years after the mounting on 25 November 2026 (not"
        in (unframing(None, is_mounting=True).sentences[0])
    )


def test_the_last_step_that_set_the_day_decides() -> None:
    formula = by_formula(LAST, allowed=0.05, places=[Shown.FRONT])
    later = formula.then(LAST + 9, StepKind.CLEAN_YEARS, "later")
    within_limits = later.then(LAST + 9, StepKind.LIMITS, "within", sets_the_day=False)
    assert deciding_step(within_limits.steps) == Step(StepKind.CLEAN_YEARS, "later")
    levelled = within_limits.then(LAST + 3, StepKind.LEVELLED, "moved")
    assert deciding_step(levelled.steps) == Step(StepKind.LEVELLED, "moved")
    assert deciding_step(()) is None


def test_a_sign_that_does_not_wait_decides_before_what_was_put_off() -> None:
    signed = Scheduled(LAST).then(LAST, StepKind.URGENT, "mould")
    put_off = signed.then(LAST + 90, StepKind.PUT_OFF, "later")
    assert deciding_step(put_off.steps) == Step(StepKind.URGENT, "mould")


def test_a_day_that_is_past_is_due_today() -> None:
    assert [shown_day(on, 100) for on in (None, 99, 100, 101)] == [None, 100, 100, 101]
