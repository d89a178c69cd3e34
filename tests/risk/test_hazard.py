"""Worked examples of the forecast: independent high-precision computation, design table."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.risk.acid_transfer import board_weights
from models.risk.hazard import (
    Components,
    at_years,
    chance,
    hazard_ahead,
    hazard_shares,
    hazard_unseen,
    leading_rows,
    leading_rows_of_kinds,
    only_rows,
    side_by_side,
    summed_hazard,
    unseen_shares,
    with_medians,
    years_to_chance,
    years_to_chance_from,
    years_to_likely_harm,
)
from models.vocabulary import BenchTest, FramedWhen

# A twentieth of a second in years: a board long past its time goes from safe to harmed in less
# than a second after it was looked at, so its chance at a date says little of the date.
_MOMENT, _ROUNDING = 2e-9, 1e-9
WARM = 1.96636  # ageing rate of paper at 24 degC and 55 %
WARM_ADHESIVE = 1.666124


def one(
    median: float,
    shape: float,
    *,
    rate: float = 1.0,
    now: float = 0.0,
    seen: float | None = None,
    theta: float = 1.0,
    weights: object = (0.0, 0.0, 0.0),
) -> Components:
    def row(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.array([value], dtype=np.float64)

    first = np.zeros(1, dtype=np.int64)
    return Components(
        work=first,
        group=first,
        median=row(median),
        shape=row(shape),
        theta=row(theta),
        clock_seen=row(now if seen is None else seen),
        clock_now=row(now),
        rate_per_year=row(rate),
        weights=np.array([weights], dtype=np.float64),
        works=1,
    )


def together(*parts: Components, works: list[int], groups: list[int]) -> Components:
    names = ("median", "shape", "theta", "clock_seen", "clock_now", "rate_per_year", "weights")
    joined = {name: np.concatenate([getattr(part, name) for part in parts]) for name in names}
    return Components(work=np.array(works), group=np.array(groups), works=max(works) + 1, **joined)


def unknown_board(framed: FramedWhen, years: float, *, seen: bool) -> Components:
    never = 0.0
    return one(
        np.nan, np.nan, now=years, seen=years if seen else never, weights=board_weights(framed)
    )


Example = tuple[Components, list[str], list[str]]
EXAMPLES: dict[str, Example] = {
    "A": (one(7, 2.5), ["0", "0.005332", "0.2584"], ["2.4705", "3.2949", "4.9242"]),
    "B": (one(7, 2.5, now=4), ["0", "0.1200", "0.6764"], ["0.44233", "0.84637", "1.9348"]),
    "C": (one(7, 2.5, now=6, seen=0), ["0.3759", "0.5000", "0.8830"], ["0", "0", "0"]),
    "D": (one(7, 2.5, rate=WARM), ["0", "0.02857", "0.8022"], ["1.2564", "1.6756", "2.5042"]),
    "E": (
        together(
            one(7, 2.5, rate=WARM),
            one(30, 4, rate=WARM_ADHESIVE),
            works=[0, 0],
            groups=[0, 1],
        ),
        ["0", "0.02858", "0.8030"],
        ["1.2562", "1.6753", "2.5033"],
    ),
    "G": (one(5, 2), ["0", "0.02735", "0.5000"], ["1.3602", "1.9494", "3.2212"]),
    "I": (one(7, 2.5, theta=1.35), ["0", "0.007192", "0.3320"], ["2.1911", "2.9222", "4.3672"]),
    "L": (one(17.5, 2.5), ["0", "0.0005409", "0.02979"], ["6.1764", "8.2372", "12.310"]),
}


def comes_to(value: float, printed: str) -> None:
    """Compare to the last digit printed."""
    half_of_last_digit = 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent)
    np.testing.assert_allclose(value, float(printed), rtol=0, atol=half_of_last_digit * 1.0001)


def test_a_kind_leads_by_all_its_places_and_of_its_rows_the_worst() -> None:
    # By hand: a mat at margins (0.39) and front (0.19), dust (0.40); and a work with one row.
    rows = together(*(one(7, 2.5) for _ in range(5)), works=[0, 0, 0, 0, 1], groups=[0, 0, 1, 2, 3])
    hazards, kinds = np.array([0.39, 0.1, 0.19, 0.4, 0.2]), np.array([0, 0, 0, 1, 1])
    assert leading_rows(rows, hazards).tolist() == [3, 4]
    assert leading_rows_of_kinds(rows, hazards, kinds).tolist() == [0, 4]
    assert leading_rows_of_kinds(rows, np.zeros(5), kinds).tolist() == [-1, -1]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_worked_examples_come_out_to_the_digits_printed(name: str) -> None:
    rows, chances, dates = EXAMPLES[name]
    for years, printed in zip((0, 1, 5), chances, strict=True):
        comes_to(float(chance(hazard_unseen(rows, years))[0]), printed)
    for allowed, printed in zip((0.05, 0.10, 0.25), dates, strict=True):
        comes_to(float(years_to_chance(rows, allowed)[0]), printed)


def test_a_seen_mat_and_an_unseen_backing_add_over_their_two_places() -> None:
    mat = one(7, 2.5, now=1)
    kraft = one(17.5, 2.5, now=20, seen=0)
    rows = together(mat, kraft, works=[0, 0], groups=[0, 1])
    comes_to(float(chance(hazard_unseen(rows, 0))[0]), "0.6201")
    comes_to(float(chance(hazard_unseen(rows, 5))[0]), "0.8843")


@pytest.mark.parametrize(
    ("framed", "years", "already", "new_5y", "p5", "p10"),
    [
        (FramedWhen.BEFORE_1980, 10, "0.6557", "0.4226", "0.28328", "0.59186"),
        (FramedWhen.BEFORE_1980, 20, "0.8175", "0.06481", "3.9512", "7.3399"),
        (FramedWhen.BEFORE_1980, 60, "0.9312", "0.1218", "1.8949", "3.9999"),
        (FramedWhen.FROM_1980_TO_2000, 20, "0.5852", "0.05726", "4.4251", "8.1605"),
        (FramedWhen.AFTER_2000, 20, "0.3917", "0.04621", "5.3649", "9.7981"),
    ],
)
def test_an_unknown_board_is_a_list_of_what_it_may_be(
    framed: FramedWhen, years: float, already: str, new_5y: str, p5: str, p10: str
) -> None:
    never = unknown_board(framed, years, seen=False)
    seen = unknown_board(framed, years, seen=True)
    comes_to(float(chance(hazard_unseen(never, 0))[0]), already)
    comes_to(float(chance(hazard_ahead(seen, 5))[0]), new_5y)
    comes_to(float(years_to_chance(seen, 0.05)[0]), p5)
    comes_to(float(years_to_chance(seen, 0.10)[0]), p10)


def test_bench_tests_shift_what_a_board_may_be() -> None:
    span = FramedWhen.FROM_1980_TO_2000
    brown = board_weights(span, [(BenchTest.BEVEL_COLOUR, "brown")])
    none = board_weights(span, [(BenchTest.LIGNIN_SPOT, "none")])
    np.testing.assert_allclose(brown, [0.8639, 0.1309, 0.0052], atol=5e-5)
    np.testing.assert_allclose(none, [0.0379, 0.6207, 0.3414], atol=5e-5)


def test_no_number_of_tests_makes_a_board_quite_certain() -> None:
    every = [(BenchTest.BEVEL_COLOUR, "brown"), (BenchTest.LIGNIN_SPOT, "red")]
    weights = board_weights(FramedWhen.BEFORE_1980, every)
    np.testing.assert_allclose([weights[0], weights.sum()], [0.98, 1.0])


def test_a_measured_surface_ph_moves_no_weight() -> None:
    weights = board_weights(FramedWhen.BEFORE_1980, [(BenchTest.SURFACE_PH, "4.6")])
    np.testing.assert_array_equal(weights, board_weights(FramedWhen.BEFORE_1980))


# Weibull reliability, shape 3 and scale 35: risk-based-inspection arithmetic, computed apart.
@pytest.mark.parametrize(("age", "years"), [(0, 16.531), (5, 11.682), (10, 7.670), (20, 3.219)])
def test_the_interval_is_that_of_conditional_weibull_reliability(age: float, years: float) -> None:
    median = 35 * np.log(2) ** (1 / 3)
    np.testing.assert_allclose(years_to_chance(one(median, 3, now=age), 0.1), years, atol=5e-4)


# Shape 2 and scale 20, and shape 1 and scale 20, which forgets its age: likewise.
@pytest.mark.parametrize(
    ("shape", "age", "years"),
    [
        *[(2, 0, 6.492), (2, 5, 3.194), (2, 10, 1.922), (2, 20, 1.027)],
        *[(1, 0, 2.107), (1, 5, 2.107), (1, 10, 2.107), (1, 20, 2.107)],
    ],
)
def test_what_wears_out_is_opened_the_sooner_the_older_it_is(
    shape: float, age: float, years: float
) -> None:
    median = 20 * np.log(2) ** (1 / shape)
    np.testing.assert_allclose(years_to_chance(one(median, shape, now=age), 0.1), years, atol=5e-4)


# T = -ln(1 - p)/rate, the interval of a hazard that stays: likewise.
@pytest.mark.parametrize(
    ("rate", "allowed", "years"),
    [(0.02, 0.1, 5.268), (0.05, 0.1, 2.107), (0.1, 0.2, 2.231), (0.01, 0.05, 5.129)],
)
def test_a_hazard_that_stays_has_one_interval(rate: float, allowed: float, years: float) -> None:
    rows = one(np.log(2) / rate, 1)
    np.testing.assert_allclose(years_to_chance(rows, allowed), years, atol=5e-4)


# Nine in ten outlast the life that the trade names, shape 3: scale = life/(-ln 0.9)^(1/3).
@pytest.mark.parametrize(("scale", "life"), [(74.10, 35), (42.35, 20), (10.586, 5)])
def test_one_in_ten_is_harmed_by_the_life_that_is_promised(scale: float, life: float) -> None:
    rows = one(scale * np.log(2) ** (1 / 3), 3)
    np.testing.assert_allclose(years_to_chance(rows, 0.1), life, atol=5e-3)


@pytest.mark.parametrize(("age", "years"), [(5, 15.10), (10, 10.80), (15, 7.49), (20, 5.20)])
def test_a_frame_good_for_twenty_years_is_next_opened_by_its_age(age: float, years: float) -> None:
    median = 20 * (np.log(2) / -np.log(0.9)) ** (1 / 3)
    np.testing.assert_allclose(years_to_chance(one(median, 3, now=age), 0.1), years, atol=5e-3)


def test_a_package_of_twenty_years_fails_in_the_next_five_by_one_chance_in_six() -> None:
    median = 35 * np.log(2) ** (1 / 3)
    ahead = chance(hazard_ahead(one(median, 3, now=20), 5))
    np.testing.assert_allclose(ahead, 0.16293, atol=5e-6)


def test_only_the_worst_layer_of_a_place_counts() -> None:
    bad, worse = one(10, 2.5), one(7, 2.5)
    both = together(bad, worse, works=[0, 0], groups=[0, 0])
    np.testing.assert_array_equal(hazard_unseen(both, 3.0), hazard_unseen(worse, 3.0))


def test_many_works_at_once_are_the_works_one_by_one() -> None:
    singles = [one(7, 2.5), one(5, 2, now=2), one(60, 3, now=1, seen=0)]
    rows = together(*singles, works=[0, 1, 2], groups=[0, 1, 2])
    np.testing.assert_allclose(
        years_to_chance(rows, 0.05), [years_to_chance(row, 0.05)[0] for row in singles]
    )


def test_rows_side_by_side_are_the_rows_asked_one_set_after_another() -> None:
    worse = together(one(7, 2.5), one(9, 3), one(5, 2), works=[0, 0, 1], groups=[0, 0, 1])
    sets = [worse, one(60, 3, now=1, seen=0), with_medians(worse, 2.0)]
    both = side_by_side(sets)
    np.testing.assert_array_equal(
        hazard_unseen(both, 1.0), np.concatenate([hazard_unseen(rows, 1.0) for rows in sets])
    )
    np.testing.assert_array_equal(
        years_to_chance(both, 0.05), np.concatenate([years_to_chance(rows, 0.05) for rows in sets])
    )


def test_what_does_not_harm_within_ten_thousand_years_is_never_due() -> None:
    np.testing.assert_array_equal(years_to_chance(one(1e9, 1), 0.05), [np.inf])


@given(st.floats(1, 500), st.floats(1, 4), st.floats(0, 60), st.floats(0.01, 0.6))
def test_at_the_date_the_chance_is_the_allowed_one(
    median: float, shape: float, age: float, allowed: float
) -> None:
    rows = one(median, shape, now=age)
    years = years_to_chance(rows, allowed)
    before, after = (chance(hazard_unseen(rows, years + by))[0] for by in (-_MOMENT, _MOMENT))
    assert before - _ROUNDING <= allowed <= after + _ROUNDING


@given(st.floats(1, 500), st.floats(1, 4), st.floats(0, 60), st.floats(1.01, 3))
def test_a_worse_material_is_never_due_later(
    median: float, shape: float, age: float, worse: float
) -> None:
    better = years_to_chance(one(median, shape, now=age), 0.05)
    assert years_to_chance(one(median / worse, shape, now=age), 0.05) <= better + 1e-6


def test_a_hazard_never_runs_backwards() -> None:
    rows = unknown_board(FramedWhen.NO_IDEA, 30, seen=True)
    clocks = np.linspace(0, 60, 200)
    sums = np.concatenate([summed_hazard(rows, np.array([clock])) for clock in clocks])
    np.testing.assert_array_equal(np.diff(sums) >= 0, np.ones(199, dtype=bool))


def test_shares_add_up_to_one_and_only_the_worst_of_a_place_has_one() -> None:
    mat, worse, tape = one(10, 2.5), one(7, 2.5), one(30, 4)
    rows = together(mat, worse, tape, works=[0, 0, 0], groups=[0, 0, 1])
    shares = hazard_shares(rows, 5)
    assert shares[0] == 0
    assert shares[1] > shares[2] > 0
    np.testing.assert_allclose(shares.sum(), 1)


def test_of_two_equal_layers_the_first_is_named() -> None:
    rows = together(one(7, 2.5), one(7, 2.5), works=[0, 0], groups=[0, 0])
    np.testing.assert_array_equal(hazard_shares(rows, 5), [1, 0])


def test_a_median_half_as_long_is_reached_in_half_the_time() -> None:
    rows = one(7, 2.5)
    np.testing.assert_allclose(
        years_to_chance(with_medians(rows, 0.5), 0.05), years_to_chance(rows, 0.05) / 2
    )


def test_a_work_without_a_row_has_nothing_to_fear() -> None:
    rows = together(one(7, 2.5), one(5, 2), works=[0, 2], groups=[0, 1])
    np.testing.assert_array_equal(hazard_unseen(rows, 5)[1], 0)
    np.testing.assert_array_equal(years_to_chance(rows, 0.05)[1], np.inf)
    none = only_rows(rows, np.array([False, False]))
    np.testing.assert_array_equal(years_to_chance(none, 0.05), [np.inf] * 3)


def test_harm_becomes_likely_when_the_next_five_years_hold_more_than_an_even_chance() -> None:
    rows = one(7, 2.5)
    years = float(years_to_likely_harm(rows, 5, 20)[0])
    ahead = together(one(7, 2.5, now=years), works=[0], groups=[0])
    np.testing.assert_allclose(chance(hazard_ahead(ahead, 5)), 0.5, atol=1e-3)
    np.testing.assert_array_equal(years_to_likely_harm(one(7, 2.5, now=6), 5, 3), [0])
    np.testing.assert_array_equal(years_to_likely_harm(one(200, 2.5), 5, 3), [np.inf])


def test_a_date_that_is_past_does_not_move_with_the_day_it_is_worked_out() -> None:
    six_years = one(7, 2.5, now=6, seen=0)
    ten_years = one(7, 2.5, now=10, seen=0)
    now = [
        years_to_chance_from(rows, 0.05, back_years=np.array([age])) + age
        for rows, age in ((six_years, 6.0), (ten_years, 10.0))
    ]
    np.testing.assert_allclose(np.concatenate(now), 2.4705, atol=5e-5)


def test_before_a_place_was_seen_nothing_there_is_unseen() -> None:
    rows = together(one(7, 2.5, now=4), one(7, 2.5, now=4, seen=0), works=[0, 0], groups=[0, 1])
    earlier = at_years(rows, np.array([-2.0]))
    np.testing.assert_allclose(
        hazard_unseen(earlier, 0.0), hazard_unseen(one(7, 2.5, now=2, seen=0), 0.0)
    )


def test_harm_becomes_likely_on_the_day_its_chance_passes_one_half() -> None:
    rows = one(7, 2.5, now=2)
    years = years_to_likely_harm(rows, 5.0, 3.0)
    np.testing.assert_allclose(hazard_ahead(at_years(rows, years), 5.0), np.log(2), atol=1e-7)


def test_an_even_chance_is_not_yet_likely() -> None:
    # Example G: rubber tape reaches exactly one half within its first five years.
    np.testing.assert_array_equal(years_to_likely_harm(one(5, 2), 5.0, 3.0) > 0, [True])


def test_the_unseen_backing_leads_where_the_mat_was_seen() -> None:
    mat, kraft = one(7, 2.5, now=1), one(17.5, 2.5, now=20, seen=0)
    rows = together(mat, kraft, works=[0, 0], groups=[0, 1])
    np.testing.assert_array_equal(unseen_shares(rows, np.zeros(1)), [0, 1])
