"""Places lie within places, and take from them what they do not say themselves."""

import pytest

from models.errors import BadValue, NotFound, RuleBroken
from models.rules.place_tree import (
    DEFAULTS,
    EffectivePlace,
    PlaceFigures,
    PlaceNode,
    PlaceTree,
    names_in_path,
)
from models.vocabulary import PlaceUse

HOUSE, STAIR, NORTH, STORE, BOX = 1, 2, 3, 4, 5
TREE = PlaceTree(
    [
        PlaceNode(
            key=HOUSE, parent=None, name="House", says=PlaceFigures(temperature_c=19, lux=80)
        ),
        PlaceNode(key=STAIR, parent=HOUSE, name="Stair", says=PlaceFigures(lux=200)),
        PlaceNode(key=NORTH, parent=STAIR, name="North wall", says=PlaceFigures(rh_percent=62)),
        PlaceNode(key=STORE, parent=HOUSE, name="Store", says=PlaceFigures(use=PlaceUse.STORAGE)),
        PlaceNode(key=BOX, parent=STORE, name="Box 3/4", says=PlaceFigures(use=PlaceUse.BOX)),
    ]
)


def test_a_place_is_written_with_all_that_is_around_it() -> None:
    assert TREE.path(NORTH) == "House / Stair / North wall"
    assert TREE.find("House / Stair / North wall") == NORTH


def test_blanks_around_names_do_not_matter_and_a_slash_within_a_name_stays() -> None:
    assert TREE.find(" House /  Store / Box 3/4") == BOX


def test_a_place_that_is_not_there_is_not_found() -> None:
    assert TREE.find("House / North wall") is None
    with pytest.raises(NotFound, match="place 99"):
        TREE.path(99)


@pytest.mark.parametrize("path", ["", "  ", "House /  / Wall", "House / ", " / House"])
def test_a_path_with_a_nameless_place_is_refused(path: str) -> None:
    with pytest.raises(BadValue, match="is not a place"):
        names_in_path(path)


def test_what_the_wall_does_not_say_it_takes_from_the_stair_then_the_house() -> None:
    assert TREE.effective(NORTH) == EffectivePlace(
        use=PlaceUse.DISPLAY,
        temperature_c=19,
        rh_percent=62,
        lux=200,
        hours_per_day=8,
        days_per_year=365,
        uv_uw_per_lm=10,
        said_by={
            "use": None,
            "temperature_c": HOUSE,
            "rh_percent": NORTH,
            "lux": STAIR,
            "hours_per_day": None,
            "days_per_year": None,
            "uv_uw_per_lm": None,
        },
    )


def test_the_nearest_word_on_the_use_of_a_place_holds() -> None:
    assert TREE.effective(BOX).use is PlaceUse.BOX
    assert TREE.effective(STORE).use is PlaceUse.STORAGE


def test_a_work_whose_place_nobody_knows_has_the_defaults_of_this_project() -> None:
    assert TREE.effective(None) == DEFAULTS


def test_what_is_in_a_house_is_in_its_rooms_too() -> None:
    assert TREE.below(HOUSE) == (HOUSE, STAIR, STORE, NORTH, BOX)
    assert TREE.below(BOX) == (BOX,)


def test_paths_are_listed_so_that_a_place_stands_before_what_is_in_it() -> None:
    assert TREE.paths() == (
        "House",
        "House / Stair",
        "House / Stair / North wall",
        "House / Store",
        "House / Store / Box 3/4",
    )


def test_a_house_cannot_be_put_into_one_of_its_rooms() -> None:
    with pytest.raises(RuleBroken, match="lies within it"):
        TREE.refuse_loop(HOUSE, NORTH)
    TREE.refuse_loop(NORTH, STORE)
    TREE.refuse_loop(NORTH, None)
