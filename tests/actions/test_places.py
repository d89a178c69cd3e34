import pytest
from sqlmodel import Session

from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.place_changes import add_place, change_place
from models.actions.places import (
    PlaceTold,
    keys_of_works_ever_in,
    list_places,
    read_place,
)
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale, UnknownWord
from models.vocabulary import PlaceUse
from tests.builders import (
    a_framer,
    a_keeper,
    a_material,
    a_place,
    a_poor_mount,
    a_stay,
    a_work,
    an_owner,
    key_of,
    stored_forecast,
)
from tests.counting import statements

TODAY = 20_782


def test_a_place_is_added_to_what_is_around_it_and_takes_its_climate(session: Session) -> None:
    keeper = a_keeper(session)
    house = add_place(
        session, keeper, PlaceTold(path="Gannet House", temperature_c=18, rh_percent=55)
    )
    add_place(session, keeper, PlaceTold(path="Gannet House / Stair"))
    wall = add_place(
        session, keeper, PlaceTold(path="Gannet House / Stair / North wall", lux=80, note="dim")
    )
    assert wall.told == PlaceTold(path="Gannet House / Stair / North wall", lux=80, note="dim")
    assert (wall.effective.rh_percent, wall.effective.lux, wall.effective.use) == (
        55,
        80,
        PlaceUse.DISPLAY,
    )
    assert wall.said_by["rh_percent"] == "Gannet House"
    assert wall.said_by["uv_uw_per_lm"] is None
    assert house.version == 1


@pytest.mark.parametrize("path", ["gannet house", "Gannet  House / STAIR", "Gannet House / stair"])
def test_a_name_that_differs_in_capitals_and_blanks_alone_is_taken(
    session: Session, path: str
) -> None:
    keeper = a_keeper(session)
    add_place(session, keeper, PlaceTold(path="Gannet House"))
    add_place(session, keeper, PlaceTold(path="Gannet House / Stair"))
    with pytest.raises(RuleBroken, match="is on record already") as refused:
        add_place(session, keeper, PlaceTold(path=path))
    assert refused.value.code == "name_taken"


