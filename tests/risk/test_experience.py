import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from models.risk.experience import (
    MountSeen,
    experience_factor,
    experience_factors,
    gamma_quantile,
)
from models.vocabulary import Found, Mechanism

ACID = Mechanism.ACID_MIGRATION


def a_mount(
    found: Found = Found.CLEAR,
    hazard: float = 0.5,
    grade: str = "groundwood board",
    date_is_assumed: bool = False,
) -> MountSeen:
    return MountSeen(ACID, grade, hazard, found, date_is_assumed)


def test_three_harms_where_little_more_than_one_was_expected() -> None:
    mounts = [a_mount(Found.HARMED, 0.4)] * 3
    # Design table: 3 harms where 1.2 were expected.
    np.testing.assert_allclose(experience_factor(mounts).factor, 1.34615, atol=5e-6)


def test_harm_of_unknown_age_began_at_some_time_before_it_was_found() -> None:
    found = [a_mount(Found.HARMED_AT_UNKNOWN_AGE, 2.0)] * 60 + [a_mount(Found.CLEAR, 2.0)] * 40
    # Design table: 60 of 100 found harmed at unknown age, 40 clear, each H = 2.
    np.testing.assert_allclose(experience_factor(found).factor, 0.4754, atol=5e-5)


def test_no_mount_leaves_the_default_figure_alone() -> None:
    nothing = experience_factor([])
    assert (nothing.factor, nothing.is_shown) == (1.0, False)


def test_one_very_old_mount_does_not_decide_alone() -> None:
    assert experience_factor([a_mount(hazard=50)]).expected == 2.0


def test_a_finding_of_an_earlier_mount_counts_as_clear_here() -> None:
    assert experience_factor([a_mount(Found.OF_AN_EARLIER_MOUNT)]) == experience_factor([a_mount()])


def test_assumed_dates_and_unknown_grades_say_nothing() -> None:
    assumed = a_mount(date_is_assumed=True)
    unknown = a_mount(grade="unknown board")
    assert experience_factors([assumed, unknown]) == {}


def test_each_mechanism_and_grade_has_a_factor_of_its_own() -> None:
    rag = a_mount(grade="cotton rag board, buffered")
    factors = experience_factors([a_mount(Found.HARMED), rag])
    assert {grade: factor.harmed for (_, grade), factor in factors.items()} == {
        "groundwood board": 1,
        "cotton rag board, buffered": 0,
    }


@pytest.mark.parametrize(("mounts", "shown"), [(4, False), (5, True)])
def test_fewer_than_five_mounts_are_not_shown(mounts: int, shown: bool) -> None:
    assert experience_factor([a_mount()] * mounts).is_shown is shown


@given(st.floats(0.001, 0.999), st.floats(1, 5000))
def test_the_interval_is_that_of_the_gamma_distribution(share: float, shape: float) -> None:
    np.testing.assert_allclose(
        gamma_quantile(share, shape), stats.gamma.ppf(share, shape), rtol=1e-9
    )


def test_nine_in_ten_lie_within_the_interval() -> None:
    seen = experience_factor([a_mount(Found.HARMED, 0.4)] * 3)
    posterior = stats.gamma(7, scale=1 / 5.2)
    np.testing.assert_allclose([seen.low, seen.high], posterior.ppf([0.05, 0.95]))


@given(st.lists(st.floats(0, 3), max_size=30), st.lists(st.floats(0, 3), max_size=30))
def test_one_more_harm_never_speaks_for_a_material(clear: list[float], harmed: list[float]) -> None:
    mounts = [a_mount(Found.CLEAR, h) for h in clear]
    mounts += [a_mount(Found.HARMED_AT_UNKNOWN_AGE, h) for h in harmed]
    seen = experience_factor(mounts)
    more = experience_factor([*mounts, a_mount(Found.HARMED, 0.0)])
    assert 0 < seen.low <= seen.factor <= seen.high
    assert more.factor > seen.factor


def test_a_grid_of_checks_gives_the_rate_that_is_known_for_it() -> None:
    # Inspection of n item-intervals of length T, d found failed: -ln(1 - d/n)/T, here
    # 3 of 40 after 2 years: 0.03898 a year (computed). The default figure is 1 a year and
    # weighs next to nothing.
    checks = [a_mount(Found.HARMED_AT_UNKNOWN_AGE, 2.0)] * 3 + [a_mount(hazard=2.0)] * 37
    np.testing.assert_allclose(experience_factor(checks, 1e-9).factor, 0.03898, atol=5e-6)


def test_a_weightier_default_holds_the_factor_nearer_to_one() -> None:
    mounts = [a_mount(Found.HARMED, 0.4)] * 3
    light, heavy = (experience_factor(mounts, weight).factor for weight in (1, 40))
    np.testing.assert_allclose([light, heavy], [4 / 2.2, 43 / 41.2])
