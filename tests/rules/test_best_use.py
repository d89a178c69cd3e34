"""The best use of hours or money, against the exact best of small cases by trying them all."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from models.rules.best_use import BestUse, Candidate, best_use

SOME = st.lists(
    st.tuples(st.floats(0.25, 12), st.floats(-0.5, 2)).map(tuple), min_size=0, max_size=8
)


def candidates(of: list[tuple[float, float]]) -> list[Candidate]:
    return [Candidate(n, takes, reduced) for n, (takes, reduced) in enumerate(of, 1)]


def exact(of: list[Candidate], at_hand: float) -> float:
    """The most that any choice reduces: every subset is tried."""
    fitting = (
        chosen
        for size in range(len(of) + 1)
        for chosen in combinations(of, size)
        if sum(one.takes for one in chosen) <= at_hand
    )
    return max(sum(one.reduced for one in chosen) for chosen in fitting)


def test_most_reduced_for_each_hour_comes_first_and_what_still_fits_is_taken() -> None:
    of = candidates([(4, 0.8), (1, 0.5), (3, 0.45), (2, 0.3)])
    assert best_use(of, 6) == BestUse((2, 1), 5, 1.3)
    assert best_use(of, 7) == BestUse((2, 1, 4), 7, 1.6)


def test_one_large_remat_is_taken_where_it_alone_reduces_more() -> None:
    of = candidates([(1, 0.2), (10, 1.5)])
    assert best_use(of, 10) == BestUse((2,), 10, 1.5)


def test_what_reduces_nothing_or_does_not_fit_is_never_chosen() -> None:
    of = candidates([(1, 0.0), (1, -0.2), (20, 2.0)])
    assert best_use(of, 8) == BestUse((), 0, 0)


@given(SOME, st.floats(0.5, 30))
def test_it_fits_and_is_never_less_than_half_of_the_best_there_could_be(
    of: list[tuple[float, float]], at_hand: float
) -> None:
    found = best_use(candidates(of), at_hand)
    best = exact(candidates(of), at_hand)
    assert found.takes <= at_hand + 1e-6
    assert best / 2 - 1e-9 <= found.reduced <= best + 1e-6 or best <= 0


@given(st.lists(st.floats(0.01, 2), max_size=8), st.integers(0, 8))
def test_where_all_take_the_same_it_is_the_best_there_could_be(
    reduced: list[float], at_hand: int
) -> None:
    of = candidates([(1.0, one) for one in reduced])
    assert abs(best_use(of, at_hand).reduced - exact(of, at_hand)) < 1e-9
