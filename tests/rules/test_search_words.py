import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.search_words import prefix_range, words_of, words_of_work


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Église à Étretat", ["eglise", "a", "etretat"]),
        ("Straße in Łódź, Øst", ["strasse", "in", "lodz", "ost"]),
        ("GQ 1994.12", ["gq", "1994.12"]),
        ("tern, tern; TERN", ["tern"]),
        ("", []),
    ],
)
def test_accents_case_and_punctuation_do_not_matter(text: str, words: list[str]) -> None:
    assert list(words_of(text)) == words


def test_a_number_is_found_in_one_piece_and_in_parts() -> None:
    assert words_of_work("GQ 1994.12", "Tern", "Ines Hollowell") == [
        "1994.12",
        "gq",
        "gq1994.12",
        "hollowell",
        "ines",
        "tern",
    ]


def test_a_number_is_found_without_the_zeros_before_its_figures() -> None:
    found = words_of_work("H 014/0.05", "", "")
    assert {"h014", "014", "h14", "14"} <= {*found, *words_of_work("H 014", "", "")}
    assert "0.05" in found
    assert not {"5", "0.5"} & {*found}


@given(st.text(st.characters(categories=["Ll"]), min_size=1), st.text())
def test_a_prefix_range_holds_every_word_that_begins_so(prefix: str, rest: str) -> None:
    low, high = prefix_range(prefix)
    assert low <= prefix + rest < high


@given(st.text(max_size=200))
def test_searching_twice_changes_nothing(text: str) -> None:
    assert words_of(" ".join(words_of(text))) == words_of(text)
