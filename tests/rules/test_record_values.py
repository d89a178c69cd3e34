"""Sizes are kept exactly or refused, and all that is wrong is said at once."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.errors import BadValue, Fault, UnknownWord
from models.rules.record_values import (
    Faults,
    a_name,
    a_note,
    between,
    exact_um,
    offset_um,
    size_mm,
    whole_between,
)


def test_a_size_in_mm_is_kept_to_the_micrometre() -> None:
    sizes = [exact_um(297), exact_um(210.5), exact_um("0.001"), exact_um(Decimal("19999.999"))]
    assert sizes == [297_000, 210_500, 1, 19_999_999]


@given(st.integers(1, 20_000_000))
def test_every_kept_size_is_shown_so_that_it_reads_back_as_itself(um: int) -> None:
    shown = size_mm(um)
    assert shown is not None
    assert exact_um(shown) == um


def test_nobody_measured_is_shown_as_nothing() -> None:
    assert size_mm(None) is None


@pytest.mark.parametrize("mm", [0.0015, 210.12345, Decimal("1.0001"), "3.00001"])
def test_a_size_finer_than_a_micrometre_is_refused_and_not_rounded(mm: float) -> None:
    with pytest.raises(BadValue, match=r"0\.001 mm"):
        exact_um(mm)


@pytest.mark.parametrize("mm", [0, -1, 20_001, math.inf, math.nan, "NaN", "a foot"])
def test_a_size_that_no_sheet_has_is_refused(mm: float) -> None:
    with pytest.raises(BadValue, match="mm"):
        exact_um(mm)


def test_an_image_may_begin_at_the_edge_of_the_sheet() -> None:
    assert offset_um(0) == 0


def test_a_name_is_kept_without_the_blanks_around_it() -> None:
    assert a_name("title")("  The Mill ") == "The Mill"


@pytest.mark.parametrize("given_name", ["", "   ", "x" * 501])
def test_a_missing_or_endless_name_is_refused(given_name: str) -> None:
    with pytest.raises(BadValue, match="title"):
        a_name("title")(given_name)


def test_a_note_may_be_empty_and_not_endless() -> None:
    assert a_note("") == ""
    with pytest.raises(BadValue, match="20001"):
        a_note("x" * 20_001)


@pytest.mark.parametrize("rh", [-0.1, 100.1, math.nan])
def test_a_figure_outside_its_range_is_refused_with_the_range(rh: float) -> None:
    with pytest.raises(BadValue, match="not between 0 and 100 %"):
        between(0, 100, "%")(rh)


def test_a_figure_in_its_range_stays_as_it_is() -> None:
    assert between(0, 100, "%")(55.5) == 55.5
    assert whole_between(1, 8, "light class")(8) == 8
    with pytest.raises(BadValue, match="light class is 9"):
        whole_between(1, 8, "light class")(9)


def test_everything_wrong_with_a_record_is_said_at_once_and_where() -> None:
    faults = Faults()
    faults.read("/title", a_name("title"), " ")
    faults.read("/height_mm", exact_um, 0)
    with pytest.raises(BadValue) as refused:
        faults.refuse()
    assert [fault.pointer for fault in refused.value.faults] == ["/title", "/height_mm"]


def test_one_unknown_word_alone_keeps_its_own_code_and_near_words() -> None:
    def look_up(word: str) -> int:
        raise UnknownWord("technique", word, ["etching"])

    faults = Faults()
    assert faults.read("/technique", look_up, "etchin") is None
    with pytest.raises(UnknownWord) as refused:
        faults.refuse()
    assert refused.value.code == "unknown_technique"
    assert refused.value.faults == (
        Fault("/technique", "There is no technique called 'etchin'.", "Perhaps etching."),
    )


def test_nothing_wrong_refuses_nothing() -> None:
    faults = Faults()
    assert faults.read("/note", a_note, "foxed") == "foxed"
    assert faults.read_if_given("/height_mm", exact_um, None) is None
    faults.refuse()
