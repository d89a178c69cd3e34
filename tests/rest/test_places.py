"""The tree of places through REST."""

from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_place, a_work
from tests.with_app import NOON, OWNER, Browser


def test_a_place_says_what_it_says_and_what_holds_there(program: Browser) -> None:
    program.post("/api/places", json={"path": "Gannet House", "rh_percent": 55})
    told = {"path": "Gannet House / Stair", "use": "storage", "lux": 80.0, "note": "dim"}
    answer = program.post("/api/places", json=told)
    assert answer.status_code == 201
    place = program.get(answer.headers["location"]).json()
    assert {name: place[name] for name in told} == told
    assert (place["rh_percent"], place["effective"]["rh_percent"]) == (None, 55)
    said_by = place["effective"]["said_by"]
    assert (said_by["rh_percent"], said_by["lux"], said_by["hours_per_day"]) == (
        "Gannet House",
        "Gannet House / Stair",
        None,
    )


def test_a_place_is_refused_where_it_is_wrong(program: Browser) -> None:
    program.post("/api/places", json={"path": "Gannet House"})
    again = program.post("/api/places", json={"path": "Gannet House"})
    assert (again.status_code, again.json()["code"]) == (409, "name_taken")
    lost = program.post("/api/places", json={"path": "Ganet House / Stair", "lux": -1})
    assert {error["pointer"] for error in lost.json()["errors"]} == {"/path", "/lux"}


def test_a_place_is_changed_from_the_version_that_was_seen(program: Browser) -> None:
    program.post("/api/places", json={"path": "Gannet House", "lux": 40})
    place = program.post("/api/places", json={"path": "Gannet House / Stair", "lux": 90})
    where = place.headers["location"]
    changed = program.patch(where, json={"lux": None}, headers={"If-Match": '"1"'})
    assert (changed.json()["effective"]["lux"], changed.headers["etag"]) == (40, '"2"')
    stale = program.patch(where, json={"lux": 1}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["theirs"]) == (412, changed.json())
    loop = program.patch(
        "/api/places/1",
        json={"path": "Gannet House / Stair / Gannet House"},
        headers={"If-Match": '"1"'},
    )
    assert (loop.status_code, loop.json()["code"]) == (409, "place_in_itself")


def test_places_are_listed_in_the_order_of_the_tree_and_as_far_as_they_are_seen(
    program: Browser, owner: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, "Tern House / Study")
        a_work(session, owner=OWNER, place="Gannet House / Stair")
    first = program.get("/api/places", params={"limit": 3}).json()
    rest = program.get("/api/places", params={"limit": 3, "cursor": first["next"]}).json()
    paths = [place["path"] for place in first["items"] + rest["items"]]
    assert paths == ["Gannet House", "Gannet House / Stair", "Tern House", "Tern House / Study"]
    own = [place["path"] for place in owner.get("/api/places").json()["items"]]
    assert own == ["Gannet House", "Gannet House / Stair"]
    assert owner.get("/api/places/1").status_code == 404
