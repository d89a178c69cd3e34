"""The tree of places, what holds in each and who said it."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.tables.places import Place
from models.vocabulary import PlaceUse
from tests.builders import a_forecast, a_place, a_work
from tests.with_app import NOON, OWNER, Browser

HOUSE, STAIR, BOX = "Gannet House", "Gannet House / Stair", "Gannet House / Box 4"


@pytest.fixture(autouse=True)
def _places(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        house: Place = a_place(session, HOUSE)
        house.temperature_c = 18
        a_place(session, STAIR)
        a_place(session, BOX, use=PlaceUse.BOX)
        a_place(session, "Tern House")
        a_forecast(session, a_work(session, number="A", title="Tern", owner=OWNER, place=STAIR))
        a_forecast(session, a_work(session, number="B", title="Mill", place=BOX))


NEW: dict[str, str | list[str]] = {
    "name": "North wall",
    "within": STAIR,
    "use": "display",
    "lux": "80",
    "rh_percent": "52,5",
    "note": "no sun",
}


def test_the_tree_shows_what_each_place_says_and_takes_over(keeper: Browser) -> None:
    page = keeper.get("/places").text
    assert page.index(HOUSE) < page.index("Box 4") < page.index("Stair") < page.index("Tern House")
    assert page.count("18 °C, 50 %") == 3
    assert page.count('class="quiet">18 °C') == 2


def test_a_place_says_who_said_each_figure_and_what_is_in_it(keeper: Browser) -> None:
    page = keeper.get("/places/2").text
    assert '<td>18 °C</td><td class="quiet">Gannet House</td>' in page
    assert '<td>50 lx</td><td class="quiet">nobody: a default</td>' in page
    assert ("Tern" in page, "Mill" in page) == (True, False)
    assert 'href="/walk-round/2">Walk round' in page
    assert 'href="/walk-round/3">Check this box' in keeper.get("/places/3").text
    house = keeper.get("/places/1").text
    assert ("Tern" in house, "Mill" in house, 'href="/places/3"' in house) == (True, True, True)


def test_an_owner_sees_the_places_of_their_works_alone(owner: Browser) -> None:
    page = owner.get("/places").text
    assert ("Stair" in page, "Box 4" in page, "Tern House" in page) == (True, False, False)
    assert owner.get("/places/3").status_code == 404
    house = owner.get("/places/1").text
    assert ("Tern" in house, "Mill" in house, "Box 4" in house) == (True, False, False)
    assert owner.get("/places/new").status_code == 404


def test_a_place_is_added_to_what_is_around_it(keeper: Browser) -> None:
    assert "selected>Gannet House / Stair" in keeper.get(f"/places/new?within={STAIR}").text
    answer = keeper.send_form("/places/new", NEW)
    assert (answer.status_code, answer.headers["location"]) == (303, "/places/5")
    page = keeper.get("/places/5").text
    assert "<td>52.5 % RH</td><td>this place</td>" in page
    assert ("no sun" in page, 'href="/places/2">Stair</a>' in page) == (True, True)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("name", "", "The name is missing. Fill it in."),
        ("name", "East / West", "A name is of one place."),
        ("within", "Nowhere", "There is no place called"),
        ("rh_percent", "120", "between 0 and 100"),
        ("lux", "bright", "Write digits"),
        ("use", "garage", "is none of display"),
    ],
)
def test_a_wrong_value_is_named_beside_its_field_and_nothing_typed_is_lost(
    keeper: Browser, field: str, typed: str, said: str
) -> None:
    answer = keeper.send_form("/places/new", {**NEW, "note": "kept", field: typed})
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert ">kept</textarea>" in answer.text


def test_a_place_of_the_same_name_is_refused_and_what_was_typed_is_there(keeper: Browser) -> None:
    answer = keeper.send_form("/places/new", {"name": "Stair", "within": HOUSE, "lux": "80"})
    assert answer.status_code == 422
    assert "on record already" in answer.text.split('id="fault-name"')[1].split("</p>")[0]
    assert 'value="80"' in answer.text


def test_a_place_is_changed_from_the_version_that_was_seen(keeper: Browser) -> None:
    page = keeper.get("/places/2/change").text
    assert ('name="version" value="1"' in page, "selected>Gannet House<" in page) == (True, True)
    told: dict[str, str | list[str]] = {"version": "1", "name": "Hall", "within": HOUSE}
    assert keeper.send_form("/places/2/change", {**told, "lux": "40"}).status_code == 303
    late = keeper.send_form("/places/2/change", {**told, "lux": "90"})
    assert late.status_code == 409
    assert ('data-value="40"' in late.text, 'value="90"' in late.text) == (True, True)
    assert keeper.send_form("/places/2/change", {**told, "version": "2"}).status_code == 303
    assert "50 lx" in keeper.get("/places/2").text


def test_a_place_cannot_lie_within_itself(keeper: Browser) -> None:
    told: dict[str, str | list[str]] = {"version": "1", "name": HOUSE, "within": STAIR}
    assert f"<option>{STAIR}" not in keeper.get("/places/1/change").text
    answer = keeper.send_form("/places/1/change", told)
    assert answer.status_code == 422
    assert "lies within it" in answer.text.split('id="fault-within"')[1].split("</p>")[0]


def test_places_take_as_many_statements_for_many_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = [statements_of(keeper, path) for path in ("/places", "/places/1")]
    with recording(engine, actor="test", now=NOON) as session:
        for number in range(20):
            a_forecast(session, a_work(session, place=f"{STAIR} / Wall {number}"))
    many = [statements_of(keeper, path) for path in ("/places", "/places/1")]
    assert many == few
    assert max(many) <= 12
