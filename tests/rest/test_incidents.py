"""Incidents through REST."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_work
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"
LEAK = {"kind": "leak", "on": "2026-11-10", "place": STAIR, "note": "gutter"}


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="A", owner=OWNER, place=STAIR)
        a_work(session, number="B", owner="The Tern House", place=f"{STAIR} / North wall")
        a_work(session, number="C", owner="The Tern House", place="Tern House")


def test_a_leak_makes_the_works_of_a_place_due(program: Browser) -> None:
    answer = program.post("/api/incidents", json=LEAK)
    assert answer.status_code == 201
    looks = [{"due_on": day, "visit": None} for day in ("2026-11-17", "2026-12-10", "2027-02-10")]
    works = [
        {"id": key, "number": number, "follow_ups": looks} for key, number in ((1, "A"), (2, "B"))
    ]
    assert answer.json() == LEAK | {"id": 1, "version": 1, "works": works}
    assert program.get(answer.headers["location"]).json() == answer.json()


@pytest.mark.parametrize(
    ("told", "status", "code"),
    [
        ({"kind": "leak", "on": "2027", "place": STAIR}, 409, "in_the_future"),
        ({"kind": "leak", "on": "2026"}, 422, "bad_value"),
        ({"kind": "leak", "on": "2026", "place": "Nowhere"}, 422, "unknown_place"),
        ({"kind": "leak", "on": "2026", "works": [99]}, 404, "not_found"),
    ],
)
def test_an_impossible_incident_is_refused_by_name(
    program: Browser, told: dict[str, object], status: int, code: str
) -> None:
    answer = program.post("/api/incidents", json=told)
    assert (answer.status_code, answer.json()["code"]) == (status, code)


def test_an_incident_is_corrected_and_withdrawn(program: Browser) -> None:
    where = program.post("/api/incidents", json=LEAK).headers["location"]
    changed = program.patch(where, json={"kind": "burst pipe"}, headers={"If-Match": '"1"'})
    assert changed.json()["kind"] == "burst pipe"
    stale = program.patch(where, json={"note": None}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["theirs"]) == (412, changed.json())
    assert program.post(f"{where}/withdraw", json={"reason": "not here"}).status_code == 204
    assert program.get(where).status_code == 404


def test_an_owner_sees_what_reached_their_works_alone(program: Browser, owner: Browser) -> None:
    program.post("/api/incidents", json=LEAK)
    program.post("/api/incidents", json={"kind": "fall", "on": "2026", "works": [3]})
    (only,) = owner.get("/api/incidents").json()["items"]
    assert [work["number"] for work in only["works"]] == ["A"]
    assert owner.get("/api/incidents/2").status_code == 404


def test_incidents_are_listed_last_first_page_by_page(program: Browser) -> None:
    for _ in range(3):
        program.post("/api/incidents", json=LEAK)
    first = program.get("/api/incidents", params={"limit": 2}).json()
    rest = program.get("/api/incidents", params={"limit": 2, "cursor": first["next"]}).json()
    assert [one["id"] for one in first["items"] + rest["items"]] == [3, 2, 1]
