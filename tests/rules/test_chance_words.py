import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.chance_words import chance_in_words, percent


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0, "none"),
        (0.00001, "under 1 in 1000"),
        (0.01, "about 1 in 100"),
        (0.05, "about 1 in 20"),
        (0.12, "about 1 in 8"),
        (0.1, "about 1 in 10"),
        (0.25, "about 1 in 4"),
        (0.2584, "about 1 in 4"),
        (0.5, "about 1 in 2"),
        (0.81, "about 8 in 10"),
        (0.96, "almost certain (over 95 %)"),
        (float("nan"), "not known"),
    ],
)
def test_a_chance_is_said_in_round_words(chance: float, words: str) -> None:
    assert chance_in_words(chance) == words


@pytest.mark.parametrize(
    ("chance", "figure"), [(0.004, "0.4 %"), (0.12, "12 %"), (0.99, "over 95 %")]
)
def test_a_chance_is_printed_without_false_precision(chance: float, figure: str) -> None:
    assert percent(chance) == figure


@given(st.floats(0, 1))
def test_every_chance_has_its_words(chance: float) -> None:
    assert chance_in_words(chance)
