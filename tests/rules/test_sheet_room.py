"""Has the sheet room to move? Movement itself is tested with `paper_movement`."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from models.rules.package_facts import HoldFacts, WorkFacts
from models.rules.sheet_room import Restraint, what_restrains
from tests.rules.exposed_work import FRAMED, POCKETS, package

LARGE = WorkFacts(width_mm=1000, height_mm=700)
HINGES = HoldFacts(grade="paper hinges with starch or cellulose ether")


def test_1000_mm_of_paper_in_80_percent_want_a_millimetre_and_a_half_a_side() -> None:
    # Worked by hand: 1000 * 1e-4 * 30 / 2 = 1.5 mm.
    tight = package(*FRAMED, hold=replace(POCKETS, clearance_mm=1.4))
    loose = package(*FRAMED, hold=replace(POCKETS, clearance_mm=1.51))
    assert what_restrains(tight, LARGE, 80) == Restraint(
        3, "corner pockets or edge strips", "in air of 80 % it grows 1.5 mm a side and has 1.4 mm"
    )
    assert what_restrains(loose, LARGE, 80) is None


def test_a_clearance_that_nobody_measured_is_the_usual_one() -> None:
    unmeasured = package(*FRAMED, hold=replace(POCKETS, clearance_mm=None))
    assert what_restrains(unmeasured, LARGE, 79) is None
    assert what_restrains(unmeasured, LARGE, 81) is not None


def test_a_sheet_that_nobody_measured_is_a_large_one() -> None:
    # 700 * 1e-4 * 20 / 2 = 0.7 mm.
    pockets = package(*FRAMED, hold=replace(POCKETS, clearance_mm=0.6))
    assert what_restrains(pockets, WorkFacts(), 70) is not None


@pytest.mark.parametrize(
    ("support", "is_restrained"),
    [("parchment", True), ("wove paper", False), ("resin-coated paper", False)],
)
def test_parchment_moves_most_and_resin_coated_paper_least(
    support: str, is_restrained: bool
) -> None:
    work = replace(LARGE, support=support)
    found = what_restrains(package(*FRAMED), work, 75)
    assert (found is not None) is is_restrained


def test_hinges_let_a_sheet_hang_free() -> None:
    assert what_restrains(package(*FRAMED, hold=HINGES), LARGE, 95) is None


@pytest.mark.parametrize(
    "method", ["edge-to-edge paste", "taped all round", "edge-lined on a strainer"]
)
def test_what_is_held_along_all_edges_has_no_room_in_any_air(method: str) -> None:
    found = what_restrains(package(*FRAMED, method=method), LARGE, 50)
    assert found == Restraint(3, method, "the sheet is held along all its edges")


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 5))
def test_damper_air_never_gives_more_room(one: float, other: float, clearance: float) -> None:
    held = package(*FRAMED, hold=replace(POCKETS, clearance_mm=clearance))
    drier, damper = sorted((one, other))
    if what_restrains(held, LARGE, drier) is not None:
        assert what_restrains(held, LARGE, damper) is not None
