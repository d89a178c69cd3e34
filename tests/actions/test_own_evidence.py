"""From the rows of the record to the factor by which a whole grade is judged."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as with_settings
from hypothesis import strategies as st
from scipy import stats
from sqlmodel import Session

from models.actions.forecasts import faults_of_stored, refresh_forecasts, works_to_recompute
from models.actions.own_evidence import (
    GradeEvidence,
    SwitchState,
    mounts_named,
    own_evidence,
    renew_experience,
    switch_own_evidence,
)
from models.errors import BadValue, NotAllowed, Stale, UnknownWord
from models.tables.own_evidence import EVERYTHING, all_factors, factors_in_use
from models.vocabulary import Change, Found, Shown
from tests.actions.mat_burns import ACID, GROUNDWOOD, RAG, a_burn, a_mat_of, opened
from tests.builders import a_framer, a_keeper, a_work, an_owner

TODAY = 20_782
OF_GROUNDWOOD = f"{ACID}/{GROUNDWOOD}"
# Days after 2010-05-01 at which a groundwood mat that touches has run up a hazard of 0.4:
# 7 * (0.4 / ln 2)^(1/2.5) = 5.6182 years, 2052.03 days.
HAZARD_04_ON = "2015-12-13"


def burnt_and_clear(session: Session, *, burnt: int, clear: int) -> None:
    """Works in groundwood mats, each seen once at a hazard of 0.4."""
    for nth in range(burnt + clear):
        work = a_work(session, number=f"GB {nth}", owner="The Gannet House", recorded_on=14_000)
        mount, _ = a_mat_of(session, work)
        visit = opened(session, work, HAZARD_04_ON, seen_margins=True)
        if nth < burnt:
            a_burn(session, work, visit, of=mount)


def of_groundwood(session: Session) -> GradeEvidence:
    (found,) = [one for one in own_evidence(session).grades if one.grade == GROUNDWOOD]
    return found


def test_three_burns_where_little_more_than_one_was_expected(session: Session) -> None:
    burnt_and_clear(session, burnt=3, clear=0)
    for nth in range(2):
        # Seen clear so early that they expose next to nothing.
        work = a_work(session, number=f"GC {nth}", recorded_on=14_000)
        a_mat_of(session, work)
        opened(session, work, "2010-05-02", seen_margins=True)
    assert renew_experience(session, TODAY)
    seen = of_groundwood(session)
    # Design table: 3 harms where 1.2 were expected.
    assert (seen.mounts, seen.harmed, seen.in_use) == (5, 3, True)
    assert seen.factor is not None
    np.testing.assert_allclose([seen.expected, seen.factor], [1.2, 1.34615], atol=1e-4)
    posterior = stats.gamma(7, scale=1 / (4 + seen.expected))
    np.testing.assert_allclose([seen.low or 0, seen.high or 0], posterior.ppf([0.05, 0.95]))
    assert factors_in_use(session) == {(ACID, GROUNDWOOD): seen.factor}


def test_every_work_of_the_grade_is_then_judged_by_it(session: Session) -> None:
    burnt_and_clear(session, burnt=3, clear=2)
    works = list(next(works_to_recompute(session)))
    refresh_forecasts(session, works, today=TODAY)
    assert renew_experience(session, TODAY)
    differing = faults_of_stored(session, works)
    assert len(differing) == 5
    refresh_forecasts(session, works, today=TODAY)
    assert faults_of_stored(session, works) == []


def test_the_typical_time_follows_the_factor(session: Session) -> None:
    burnt_and_clear(session, burnt=3, clear=2)
    renew_experience(session, TODAY)
    seen = of_groundwood(session)
    assert seen.factor is not None
    # theta * ln 2 * (t / 7)^2.5 = ln 2 at the typical time now.
    hazard = seen.factor * np.log(2) * (seen.typical_now / seen.typical) ** 2.5
    np.testing.assert_allclose([seen.typical, hazard], [7.0, np.log(2)])


def test_what_is_not_shown_is_not_used(session: Session) -> None:
    burnt_and_clear(session, burnt=3, clear=1)
    assert not renew_experience(session, TODAY)
    seen = of_groundwood(session)
    assert (seen.mounts, seen.factor, seen.in_use, seen.typical_now) == (4, None, False, 7.0)
    assert factors_in_use(session) == {}


def test_nothing_changes_while_nothing_new_is_recorded(session: Session) -> None:
    burnt_and_clear(session, burnt=3, clear=2)
    assert renew_experience(session, TODAY)
    before = of_groundwood(session)
    assert not renew_experience(session, TODAY + 1)
    assert of_groundwood(session) == before


def test_a_grade_of_which_no_mount_speaks_any_more_has_no_factor(session: Session) -> None:
    work = a_work(session, recorded_on=14_000)
    mount, _ = a_mat_of(session, work)
    opened(session, work, "2015-05-01")
    renew_experience(session, TODAY)
    mount.withdrawn_reason = "another work"
    renew_experience(session, TODAY)
    assert own_evidence(session).grades == ()


def test_the_mounts_that_spoke_are_named_harm_first(session: Session) -> None:
    burnt_and_clear(session, burnt=1, clear=1)
    renew_experience(session, TODAY)
    named = mounts_named(session, a_keeper(session), ACID, GROUNDWOOD)
    assert [(one.number, one.place, one.found) for one in named] == [
        ("GB 0", Shown.MARGINS, Found.HARMED),
        ("GB 1", Shown.MARGINS, Found.CLEAR),
    ]
    np.testing.assert_allclose([one.hazard for one in named], 0.4, rtol=1e-3)


def test_an_owner_sees_the_figures_and_no_work_of_another(session: Session) -> None:
    burnt_and_clear(session, burnt=1, clear=1)
    renew_experience(session, TODAY)
    own, other = an_owner(session), an_owner(session, "The Tern House")
    assert len(mounts_named(session, own, ACID, GROUNDWOOD)) == 2
    assert mounts_named(session, other, ACID, GROUNDWOOD) == ()


@pytest.mark.parametrize("scope", [EVERYTHING, OF_GROUNDWOOD])
def test_own_evidence_is_switched_off_and_on_from_the_next_renewal(
    session: Session, scope: str
) -> None:
    burnt_and_clear(session, burnt=3, clear=2)
    renew_experience(session, TODAY)
    keeper, used = a_keeper(session), factors_in_use(session)
    off = switch_own_evidence(
        session, keeper, scope, is_off=True, reason="Three albums of one maker", based_on=0
    )
    assert off == SwitchState(scope, True, "Three albums of one maker", 1)
    assert factors_in_use(session) == used
    assert renew_experience(session, TODAY)
    assert (factors_in_use(session), of_groundwood(session).typical_now) == ({}, 7.0)
    switch_own_evidence(session, keeper, scope, is_off=False, reason="More came", based_on=1)
    assert renew_experience(session, TODAY)
    assert factors_in_use(session) == used


def test_a_switch_is_refused_without_a_reason_a_right_or_a_grade(session: Session) -> None:
    keeper = a_keeper(session)

    def switched(scope: str = EVERYTHING, *, reason: str = "so", based_on: int = 0) -> SwitchState:
        return switch_own_evidence(
            session, keeper, scope, is_off=True, reason=reason, based_on=based_on
        )

    with pytest.raises(BadValue):
        switched(reason=" ")
    with pytest.raises(UnknownWord):
        switched("acid migration/blotting paper")
    with pytest.raises(UnknownWord):
        switched("acid migration/unknown board")
    switched()
    with pytest.raises(Stale):
        switched()
    with pytest.raises(NotAllowed):
        switch_own_evidence(
            session, a_framer(session), EVERYTHING, is_off=False, reason="so", based_on=1
        )


@with_settings(
    max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    years=st.lists(st.integers(2011, 2025), min_size=1, max_size=6),
    harmed=st.lists(st.booleans(), min_size=6, max_size=6),
    year=st.integers(2011, 2025),
)
def test_one_more_harm_never_lowers_and_one_more_clear_never_raises(
    session: Session, years: list[int], harmed: list[bool], year: int
) -> None:
    with session.begin_nested() as kept:
        for nth, (seen_in, is_harmed) in enumerate(zip(years, harmed, strict=False)):
            one_more(session, f"P {nth}", seen_in, is_harmed)
        renew_experience(session, TODAY)
        before = stored(session)
        with session.begin_nested() as clear:
            one_more(session, "P clear", year, False)
            renew_experience(session, TODAY)
            assert stored(session) <= before
            clear.rollback()
        # At its first day a harm exposes nothing: any later one is weighed against its exposure.
        one_more(session, "P harmed", 2010, True)
        renew_experience(session, TODAY)
        assert stored(session) >= before
        kept.rollback()


def one_more(session: Session, number: str, year: int, is_harmed: bool) -> None:
    work = a_work(session, number=number, recorded_on=14_000)
    mount, _ = a_mat_of(session, work)
    visit = opened(session, work, f"{year}-06-01", seen_margins=True)
    if is_harmed:
        a_burn(session, work, visit, Change.NEW, of=mount)


def stored(session: Session) -> float:
    """The factor of groundwood, also while it is not shown."""
    rows = {row.grade: row.factor for row in all_factors(session)}
    assert RAG not in rows
    return rows[GROUNDWOOD]
