"""What is due, through REST."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.rules.calendar_days import day_number
from models.tables.mounts import Package
from models.vocabulary import UNKNOWN_BOARD, Advice, Answer, PlaceUse
from tests.builders import a_forecast, a_material, a_place, a_poor_mount, a_work
from tests.with_app import NOON, OWNER, TODAY, Browser

NOW = day_number(TODAY)
STAIR = "Gannet House / Stair"


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, "Box 4", use=PlaceUse.BOX)
        framed = a_work(session, number="A", title="Tern", owner=OWNER, place=STAIR)
        boxed = a_work(session, number="B", owner="The Tern House", place="Box 4")
        new = a_work(session, number="C")
        days = {"look_on": NOW - 10, "remat_by": NOW + 30}
        a_forecast(session, framed, weak_layer="Old backing", advice=Advice.REMAT, **days)
        a_forecast(session, boxed, box_check_on=NOW + 1)
        a_forecast(session, new, first_survey=True)


def test_what_is_due_is_told_with_its_reason_the_longest_due_first(program: Browser) -> None:
    answer = program.get("/api/due").json()
    assert answer["next"] is None
    look, box, remat = answer["items"]
    work = {"id": 1, "number": "A", "title": "Tern", "owner": OWNER}
    assert look == {
        "kind": "look",
        "on": "2026-11-15",
        "shown_on": "2026-11-25",
        "state": "overdue",
        "why": "Through the glazing: the front, and the back of the frame.",
        "work": work,
        "place": STAIR,
        "works": 1,
        "asks": "",
    }
    assert (box["kind"], box["work"], box["place"], box["works"]) == ("box check", None, "Box 4", 1)
    assert (remat["on"], remat["why"]) == (
        "2026-12-25",
        "Advice: remat. Weak layer: Old backing.",
    )


def test_until_is_inclusive_and_kinds_are_asked_for_one_by_one(program: Browser) -> None:
    def kinds(**params: str) -> list[str]:
        return [item["kind"] for item in program.get("/api/due", params=params).json()["items"]]

    assert kinds(until="2026-11-26") == ["look", "box check"]
    assert kinds(until="2026-11-25") == ["look"]
    assert kinds(kind="remat") == ["remat"]
    assert kinds(kind="first survey") == ["first survey"]


def test_the_first_survey_is_never_overdue(program: Browser) -> None:
    answer = program.get("/api/due", params={"kind": "first survey"}).json()
    (only,) = answer["items"]
    assert (only["on"], only["shown_on"], only["work"]["number"]) == (None, "2026-12-02", "C")


def test_the_first_survey_says_what_is_worth_asking_and_nothing_else_does(
    program: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        unknown = a_material(session, "Cream board", grade=UNKNOWN_BOARD, buffered=None)
        work = a_work(session, number="D")
        mount = a_poor_mount(session, work, unknown)
        package = session.get_one(Package, mount.package_id)
        package.in_front = package.behind = mount.held = Answer.THIS
        a_forecast(session, work, first_survey=True)
    items = program.get("/api/due", params={"kind": "first survey"}).json()["items"]
    (asks,) = [item["asks"] for item in items if item["work"]["number"] == "D"]
    assert asks.startswith("Worth asking: ")
    assert {item["asks"] for item in program.get("/api/due").json()["items"]} == {""}


def test_a_list_of_what_is_due_goes_on_where_it_stopped(program: Browser) -> None:
    first = program.get("/api/due", params={"limit": 2}).json()
    rest = program.get("/api/due", params={"limit": 2, "cursor": first["next"]}).json()
    assert [item["kind"] for item in first["items"] + rest["items"]] == [
        "look",
        "box check",
        "remat",
    ]
    assert rest["next"] is None


@pytest.mark.parametrize("params", [{"until": "soon"}, {"kind": "dusting"}, {"cursor": "WyJ4Il0"}])
def test_what_cannot_be_asked_is_refused(program: Browser, params: dict[str, str]) -> None:
    assert program.get("/api/due", params=params).status_code == 422


def test_an_owner_is_told_of_their_own_works_alone(owner: Browser) -> None:
    items = owner.get("/api/due").json()["items"]
    assert [item["kind"] for item in items] == ["look", "remat"]
