"""How is the work of the months ahead spread?"""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from models.rules.calendar_days import day_number
from models.rules.level_load import Load, Move, level_load, month_capacity

TODAY = day_number(date(2026, 11, 25))


def on(year: int, month: int, day: int) -> int:
    return day_number(date(year, month, day))


def a_load(work: int, latest: int, earliest: int = TODAY, *, is_fixed: bool = False) -> Load:
    return Load(work=work, latest_day=latest, earliest_day=earliest, is_fixed=is_fixed)


def test_four_unframings_a_week_are_seventeen_a_month() -> None:
    assert month_capacity(4) == 17


def test_a_bench_that_hardly_works_can_do_one_a_month() -> None:
    assert month_capacity(0.1) == 1


def test_months_within_capacity_stay_as_they_are() -> None:
    loads = [a_load(1, on(2027, 1, 5)), a_load(2, on(2027, 2, 5))]
    assert level_load(loads, today=TODAY, months=6, capacity=1).moves == ()


def test_what_is_too_much_for_a_month_goes_to_the_month_before() -> None:
    loads = [a_load(1, on(2027, 2, 5)), a_load(2, on(2027, 2, 20))]
    found = level_load(loads, today=TODAY, months=6, capacity=1)
    assert found.moves == (Move(2, on(2027, 2, 20), on(2027, 1, 17)),)
    assert (found.before, found.after) == ((0, 0, 0, 2, 0, 0), (0, 0, 1, 1, 0, 0))


def test_the_work_that_may_not_be_opened_earlier_keeps_its_day() -> None:
    loads = [a_load(1, on(2027, 2, 5), on(2027, 2, 1)), a_load(2, on(2027, 2, 20))]
    found = level_load(loads, today=TODAY, months=6, capacity=1)
    assert [move.work for move in found.moves] == [2]


def test_a_date_that_somebody_put_off_is_not_moved() -> None:
    loads = [a_load(1, on(2027, 2, 5), is_fixed=True), a_load(2, on(2027, 2, 20), is_fixed=True)]
    found = level_load(loads, today=TODAY, months=6, capacity=1)
    assert (found.moves, found.after) == ((), (0, 0, 0, 2, 0, 0))


def test_what_is_overdue_counts_in_this_month_and_stays() -> None:
    found = level_load([a_load(1, TODAY - 400)], today=TODAY, months=2, capacity=1)
    assert (found.moves, found.after) == ((), (1, 0))


some_loads = st.lists(
    st.builds(
        lambda latest, before, is_fixed: (latest, latest - before, is_fixed),
        st.integers(TODAY - 300, TODAY + 900),
        st.integers(0, 500),
        st.booleans(),
    ),
    max_size=60,
).map(
    lambda told: [
        a_load(number, latest, earliest, is_fixed=is_fixed)
        for number, (latest, earliest, is_fixed) in enumerate(told)
    ]
)


@given(some_loads, st.integers(1, 8))
def test_no_date_moves_past_its_day_or_before_its_earliest(loads: list[Load], many: int) -> None:
    by_work = {load.work: load for load in loads}
    for move in level_load(loads, today=TODAY, months=24, capacity=many).moves:
        load = by_work[move.work]
        assert max(load.earliest_day, TODAY + 1) <= move.to_day < move.from_day == load.latest_day
        assert not load.is_fixed


@given(some_loads, st.integers(1, 8))
def test_no_date_is_lost(loads: list[Load], many: int) -> None:
    found = level_load(loads, today=TODAY, months=24, capacity=many)
    assert sum(found.after) == sum(found.before)


@given(some_loads, st.integers(1, 8))
def test_where_everything_can_be_done_earlier_no_later_month_is_too_full(
    loads: list[Load], many: int
) -> None:
    free = [a_load(load.work, load.latest_day) for load in loads]
    after = level_load(free, today=TODAY, months=24, capacity=many).after
    assert max(after[1:]) <= many


@given(some_loads, st.integers(1, 8))
def test_levelling_twice_moves_nothing_more(loads: list[Load], many: int) -> None:
    moved = {
        m.work: m.to_day for m in level_load(loads, today=TODAY, months=24, capacity=many).moves
    }
    again = [
        a_load(
            load.work,
            moved.get(load.work, load.latest_day),
            load.earliest_day,
            is_fixed=load.is_fixed or load.work in moved,
        )
        for load in loads
    ]
    second = level_load(again, today=TODAY, months=24, capacity=many)
    first = level_load(loads, today=TODAY, months=24, capacity=many)
    assert second.after == first.after
    assert second.moves == ()
