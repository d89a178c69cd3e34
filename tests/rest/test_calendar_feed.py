"""What is due, as a calendar for whoever has a key to it."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from icalendar import Calendar
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.rules.calendar_days import day_number
from models.tables.forecasts import Forecast
from models.vocabulary import PlaceUse, Role
from tests.builders import a_forecast, a_place, a_work
from tests.with_app import NOON, OWNER, TODAY, Browser, Clock, person_who_signs_in, with_token

NOW = day_number(TODAY)


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, "Box 4", use=PlaceUse.BOX)
        framed = a_work(session, number="A", title="Tern", owner=OWNER, place="Gannet House")
        boxed = a_work(session, number="B", owner="The Tern House", place="Box 4")
        new = a_work(session, number="C")
        a_forecast(session, framed, look_on=NOW - 10, remat_by=NOW + 30)
        a_forecast(session, boxed, box_check_on=NOW + 1)
        a_forecast(session, new, first_survey=True)


@pytest.fixture
def owners_program(app: FastAPI, engine: Engine, browse: Callable[..., Browser]) -> Browser:
    """A program with the token of an owner."""
    return with_token(browse(app), engine, person_who_signs_in(engine, "Cleo Margin", Role.OWNER))


def a_key(browser: Browser, name: str = "tablet") -> str:
    made = browser.post("/api/due/feed-keys", json={"name": name})
    assert made.status_code == 201
    return str(made.json()["key"])


def walked(calendar: bytes) -> list[Any]:
    """Return the events; what a property may hold is known to the test alone."""
    return list(Calendar.from_ical(calendar).walk("VEVENT"))


def events(browser: Browser, key: str) -> list[tuple[str, str, int]]:
    answer = browser.get("/api/due.ics", params={"key": key})
    assert answer.status_code == 200
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    found = walked(answer.content)
    return [(str(e["SUMMARY"]), e["DTSTART"].dt.isoformat(), int(e["SEQUENCE"])) for e in found]


def test_the_calendar_tells_numbers_and_dates_and_the_survey_as_one_event(
    program: Browser, stranger: Browser
) -> None:
    key = a_key(program)
    assert events(stranger, key) == [
        ("A: look (overdue)", "2026-11-25", 10),
        ("A: remat", "2026-12-25", 0),
        ("box check: 1 work", "2026-11-26", NOW + 1 - 20_000),
        ("first survey: 1 work seen by now", "2026-12-02", NOW - 20_000),
    ]


def test_no_title_owner_or_place_leaves_with_the_calendar(
    program: Browser, stranger: Browser
) -> None:
    text = stranger.get("/api/due.ics", params={"key": a_key(program)}).text
    assert [word for word in ("Tern", OWNER, "Gannet", "Box 4") if word in text] == []


def test_a_date_that_moves_keeps_its_uid_and_raises_its_sequence(
    program: Browser, stranger: Browser, engine: Engine
) -> None:
    key = a_key(program)
    before = stranger.get("/api/due.ics", params={"key": key})
    with recording(engine, actor="test", now=NOON) as session:
        forecast = session.get(Forecast, 1)
        assert forecast is not None
        forecast.look_on = NOW + 5
    after = stranger.get("/api/due.ics", params={"key": key})

    def of(answer: bytes) -> dict[str, tuple[str, int]]:
        return {
            str(e["UID"]): (e["DTSTART"].dt.isoformat(), int(e["SEQUENCE"]))
            for e in walked(answer)
            if str(e["SUMMARY"]).startswith("A: look")
        }

    ((uid, was),) = of(before.content).items()
    assert was == ("2026-11-25", 10)
    assert of(after.content) == {uid: ("2026-11-30", 100_000)}


def test_used_up_light_stands_on_each_new_day_with_a_higher_sequence(
    program: Browser, stranger: Browser, engine: Engine, clock: Clock
) -> None:
    key, found = a_key(program), []
    for day in (NOW, NOW + 1):
        with recording(engine, actor="test", now=NOON) as session:
            forecast = session.get(Forecast, 1)
            assert forecast is not None
            forecast.take_down_on = day
        found += [event for event in events(stranger, key) if "take down" in event[0]]
        clock.move(timedelta(days=1))
    assert found == [
        ("A: take down", "2026-11-25", NOW - 20_000),
        ("A: take down", "2026-11-26", NOW + 1 - 20_000),
    ]


def test_what_is_stored_anew_and_did_not_move_keeps_its_sequence(
    program: Browser, stranger: Browser, engine: Engine
) -> None:
    key = a_key(program)
    with recording(engine, actor="test", now=NOON) as session:
        forecast = session.get(Forecast, 1)
        assert forecast is not None
        forecast.chance_unseen = 0.5
    assert events(stranger, key)[0] == ("A: look (overdue)", "2026-11-25", 10)


def test_an_owner_has_their_own_works_in_the_calendar(
    owners_program: Browser, stranger: Browser
) -> None:
    assert [e[0] for e in events(stranger, a_key(owners_program))] == [
        "A: look (overdue)",
        "A: remat",
    ]


def test_a_key_is_sent_once_and_ends_when_it_is_ended(program: Browser, stranger: Browser) -> None:
    key = a_key(program, "tablet")
    (listed,) = program.get("/api/due/feed-keys").json()
    assert listed == {"id": 1, "name": "tablet", "made_on": "2026-11-25", "key": None, "path": None}
    assert program.delete("/api/due/feed-keys/1").status_code == 204
    assert stranger.get("/api/due.ics", params={"key": key}).status_code == 404
    assert program.delete("/api/due/feed-keys/1").status_code == 404


def test_nobody_ends_a_key_of_somebody_else(program: Browser, owners_program: Browser) -> None:
    a_key(owners_program)
    assert program.delete("/api/due/feed-keys/1").status_code == 404


@pytest.mark.parametrize("key", ["", "nonsense", "x" * 200])
def test_a_calendar_without_a_key_in_force_is_not_found(stranger: Browser, key: str) -> None:
    assert stranger.get("/api/due.ics", params={"key": key}).status_code == 404
