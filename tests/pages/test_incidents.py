"""Incidents: recorded, followed up, corrected, withdrawn."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_work, an_incident
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"
LEAK: dict[str, str | list[str]] = {
    "kind": "leak",
    "on": "10 November 2026",
    "place": STAIR,
    "note": "gutter",
}


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="A", owner=OWNER, place=STAIR)
        a_work(session, number="B", owner="The Tern House", place=f"{STAIR} / Wall")
        a_work(session, number="C")


def test_a_leak_over_a_place_asks_for_three_looks_at_each_work(
    framer: Browser, keeper: Browser
) -> None:
    assert f"selected>{STAIR}<" in framer.get("/incidents/new", params={"place": STAIR}).text
    answer = framer.send_form("/incidents/new", LEAK)
    assert answer.headers["location"] == "/incidents/1"
    page = framer.get("/incidents/1").text
    assert page.count("by 17 November 2026; by 10 December 2026; by 10 February 2027") == 2
    assert "2 works, 6 looks to be made" in framer.get("/incidents").text
    assert "After an incident: leak" in keeper.get("/due").text


def test_an_incident_may_reach_single_works_by_their_numbers(framer: Browser) -> None:
    told: dict[str, str | list[str]] = {"kind": "fall", "on": "2026-11", "works": "A; C\nA"}
    answer = framer.send_form("/incidents/new", told)
    page = framer.get(answer.headers["location"]).text
    assert ('href="/works/1"' in page, 'href="/works/2"' in page) == (True, False)
    assert 'href="/works/3"' in page


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("kind", "", "The kind of incident is missing."),
        ("on", "", "The day is missing."),
        ("on", "soon", "is not a date"),
        ("on", "2027", "2027 has not come yet; record an incident once it has happened."),
        ("works", "A; Z", "There is no work Z."),
        ("place", "Nowhere", "There is no place called"),
    ],
)
def test_a_wrong_value_is_named_beside_its_field_and_nothing_typed_is_lost(
    framer: Browser, field: str, typed: str, said: str
) -> None:
    sent = {**LEAK, "place": "", "works": "A", field: typed}
    answer = framer.send_form("/incidents/new", sent)
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert ">gutter</textarea>" in answer.text


def test_an_incident_names_a_place_or_works(framer: Browser) -> None:
    answer = framer.send_form("/incidents/new", {**LEAK, "place": ""})
    assert answer.status_code == 422
    assert "names the place" in answer.text.split('id="fault-place"')[1].split("</p>")[0]


def test_the_words_are_corrected_and_the_whole_is_withdrawn(
    framer: Browser, keeper: Browser
) -> None:
    framer.send_form("/incidents/new", LEAK)
    told: dict[str, str | list[str]] = {"version": "1", "kind": "burst pipe", "note": ""}
    assert framer.send_form("/incidents/1", told).status_code == 303
    late = framer.send_form("/incidents/1", {**told, "kind": "rain"})
    assert (late.status_code, 'data-value="burst pipe"' in late.text) == (409, True)
    blank = framer.send_form("/incidents/1", {**told, "version": "2", "kind": " "})
    assert (blank.status_code, "The kind of incident is missing" in blank.text) == (422, True)
    assert framer.send_form("/incidents/1/withdraw", {"reason": "x"}).status_code == 403
    assert keeper.send_form("/incidents/1/withdraw", {"reason": ""}).status_code == 422
    assert keeper.send_form("/incidents/1/withdraw", {"reason": "not here"}).status_code == 303
    assert "None on record." in keeper.get("/incidents").text


def test_an_owner_sees_what_reached_their_works_alone(framer: Browser, owner: Browser) -> None:
    framer.send_form("/incidents/new", LEAK)
    framer.send_form("/incidents/new", {"kind": "fall", "on": "2026", "works": "B"})
    page = owner.get("/incidents").text
    assert ("leak" in page.split("rooms")[1], "fall" in page.split("rooms")[1]) == (True, False)
    leak = owner.get("/incidents/1").text
    assert ('href="/works/1"' in leak, 'href="/works/2"' in leak) == (True, False)
    assert owner.get("/incidents/2").status_code == 404
    assert owner.get("/incidents/new").status_code == 404


def test_incidents_take_as_many_statements_for_many_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = statements_of(keeper, "/incidents")
    with recording(engine, actor="test", now=NOON) as session:
        for _ in range(20):
            an_incident(session, a_work(session), "2026-12-01")
    assert statements_of(keeper, "/incidents") == few <= 12
