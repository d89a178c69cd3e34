import csv
from itertools import product
from pathlib import Path

import pytest

from models.rules.default_figures import read_default_figures
from models.rules.freeing import (
    ADHESIVE_OF_HOLD,
    EASIEST_FIRST,
    FREEING_OF_ADHESIVE,
    freeing_of_hold,
    worst_freeing,
)
from models.rules.package_facts import HoldFacts
from models.rules.remains import remain_after
from models.vocabulary import Freeing, Mechanism, Outcome

DEFAULTS = Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv"
PASTE_HINGES = HoldFacts(grade="paper hinges with starch or cellulose ether", key=1, count=2)


def grades(mechanism: Mechanism) -> set[str]:
    with DEFAULTS.open(newline="", encoding="utf-8") as file:
        return set(read_default_figures(csv.DictReader(file)).grades(mechanism))


def test_every_adhesive_and_every_hold_of_the_defaults_has_its_freeing() -> None:
    assert set(FREEING_OF_ADHESIVE) == grades(Mechanism.ADHESIVE_AGEING)
    assert set(ADHESIVE_OF_HOLD) == grades(Mechanism.HOLD_FAILURE)


# Common practice, no source.
@pytest.mark.parametrize(
    ("grade", "covers_all", "freed"),
    [
        ("corner pockets or edge strips", False, Freeing.NO_ADHESIVE),
        ("paper hinges with starch or cellulose ether", False, Freeing.WATER),
        ("rubber pressure-sensitive tape", False, Freeing.SOLVENT_OR_HEAT),
        ("rubber pressure-sensitive tape", True, Freeing.NOT_WITHOUT_HARM),
        ("spray or rubber cement", True, Freeing.NOT_WITHOUT_HARM),
        ("unknown hold", False, Freeing.SOLVENT_OR_HEAT),
    ],
)
def test_a_hold_is_freed_by_what_frees_its_adhesive(
    grade: str, covers_all: bool, freed: Freeing
) -> None:
    assert freeing_of_hold(HoldFacts(grade=grade, covers_all=covers_all)) is freed


def test_the_worst_of_what_touches_decides() -> None:
    for one, other in product(Freeing, Freeing):
        hardest = EASIEST_FIRST[max(EASIEST_FIRST.index(one), EASIEST_FIRST.index(other))]
        assert worst_freeing([one, other]) is hardest


def test_a_work_that_nothing_sticks_to_lifts_out() -> None:
    assert worst_freeing([]) is Freeing.NO_ADHESIVE


def test_a_paste_hinge_that_came_off_clean_leaves_nothing() -> None:
    assert remain_after(PASTE_HINGES, Outcome.FREED, residue=" ", mounted_day=0) is None


def test_a_stub_keeps_the_clock_of_the_hold_it_was() -> None:
    stub = remain_after(PASTE_HINGES, Outcome.CUT_AND_STUB_LEFT, residue="", mounted_day=5000)
    assert stub is not None
    assert (stub.what, stub.grade, stub.since_day) == ("stub", "starch paste", 5000)


@pytest.mark.parametrize("outcome", Outcome)
def test_corner_pockets_never_leave_anything_on_the_work(outcome: Outcome) -> None:
    pockets = HoldFacts(grade="corner pockets or edge strips")
    assert remain_after(pockets, outcome, residue="", mounted_day=0) is None
