"""Clocks run over the places of a work, against times counted by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.calendar_days import years_between
from models.rules.default_figures import Clock
from models.rules.package_facts import ClimateFacts
from models.rules.place_clock import (
    NEVER_DAMP,
    damp_reading,
    elapsed,
    moves,
    rate_ahead,
)

ROOM = ClimateFacts()
WARM = ClimateFacts(temperature_c=25, rh_percent=50)
# 144.017 days to growth: 2.53616 germinations a year (independent high-precision computation).
CELLAR = ClimateFacts(temperature_c=14, rh_percent=72)
A_DAY = 1 / 144.017
DAY_0 = 10_000


def test_ageing_runs_in_each_place_at_its_own_rate() -> None:
    past = ((DAY_0 + 1461, ROOM),)
    # Four years in the room, then two at the published 1.989804.
    found = elapsed(Clock.PAPER, past, WARM, DAY_0, DAY_0 + 1461 + 730)
    assert found == pytest.approx(4 + 1.989804 * 730 / 365.25, rel=1e-6)


def test_a_calendar_clock_asks_for_no_climate() -> None:
    past = ((DAY_0 + 100, CELLAR),)
    assert elapsed(Clock.CALENDAR, past, WARM, DAY_0, DAY_0 + 730) == years_between(0, 730)


def test_nothing_has_run_before_a_clock_began() -> None:
    assert elapsed(Clock.ADHESIVE, (), WARM, DAY_0, DAY_0 - 5) == 0


def test_the_damp_clock_of_a_cellar_is_example_m() -> None:
    assert rate_ahead(Clock.DAMP, CELLAR) == pytest.approx(2.53616, abs=5e-6)


def test_a_dry_place_ahead_undoes_no_harm() -> None:
    assert rate_ahead(Clock.DAMP, ROOM) == 0


def test_mould_that_grew_and_dried_is_there_to_be_seen() -> None:
    past = ((DAY_0 + 150, CELLAR),)
    found = damp_reading(Clock.DAMP, past, ROOM, begun=DAY_0, until=DAY_0 + 165)
    assert (found.seen, found.now, found.peak) == pytest.approx(
        (0, 150 * A_DAY - 0.5, 150 * A_DAY), abs=1e-5
    )


def test_a_back_that_was_seen_clean_starts_the_damp_clock_again() -> None:
    found = damp_reading(
        Clock.DAMP, (), CELLAR, begun=DAY_0, until=DAY_0 + 130, seen=DAY_0 + 100, clean=DAY_0 + 100
    )
    assert (found.seen, found.now, found.peak) == pytest.approx(
        (0, 30 * A_DAY, 30 * A_DAY), abs=1e-5
    )


def test_a_back_that_was_seen_mouldy_goes_on_from_what_was_seen() -> None:
    found = damp_reading(Clock.DAMP, (), CELLAR, begun=DAY_0, until=DAY_0 + 130, seen=DAY_0 + 100)
    assert (found.seen, found.now, found.peak) == pytest.approx(
        (100 * A_DAY, 130 * A_DAY, 130 * A_DAY), abs=1e-5
    )


def test_in_dry_places_there_is_no_damp_to_count() -> None:
    past = ((DAY_0 + 100, WARM),)
    assert damp_reading(Clock.DAMP, past, ROOM, begun=DAY_0, until=DAY_0 + 900) == NEVER_DAMP


def test_at_62_percent_foxing_is_on_its_way_and_mould_is_not() -> None:
    there = ClimateFacts(rh_percent=62)
    assert rate_ahead(Clock.DAMP, there) == 0
    assert rate_ahead(Clock.DAMP_FROM_60, there) > 0


def test_a_move_counts_once_and_only_after_the_day() -> None:
    past = ((DAY_0, ROOM), (DAY_0 + 10, CELLAR), (DAY_0 + 20, ROOM))
    assert [moves(past, day, DAY_0 + 20) for day in (DAY_0 - 1, DAY_0, DAY_0 + 20)] == [3, 2, 0]


climates = st.builds(ClimateFacts, temperature_c=st.floats(-10, 50), rh_percent=st.floats(0, 100))


@given(
    st.lists(st.tuples(st.integers(0, 900), climates), max_size=4), climates, st.integers(0, 900)
)
def test_clocks_add_up_over_any_day_between(
    past: list[tuple[int, ClimateFacts]], climate: ClimateFacts, day: int
) -> None:
    past = sorted(past, key=lambda stay: stay[0])
    whole = elapsed(Clock.PAPER, past, climate, 0, 1000)
    parts = elapsed(Clock.PAPER, past, climate, 0, day) + elapsed(
        Clock.PAPER, past, climate, day, 1000
    )
    assert whole == pytest.approx(parts)


@given(
    st.lists(st.tuples(st.integers(0, 900), climates), max_size=4),
    climates,
    st.integers(1, 1000) | st.none(),
    st.integers(1, 1000) | st.none(),
)
def test_a_damp_clock_is_never_below_nothing_nor_above_its_peak(
    past: list[tuple[int, ClimateFacts]],
    climate: ClimateFacts,
    seen: int | None,
    clean: int | None,
) -> None:
    past = sorted(past, key=lambda stay: stay[0])
    found = damp_reading(Clock.DAMP, past, climate, begun=0, until=1000, seen=seen, clean=clean)
    assert 0 <= found.now <= found.peak
    assert 0 <= found.seen <= found.peak
