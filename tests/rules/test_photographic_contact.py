"""What acts upon a photograph: ISO 18916 results and where the layer lies."""

from dataclasses import replace

import pytest

from models.rules.distance_from_work import PlacedLayer
from models.rules.package_facts import HoldFacts, LayerFacts
from models.rules.photographic_contact import (
    Acting,
    acts_on_photograph,
    hold_acts_on_photograph,
    is_alkali_on_cyanotype,
)
from models.vocabulary import Distance, LayerRole, LayerSide, PatResult, ProcessGroup
from tests.rules.exposed_work import GLASS, POCKETS, RAG

FRONT = LayerSide.FRONT
HINGES = HoldFacts(grade="gummed tape hinges")


@pytest.mark.parametrize(
    ("result", "distance", "found"),
    [
        (PatResult.FAILED, Distance.TOUCHES, ("test failed", 1.0)),
        (PatResult.FAILED, Distance.FACES, ("test failed", 2.5)),
        (PatResult.FAILED, Distance.APART, None),
        (PatResult.NOT_TESTED, Distance.TOUCHES, ("not tested", 1.0)),
        (PatResult.NOT_TESTED, Distance.FACES, None),
        (PatResult.PASSED, Distance.TOUCHES, None),
    ],
)
def test_a_board_acts_by_its_test_and_its_distance(
    result: PatResult, distance: Distance, found: tuple[str, float] | None
) -> None:
    placed = PlacedLayer(replace(RAG, pat=result), FRONT, distance)
    acting = acts_on_photograph(placed, ProcessGroup.SILVER_PHOTOGRAPH)
    assert (None if acting is None else (acting.grade, acting.factor)) == found


@pytest.mark.parametrize(
    ("process", "acts"),
    [
        (ProcessGroup.DYE_PHOTOGRAPH, True),
        (ProcessGroup.ALBUMEN, True),
        (ProcessGroup.PLATINUM, False),
        (ProcessGroup.INKJET, False),
        (ProcessGroup.NONE, False),
    ],
)
def test_only_images_of_silver_and_dye_are_acted_upon(process: ProcessGroup, acts: bool) -> None:
    placed = PlacedLayer(RAG, FRONT, Distance.TOUCHES)
    assert (acts_on_photograph(placed, process) is not None) is acts


def test_glass_and_film_are_asked_for_no_test_unless_they_failed_one() -> None:
    film = LayerFacts(role=LayerRole.BARRIER, material="Polyester film", is_barrier=True)
    for layer in (GLASS, film):
        placed = PlacedLayer(layer, FRONT, Distance.TOUCHES)
        assert acts_on_photograph(placed, ProcessGroup.SILVER_PHOTOGRAPH) is None
    failed = PlacedLayer(replace(film, pat=PatResult.FAILED), FRONT, Distance.TOUCHES)
    assert acts_on_photograph(failed, ProcessGroup.SILVER_PHOTOGRAPH) is not None


def test_a_tape_on_a_photograph_is_asked_and_a_pocket_only_when_it_failed() -> None:
    silver = ProcessGroup.SILVER_PHOTOGRAPH
    assert hold_acts_on_photograph(HINGES, silver) == Acting(
        "not tested", 1.0, "it touches a photograph and no activity test is on record"
    )
    assert hold_acts_on_photograph(POCKETS, silver) is None
    failed = hold_acts_on_photograph(replace(POCKETS, pat=PatResult.FAILED), silver)
    assert failed is not None
    assert failed.grade == "test failed"
    assert hold_acts_on_photograph(replace(HINGES, pat=PatResult.PASSED), silver) is None


@pytest.mark.parametrize(
    ("grade", "buffered", "is_alkali"),
    [
        ("cotton rag board, buffered", None, True),
        ("cotton rag board, buffered", False, False),
        ("cotton rag board, unbuffered", None, False),
        (None, True, True),
        ("unknown board", None, False),
    ],
)
def test_a_buffered_board_touches_a_cyanotype_by_its_figures_or_its_grade(
    grade: str | None, buffered: bool | None, is_alkali: bool
) -> None:
    layer = LayerFacts(role=LayerRole.WINDOW_MAT, grade=grade, buffered=buffered)
    placed = PlacedLayer(layer, FRONT, Distance.TOUCHES)
    assert is_alkali_on_cyanotype(placed, ProcessGroup.CYANOTYPE) is is_alkali
    assert not is_alkali_on_cyanotype(placed, ProcessGroup.SILVER_PHOTOGRAPH)
    facing = replace(placed, distance=Distance.FACES)
    assert not is_alkali_on_cyanotype(facing, ProcessGroup.CYANOTYPE)