def test_the_same_name_in_another_place_is_another_place_and_capitals_can_be_put_right(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    add_place(session, keeper, PlaceTold(path="Gannet House"))
    add_place(session, keeper, PlaceTold(path="Gannet House / gannet house"))
    house = add_place(session, keeper, PlaceTold(path="tern house"))
    changes = {"path": "Tern House"}
    put_right = change_place(session, keeper, house.id, changes, based_on=1, today=TODAY)
    assert put_right.told.path == "Tern House"


def test_a_stroke_without_blanks_is_refused_with_the_path_that_was_meant(session: Session) -> None:
    with pytest.raises(BadValue) as refused:
        add_place(session, a_keeper(session), PlaceTold(path="Gannet House/Attic"))
    (fault,) = refused.value.faults
    assert (fault.pointer, fault.right) == ("/path", "Write Gannet House / Attic.")


def test_a_place_around_that_is_not_on_record_is_refused_with_what_is_near(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    a_place(session, "Gannet House / Stair")
    with pytest.raises(UnknownWord) as refused:
        add_place(session, keeper, PlaceTold(path="Gannet House / Stairs / North wall"))
    assert refused.value.code == "unknown_place"
    assert refused.value.faults[0].pointer == "/path"
    assert "Gannet House / Stair" in refused.value.near


@pytest.mark.parametrize("path", ["Gannet House", "Gannet House / Stair"])
def test_a_place_is_not_added_twice(session: Session, path: str) -> None:
    keeper = a_keeper(session)
    a_place(session, "Gannet House / Stair")
    with pytest.raises(RuleBroken, match="on record already") as refused:
        add_place(session, keeper, PlaceTold(path=path))
    assert refused.value.code == "name_taken"


def test_all_that_is_wrong_with_a_place_is_said_at_once(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(BadValue) as refused:
        add_place(session, keeper, PlaceTold(path=" / ", rh_percent=130, lux=-1))
    assert {fault.pointer for fault in refused.value.faults} == {"/path", "/rh_percent", "/lux"}


def test_a_place_is_renamed_and_put_elsewhere_with_all_that_is_in_it(session: Session) -> None:
    keeper = a_keeper(session)
    cabinet = a_place(session, "Gannet House / Study / Cabinet")
    a_place(session, "Gannet House / Study / Cabinet / Box 3")
    a_place(session, "Tern House")
    changed = change_place(
        session,
        keeper,
        key_of(cabinet),
        {"path": "Tern House / Plan chest", "use": PlaceUse.STORAGE},
        based_on=1,
        today=TODAY,
    )
    assert changed.told.path == "Tern House / Plan chest"
    assert "Tern House / Plan chest / Box 3" in [p.told.path for p in list_places(session, keeper)]


def test_a_place_cannot_be_put_into_itself(session: Session) -> None:
    keeper = a_keeper(session)
    study = a_place(session, "Gannet House / Study")
    a_place(session, "Gannet House / Study / Cabinet")
    with pytest.raises(RuleBroken) as refused:
        change_place(
            session,
            keeper,
            key_of(study),
            {"path": "Gannet House / Study / Cabinet / Study"},
            based_on=1,
            today=TODAY,
        )
    assert refused.value.code == "place_in_itself"


def test_what_is_cleared_is_taken_from_around_again(session: Session) -> None:
    keeper = a_keeper(session)
    add_place(session, keeper, PlaceTold(path="Gannet House", lux=40))
    stair = add_place(session, keeper, PlaceTold(path="Gannet House / Stair", lux=90))
    changed = change_place(session, keeper, stair.id, {"lux": None}, based_on=1, today=TODAY)
    assert changed.effective.lux == 40
    with pytest.raises(BadValue, match="cannot be taken away"):
        change_place(session, keeper, stair.id, {"path": None}, based_on=1, today=TODAY)


def test_whoever_was_slower_sees_what_is_there_now(session: Session) -> None:
    keeper = a_keeper(session)
    stair = a_place(session, "Gannet House / Stair")
    stair.version = 2
    with pytest.raises(Stale) as refused:
        change_place(session, keeper, key_of(stair), {"lux": 50}, based_on=1, today=TODAY)
    assert refused.value.theirs == read_place(session, keeper, key_of(stair))


def test_only_a_keeper_adds_or_changes_places(session: Session) -> None:
    framer = a_framer(session)
    stair = a_place(session)
    with pytest.raises(NotAllowed, match="add or change places"):
        add_place(session, framer, PlaceTold(path="Shed"))
    with pytest.raises(NotAllowed, match="add or change places"):
        change_place(session, framer, key_of(stair), {"lux": 50}, based_on=1, today=TODAY)


def test_an_owner_sees_the_places_of_their_own_works_and_no_others(session: Session) -> None:
    owner = an_owner(session, "The Gannet House")
    a_work(session, owner="The Gannet House", place="Gannet House / Stair / North wall")
    a_work(session, owner="The Tern House", place="Tern House / Study")
    study = a_place(session, "Tern House / Study")
    assert [place.told.path for place in list_places(session, owner)] == [
        "Gannet House",
        "Gannet House / Stair",
        "Gannet House / Stair / North wall",
    ]
    with pytest.raises(NotFound):
        read_place(session, owner, key_of(study))


def test_works_of_a_place_are_those_that_are_or_were_in_anything_within_it(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    on_the_wall = a_work(session, place="Gannet House / Stair / North wall", number="1")
    gone = a_work(session, place="Tern House", number="2")
    a_stay(session, gone, place="Gannet House / Stair", until="1999")
    a_work(session, place="Tern House", number="3")
    stair = key_of(a_place(session, "Gannet House / Stair"))
    found = keys_of_works_ever_in(session, keeper, stair)
    assert found == [key_of(on_the_wall), key_of(gone)]


def test_what_is_said_later_of_a_place_reaches_the_works_that_have_left_it(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    hall = a_place(session, "Gannet House / Hall")
    work = a_work(session, place="Gannet House / Stair", since="2026-06-01", light_class=3)
    a_stay(session, work, place="Gannet House / Hall", since="2000", until="2026-06-01")
    a_poor_mount(session, work, a_material(session, "Old backing", grade="groundwood board"))
    refresh_forecasts(session, [key_of(work)], today=TODAY)
    told = {"temperature_c": 27, "lux": 900, "hours_per_day": 10}
    change_place(session, keeper, key_of(hall), told, based_on=1, today=TODAY)
    assert faults_of_stored(session, [key_of(work)]) == []
    forecast = stored_forecast(session, work)
    assert forecast is not None
    assert forecast.take_down_on == TODAY


def test_a_list_of_places_takes_as_many_statements_for_many_as_for_few(session: Session) -> None:
    keeper = a_keeper(session)
    a_place(session, "Gannet House / Stair")
    with statements(session) as few:
        list_places(session, keeper)
    for n in range(20):
        a_place(session, f"Gannet House / Room {n}")
    with statements(session) as many:
        assert len(list_places(session, keeper)) == 22
    assert len(many) == len(few)


def test_a_warmer_room_makes_harm_likelier_for_every_work_in_it(session: Session) -> None:
    keeper = a_keeper(session)
    board = a_material(session, "Old backing", grade="groundwood board")
    work = a_work(session, place="Gannet House / Stair / North wall")
    a_poor_mount(session, work, board)
    house = key_of(a_place(session, "Gannet House"))
    chances = []
    for temperature_c in (16, 26):
        changes = {"temperature_c": temperature_c}
        change_place(session, keeper, house, changes, based_on=1, today=TODAY)
        forecast = stored_forecast(session, work)
        assert forecast is not None
        chances.append(forecast.chance_new_5y or 0)
    assert 0 < chances[0] < chances[1]
