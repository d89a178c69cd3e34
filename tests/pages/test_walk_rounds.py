"""A walk-round of a room and a check of a box, each on one form."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.findings import Finding
from models.tables.places import Walk
from models.tables.visits import Visit
from models.vocabulary import PlaceUse
from seed_data.load import load_reference_data
from tests.builders import a_place, a_work
from tests.with_app import NOON, Browser

ROOM = "Gannet House / Stair"
WALK: dict[str, str | list[str]] = {
    "on": "24 November 2026",
    "by": "Ben Rabbet",
    "seen": ["front"],
    "listed": ["1", "2", "3"],
    "as_before": ["1", "2", "3"],
}


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        load_reference_data(session)
        a_place(session, ROOM)
        a_place(session, f"{ROOM} / Box 4", use=PlaceUse.BOX)
        for number, title in (("A", "Tern"), ("B", "Mill"), ("C", "Weir")):
            a_work(session, number=number, title=title, place=f"{ROOM} / Wall")
        a_work(session, number="D", title="Sheet", place=f"{ROOM} / Box 4")


def visits(engine: Engine) -> list[tuple[int, str, str, str | None]]:
    with read_session(engine) as session:
        rows = session.exec(select(Visit).order_by(Visit.work_id)).all()  # type: ignore[arg-type]
        return [(v.work_id, v.kind, v.summary, v.stop_why) for v in rows]


def test_rooms_and_boxes_are_offered_with_how_much_there_is_to_see(framer: Browser) -> None:
    page = framer.get("/walk-round").text
    rooms, boxes = page.split("Or which box?")
    for room_id in ("1", "2", "4"):
        assert f'href="/walk-round/{room_id}"' in rooms
    assert ('href="/walk-round/3"' in boxes, "1 work" in boxes) == (True, True)


def test_every_work_of_a_room_is_ticked_beforehand(framer: Browser) -> None:
    page = framer.get("/walk-round/2").text
    assert page.count('name="as_before"') == page.count('name="listed"') == 3
    assert ("Sheet" in page, 'value="25 November 2026"' in page) == (False, True)
    assert 'value="front" checked' in page


def test_sixty_frames_as_before_are_one_tap(
    framer: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = statements_of(framer, "/walk-round/2")
    with recording(engine, actor="test", now=NOON) as session:
        for _ in range(57):
            a_work(session, place=ROOM)
    assert statements_of(framer, "/walk-round/2") == few <= 12
    keys = [str(key) for key in (1, 2, 3, *range(5, 62))]
    answer = framer.send_form("/walk-round/2", {**WALK, "listed": keys, "as_before": keys})
    assert answer.headers["location"] == "/walk-round?walk=1"
    assert len(visits(engine)) == 60
    page = framer.get("/walk-round?walk=1").text
    assert "60 works looked at, none not as before" in page
    assert "Walked round: Gannet House / Stair, 24 November 2026." in page


def test_what_is_written_beside_a_work_counts_instead_of_its_tick(
    framer: Browser, engine: Engine
) -> None:
    told = {
        **WALK,
        "as_before": ["1", "2"],
        "not_found": ["3"],
        "term-2": "broken glass",
        "severity-2": "severe",
        "change-2": "new",
        "note-2": "lower left corner",
        "left-2": "flat, in the study",
        "note": "by daylight",
    }
    assert framer.send_form("/walk-round/2", told).status_code == 303
    assert visits(engine) == [
        (1, "look", "", None),
        (2, "look", "lower left corner", "broken glass"),
    ]
    with read_session(engine) as session:
        assert session.exec(select(Finding.work_id)).all() == [2]
        assert session.exec(select(Walk.note)).one() == "by daylight\nNot found: C."
    page = framer.get("/walk-round?walk=1").text
    assert ("Mill" in page, "2 works looked at, 1 not as before" in page) == (True, True)


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        ({"on": ""}, "on", "The day is missing."),
        ({"on": "soon"}, "on", "is not a date"),
        ({"on": "2027"}, "on", "has not come yet"),
        ({"by": "Nobody"}, "by", "There is no person called"),
        ({"as_before": ["1", "2"]}, "note-3", "Say what is different"),
        ({"term-2": "fozing", "severity-2": "slight"}, "term-2", "Perhaps foxing"),
        ({"term-2": "foxing"}, "severity-2", "How strong is it?"),
        ({"left-2": "flat"}, "note-2", "Say why it needs somebody at once."),
        ({"note-2": "gone brown", "not_found": ["2"]}, "note-2", "cannot have been seen"),
    ],
)
def test_a_fault_stands_in_the_line_of_its_work_and_nothing_typed_is_lost(
    framer: Browser, engine: Engine, told: dict[str, str | list[str]], field: str, said: str
) -> None:
    answer = framer.send_form("/walk-round/2", {**WALK, "note-1": "kept 1", "note": "kept", **told})
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert (">kept 1</textarea>" in answer.text, ">kept</textarea>" in answer.text) == (True, True)
    assert visits(engine) == []


def test_nothing_is_recorded_of_a_work_that_came_while_somebody_walked(
    framer: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="E", title="Newcomer", place=ROOM)
    answer = framer.send_form("/walk-round/2", {**WALK, "note-1": "kept"})
    assert answer.status_code == 409
    for words in ("Works came or went since you began", "Newcomer", ">kept</textarea>"):
        assert words in answer.text
    assert visits(engine) == []


def test_a_box_is_checked_as_a_box(framer: Browser, engine: Engine) -> None:
    page = framer.get("/walk-round/3").text
    assert ("Check this box" in page, 'value="front" checked' in page) == (True, False)
    told: dict[str, str | list[str]] = {"on": "2026-11-24", "listed": "4", "as_before": "4"}
    assert framer.send_form("/walk-round/3", told).status_code == 303
    assert visits(engine) == [(4, "box check", "", None)]
    assert "Box checked" in framer.get("/walk-round?walk=1").text


def test_a_form_sent_twice_walks_once(framer: Browser, engine: Engine) -> None:
    for _ in range(2):
        answer = framer.send_form("/walk-round/2", {**WALK, "repeat_key": "a-key"})
        assert answer.status_code == 303
    assert len(visits(engine)) == 3


def test_an_owner_does_not_walk_round(owner: Browser) -> None:
    assert owner.get("/walk-round").status_code == owner.get("/walk-round/2").status_code == 404
    assert owner.send_form("/walk-round/2", WALK).status_code == 403
    assert "Walk-round" not in owner.get("/works").text


def test_a_place_that_is_not_there_is_not_found(framer: Browser) -> None:
    assert framer.get("/walk-round/99").status_code == 404
    assert framer.get("/walk-round?walk=99").status_code == 404
