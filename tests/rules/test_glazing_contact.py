"""When a work can touch its glazing; common practice, no source."""

from dataclasses import replace

import pytest

from models.rules.distance_from_work import place_layers
from models.rules.glazing_contact import can_touch_glazing
from models.rules.package_facts import LayerFacts
from models.rules.three_questions import with_blanks_filled
from models.vocabulary import Answer, LayerRole
from tests.rules.exposed_work import BACK, GLASS, RAG, WORK, package

SPACER = LayerFacts(role=LayerRole.SPACER, material="Acrylic spacer")
TISSUE = LayerFacts(role=LayerRole.INTERLEAF, material="Silk tissue")
SECOND = LayerFacts(role=LayerRole.GLAZING, material="Glass behind")


def can_touch(*layers: LayerFacts, method: str = "") -> bool:
    return can_touch_glazing(place_layers(package(*layers)), method)


@pytest.mark.parametrize(
    ("layers", "expected"),
    [
        ((GLASS, WORK, BACK), True),
        ((GLASS, TISSUE, WORK, BACK), True),
        ((GLASS, RAG, WORK, BACK), False),
        ((GLASS, SPACER, WORK, BACK), False),
        ((WORK, BACK), False),
        ((RAG, WORK, BACK, SECOND), False),
    ],
)
def test_a_mat_or_a_spacer_keeps_a_work_off_its_glazing(
    layers: tuple[LayerFacts, ...], expected: bool
) -> None:
    assert can_touch(*layers) is expected


def test_what_was_pressed_against_the_glazing_touches_it() -> None:
    assert can_touch(WORK, BACK, method="pressed against the glazing")


def test_a_print_stuck_to_its_acrylic_does_not_stick_by_chance() -> None:
    assert not can_touch(GLASS, WORK, method="face-mounted")


def test_behind_glass_an_unknown_front_is_taken_for_a_mat_of_unknown_board() -> None:
    unknown = replace(package(GLASS, WORK, BACK), front=Answer.UNKNOWN)
    assert not can_touch_glazing(place_layers(with_blanks_filled(unknown)))
