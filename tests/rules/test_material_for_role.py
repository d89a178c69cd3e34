"""What no material of a kind can be is refused; what was found, however poor, is taken."""

import pytest

from models.errors import BadValue
from models.rules.fit_choices import KINDS
from models.rules.material_for_role import (
    POSSIBLE_KINDS,
    refuse_impossible_hold,
    refuse_impossible_layer,
)
from models.vocabulary import LayerRole


@pytest.mark.parametrize(
    ("role", "kind"),
    [
        (LayerRole.GLAZING, "mat board"),
        (LayerRole.GLAZING, "Mat board "),
        (LayerRole.FRAME, "glazing"),
        (LayerRole.WINDOW_MAT, "paste"),
        (LayerRole.ADHESIVE, "film"),
    ],
)
def test_a_layer_that_cannot_be_is_refused_with_the_kinds_that_can(
    role: LayerRole, kind: str
) -> None:
    with pytest.raises(BadValue, match=f"cannot be the {role}") as refused:
        refuse_impossible_layer(role, "Something", kind, sticks=False)
    (fault,) = refused.value.faults
    assert all(possible in fault.right for possible in POSSIBLE_KINDS[role])


@pytest.mark.parametrize(
    ("role", "kind"),
    [
        (LayerRole.BACKING, "paper"),
        (LayerRole.SPACER, "mat board"),
        (LayerRole.BACKING, "glazing"),
        (LayerRole.GLAZING, "a kind of the house's own"),
    ],
)
def test_poor_practice_and_kinds_of_the_house_are_taken(role: LayerRole, kind: str) -> None:
    refuse_impossible_layer(role, "Something", kind, sticks=False)


def test_a_film_is_an_adhesive_and_a_board_a_hold_only_where_its_figures_say_so() -> None:
    refuse_impossible_layer(LayerRole.ADHESIVE, "Something", "film", sticks=True)
    refuse_impossible_hold("Something", "backing board", holds=True)
    refuse_impossible_hold("Newspaper", "paper", holds=False)
    for kind in ("backing board", "glazing"):
        with pytest.raises(BadValue, match="cannot be what holds a work"):
            refuse_impossible_hold("Something", kind, holds=False)


def test_whatever_is_offered_for_a_layer_can_be_it() -> None:
    for role, kinds in KINDS.items():
        assert set(kinds) <= set(POSSIBLE_KINDS[role])
