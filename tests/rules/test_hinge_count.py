import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.hinge_count import hold_life_factor, usual_hinge_count

PAPER_HINGES = "paper hinges with starch or cellulose ether"


# Common practice, no source: a hinge every 25 to 38 cm, never fewer than two.
@pytest.mark.parametrize(
    ("width_mm", "hinges"), [(100, 2), (300, 2), (460, 2), (461, 3), (840, 3), (1000, 4)]
)
def test_a_wider_sheet_asks_for_more_hinges(width_mm: float, hinges: int) -> None:
    assert usual_hinge_count(width_mm) == hinges


def test_too_few_hinges_let_go_sooner() -> None:
    factor = hold_life_factor(PAPER_HINGES, count=2, width_mm=1000, covers_all=False)
    assert factor == pytest.approx(0.5)


def test_more_hinges_than_usual_do_not_make_a_hold_last_longer() -> None:
    assert hold_life_factor(PAPER_HINGES, count=9, width_mm=300, covers_all=False) == 1


@pytest.mark.parametrize(
    ("grade", "count", "covers_all"),
    [
        ("corner pockets or edge strips", 1, False),
        (PAPER_HINGES, None, False),
        (PAPER_HINGES, 1, True),
    ],
)
def test_what_is_no_hinge_or_not_counted_keeps_its_life(
    grade: str, count: int | None, covers_all: bool
) -> None:
    assert hold_life_factor(grade, count=count, width_mm=1000, covers_all=covers_all) == 1


@given(st.floats(1, 5000), st.floats(0, 1000))
def test_a_wider_sheet_never_asks_for_fewer(width_mm: float, more_mm: float) -> None:
    assert usual_hinge_count(width_mm + more_mm) >= usual_hinge_count(width_mm)
