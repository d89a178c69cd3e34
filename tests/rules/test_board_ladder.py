"""When do tests at the bench say what an unknown board is?"""

import csv
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.risk.acid_transfer import TEST_FACTORS
from models.rules.board_ladder import (
    ALPHA,
    ALPHA_FROM,
    GROUNDWOOD,
    GROUNDWOOD_FROM,
    WHITE_CORE,
    WHITE_CORE_OR_BETTER_FROM,
    LikelierGrade,
    likelier_grade,
)
from models.rules.calendar_days import day_number
from models.rules.package_facts import BenchFacts, LayerFacts, PackageFacts
from models.vocabulary import UNKNOWN_BOARD, BenchTest, LayerRole

PEN, SPOT, BEVEL = BenchTest.PH_PEN, BenchTest.LIGNIN_SPOT, BenchTest.BEVEL_COLOUR
PH = BenchTest.SURFACE_PH
WHITE = "still white after 10 years"


def found(
    *tests: tuple[BenchTest, str], grade: str = UNKNOWN_BOARD, when: int | None = None
) -> LikelierGrade | None:
    """What a board framed in a year, or nobody knows when, is taken as by these tests."""
    facts = tuple(BenchFacts(test=test, result=result) for test, result in tests)
    fitted = None if when is None else day_number(date(when, 6, 1))
    layer = LayerFacts(
        role=LayerRole.MOUNT_BOARD, grade=grade, tests=facts, fitted_first_day=fitted
    )
    return likelier_grade(layer, PackageFacts(layers=(layer,)))


def grade_by(*tests: tuple[BenchTest, str], when: int | None = None) -> str | None:
    suggested = found(*tests, when=when)
    return None if suggested is None else suggested.grade


def test_the_ladder_is_the_one_that_is_stated() -> None:
    assert (GROUNDWOOD_FROM, ALPHA_FROM, WHITE_CORE_OR_BETTER_FROM) == (0.80, 0.70, 0.90)
    with (Path(__file__).parents[2] / "seed_data" / "risk_defaults.csv").open() as file:
        known = {row["grade"] for row in csv.DictReader(file)}
    assert {GROUNDWOOD, ALPHA, WHITE_CORE} <= known


def test_a_brown_bevel_makes_it_groundwood() -> None:
    # Design table: 0.8639 after a brown bevel, framed nobody knows when.
    suggested = found((BEVEL, "brown"))
    assert suggested is not None
    assert suggested.sentence == (
        "By its tests (bevel colour: brown): groundwood board, 86% likely."
    )
    assert suggested.weight == pytest.approx(0.8639, abs=5e-5)


def test_no_lignin_means_white_core_or_better() -> None:
    # Design table: 0.0379, 0.6207, 0.3414.
    suggested = found((SPOT, "none"))
    assert suggested is not None
    assert suggested.sentence == (
        "By its tests (lignin spot test: none): white-core board, not tested or better, 96% likely."
    )


def test_a_white_bevel_alone_leaves_an_old_board_open() -> None:
    assert grade_by((BEVEL, WHITE), when=1970) is None
    assert grade_by((PEN, "acid")) is None


def test_only_a_young_board_that_passed_all_tests_is_alpha_cellulose() -> None:
    good = (SPOT, "none"), (PEN, "not acid"), (BEVEL, WHITE)
    assert grade_by(*good, when=2005) == ALPHA
    assert grade_by(*good[:2], when=2005) == WHITE_CORE
    assert grade_by(*good, when=1990) == WHITE_CORE


def test_a_surface_ph_counts_as_the_pen_where_there_was_none() -> None:
    assert found((PH, "5.2"), (BEVEL, "brown")) is not None
    white = (SPOT, "none"), (BEVEL, WHITE)
    assert grade_by(*white, (PH, "8.1"), when=2005) == ALPHA
    assert grade_by(*white, (PH, "6.0"), when=2005) == WHITE_CORE


def test_a_board_under_ph_5_5_is_never_taken_for_alpha_cellulose() -> None:
    good = (SPOT, "none"), (PEN, "not acid"), (BEVEL, WHITE)
    assert grade_by(*good, (PH, "5.4"), when=2005) == WHITE_CORE
    assert grade_by(*good, (PH, "5.5"), when=2005) == ALPHA


def test_without_a_test_nothing_is_decided() -> None:
    assert found() is None


def test_a_board_that_somebody_knows_is_left_alone() -> None:
    assert found((BEVEL, "brown"), grade="cotton rag board, buffered") is None


def test_the_newest_result_of_a_test_counts() -> None:
    assert grade_by((BEVEL, WHITE), (BEVEL, "brown")) == "groundwood board"


RESULTS = st.lists(st.sampled_from(sorted(TEST_FACTORS)), min_size=1, max_size=5)
# From the worst known to the best; what stays unknown is judged as a mixture.
ORDER = (GROUNDWOOD, None, WHITE_CORE, ALPHA)


@given(RESULTS, st.sampled_from([None, 1970, 1990, 2010]))
def test_lignin_never_makes_a_board_better(
    tests: list[tuple[BenchTest, str]], when: int | None
) -> None:
    without = [one for one in tests if one[0] is not SPOT]
    red = grade_by(*without, (SPOT, "red"), when=when)
    none = grade_by(*without, (SPOT, "none"), when=when)
    assert ORDER.index(red) <= ORDER.index(none)
