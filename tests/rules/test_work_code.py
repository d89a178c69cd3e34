import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import BadValue
from models.rules.work_code import ALPHABET, RANDOM_BYTES, make_code, read_code

CODES = st.binary(min_size=RANDOM_BYTES, max_size=RANDOM_BYTES).map(make_code)


@given(CODES)
def test_a_code_reads_back_in_small_letters_and_with_a_dash(code: str) -> None:
    assert read_code(f"{code[:4].lower()}-{code[4:]}") == code


def test_letters_that_look_like_figures_are_read_as_figures() -> None:
    zeros = make_code(bytes(RANDOM_BYTES))
    assert read_code(zeros.replace("0", "O")) == zeros


@given(CODES, st.integers(0, 7), st.sampled_from(ALPHABET))
def test_any_single_wrong_character_is_noticed(code: str, place: int, letter: str) -> None:
    wrong = code[:place] + letter + code[place + 1 :]
    if wrong == code:
        assert read_code(wrong) == code
    else:
        with pytest.raises(BadValue, match="read it again"):
            read_code(wrong)


@given(CODES, st.integers(0, 6))
def test_any_two_neighbours_swapped_are_noticed(code: str, place: int) -> None:
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    if swapped == code:
        assert read_code(swapped) == code
    else:
        with pytest.raises(BadValue, match="read it again"):
            read_code(swapped)


@pytest.mark.parametrize("text", ["", "0000000", "000000000", "UUUUUUUU", "not a code"])
def test_what_is_no_code_is_refused(text: str) -> None:
    with pytest.raises(BadValue, match="8 characters"):
        read_code(text)
