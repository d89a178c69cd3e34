"""Hours of looks, unframings and remats: the figures of one are this project's own judgement."""

from models.rules.bench_hours import (
    HOURS_FOR_A_BOX_CHECK,
    HOURS_FOR_A_LOOK,
    HOURS_FOR_A_REMAT,
    HOURS_FOR_AN_UNFRAMING,
    BenchHours,
    Dates,
    bench_hours,
    hours_a_month,
    hours_of_dates,
)
from models.vocabulary import DueKind


def test_a_look_is_six_minutes_a_box_half_an_hour_an_unframing_one_and_a_remat_two_and_a_half() -> (
    None
):
    each = {kind: hours_of_dates(Dates(kind, 1)) for kind in DueKind}
    assert each == {
        DueKind.LOOK: HOURS_FOR_A_LOOK,
        DueKind.FOLLOW_UP: HOURS_FOR_A_LOOK,
        DueKind.TAKE_DOWN: HOURS_FOR_A_LOOK,
        DueKind.BOX_CHECK: HOURS_FOR_A_BOX_CHECK,
        DueKind.UNFRAMING: HOURS_FOR_AN_UNFRAMING,
        DueKind.URGENT: HOURS_FOR_AN_UNFRAMING,
        DueKind.FIRST_SURVEY: HOURS_FOR_AN_UNFRAMING,
        DueKind.REMAT: HOURS_FOR_A_REMAT,
    }
    assert [*each.values()] == [0.1, 1.0, 0.5, 2.5, 0.1, 1.0, 1.0, 0.1]


def test_a_remat_of_which_nobody_worked_out_the_hours_takes_what_is_usual() -> None:
    # One of two took 3 hours by what was worked out: 3 + 2.5.
    assert hours_of_dates(Dates(DueKind.REMAT, 2, known=1, hours=3.0)) == 5.5
    assert hours_of_dates(Dates(DueKind.REMAT, 2, known=2, hours=3.0)) == 3.0
    assert hours_of_dates(Dates(DueKind.REMAT, 2)) == 5.0
    assert hours_of_dates(Dates(DueKind.REMAT, 0)) == 0.0


def test_what_is_taken_away_again_takes_its_hours_with_it() -> None:
    assert bench_hours([Dates(DueKind.UNFRAMING, 3), Dates(DueKind.UNFRAMING, -1)]) == BenchHours(
        unframings=2.0
    )


def test_looks_unframings_and_remats_stand_apart() -> None:
    hours = bench_hours(
        [
            Dates(DueKind.LOOK, 10),
            Dates(DueKind.FOLLOW_UP, 10),
            Dates(DueKind.BOX_CHECK, 2),
            Dates(DueKind.UNFRAMING, 4),
            Dates(DueKind.URGENT, 1),
            Dates(DueKind.REMAT, 3, known=2, hours=7.0),
        ]
    )
    assert hours == BenchHours(looks=3.0, unframings=5.0, remats=9.5)
    assert hours.total == 17.5
    assert bench_hours([]) == BenchHours()


def test_a_house_of_four_unframings_a_week_has_seventeen_hours_a_month() -> None:
    # 365.25 / 12 / 7 = 4.35 weeks a month; 4 * 4.35 = 17.4, of whole unframings 17.
    assert hours_a_month(4) == 17.0
    assert hours_a_month(0.1) == 1.0, "a house that does something does one"
