"""A walk-round of a room and a check of a box, each on one form."""

from collections.abc import Callable
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.findings import Finding
from models.tables.places import Walk
from models.tables.visits import Visit
from models.vocabulary import PlaceUse
from tests.builders import a_place, a_work
from tests.with_app import NOON, Browser
from tests.with_database import fresh_url

__all__ = ["fresh_url"]

ROOM = "Gannet House / Stair"
WALK: dict[str, str | list[str]] = {
    "on": "24 November 2026",
    "by": "Ben Rabbet",
    "seen": ["front"],
    "listed": ["1", "2", "3"],
    "was-1": "as before",
    "was-2": "as before",
    "was-3": "as before",
}


DIFFERENT = {"was-2": "different"}


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine, reference_data: None) -> None:
    with recording(engine, actor="test", now=NOON) as session:
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


def test_no_work_of_a_room_is_answered_for_beforehand(framer: Browser) -> None:
    page = framer.get("/walk-round/2").text
    assert (page.count('name="listed"'), page.count('type="radio"')) == (3, 12)
    assert ("Sheet" in page, 'value="25 November 2026"' in page) == (False, True)
    assert 'value="front" checked' in page
    assert page.count(" checked") == 1
    assert "0 of 3" in page


def test_one_walks_wall_by_wall_and_each_wall_by_number(framer: Browser, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, f"{ROOM} / Alcove")
        a_work(session, number="Z", title="Quay", place=f"{ROOM} / Alcove")
        a_work(session, number="Y", title="Ford", place=ROOM)
    page = framer.get("/walk-round/2").text
    in_order = ["In the room itself", "Ford", "Alcove", "Quay", "Wall", "Tern", "Mill", "Weir"]
    at = [page.index(f">{words}") for words in in_order]
    assert at == sorted(at)


def test_sixty_frames_as_before_are_one_act(
    framer: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = statements_of(framer, "/walk-round/2")
    with recording(engine, actor="test", now=NOON) as session:
        for _ in range(57):
            a_work(session, place=ROOM)
    assert statements_of(framer, "/walk-round/2") == few <= 12
    keys = [str(key) for key in (1, 2, 3, *range(5, 62))]
    answers = {f"was-{key}": "as before" for key in keys}
    answer = framer.send_form("/walk-round/2", {**WALK, **answers, "listed": keys})
    assert answer.headers["location"] == "/walk-round?walk=1"
    assert len(visits(engine)) == 60
    assert statements_of(framer, "/walk-round?walk=1") <= 12
    page = framer.get("/walk-round?walk=1").text
    assert "60 works looked at, all as before" in page
    assert "Walked round: Gannet House / Stair, 24 November 2026, by Ben Rabbet." in page


def test_each_work_is_recorded_as_it_was_answered_for(framer: Browser, engine: Engine) -> None:
    told = {
        **WALK,
        "was-2": "different",
        "was-3": "not found",
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
    assert "does not wait" in page
    # What was not found stands on Due and on its own page, for who walks through the rooms.
    due = framer.get("/due").text
    assert "Not found at the walk-round of 24 November 2026." in due
    assert f"should be in {ROOM} / Wall" in due
    assert "Not found at the walk-round of 24 November 2026." in framer.get("/works/3").text
    assert "Not found at" not in framer.get("/works/1").text


def test_what_nobody_looked_at_does_not_count_as_seen(framer: Browser, engine: Engine) -> None:
    told = {**WALK, "was-2": "not looked at", "was-3": "not looked at"}
    assert framer.send_form("/walk-round/2", told).status_code == 303
    assert visits(engine) == [(1, "look", "", None)]
    page = framer.get("/walk-round?walk=1").text
    assert ("1 work looked at" in page, "Not looked at: B; C." in page) == (True, True)
    nobody = {**told, "was-1": "not looked at"}
    refused = framer.send_form("/walk-round/2", nobody)
    assert (refused.status_code, "Nobody looked at any" in refused.text) == (422, True)


def test_words_without_an_answer_say_that_the_work_is_different(
    framer: Browser, engine: Engine
) -> None:
    told = {**WALK, "was-2": "", "note-2": "gone brown"}
    assert framer.send_form("/walk-round/2", told).status_code == 303
    assert visits(engine)[1] == (2, "look", "gone brown", None)


@pytest.mark.parametrize("rest", ["as before", "not looked at"])
def test_the_rest_is_answered_for_by_a_press_of_its_own_and_read_before_it_is_recorded(
    framer: Browser, engine: Engine, rest: str
) -> None:
    told = {**WALK, "was-1": "not found", "was-2": "", "was-3": "", "repeat_key": "a-key"}
    page = framer.send_form("/walk-round/2", {**told, "rest": rest})
    assert page.status_code == 200
    assert page.text.count(f'value="{rest}" checked') == 2
    assert f"2 works without an answer are now <strong>{rest}</strong>" in page.text
    assert visits(engine) == []
    # The key is not used up by it.
    told |= {"was-2": "as before", "was-3": "as before"}
    assert framer.send_form("/walk-round/2", told).status_code == 303


def test_who_was_quicker_is_told_of_and_both_walks_may_stand(
    framer: Browser, keeper: Browser, engine: Engine
) -> None:
    mine = {**WALK, "last_walk": "0", "note-1": "kept", "was-1": "different"}
    theirs = {**WALK, "by": "", "last_walk": "0", "was-3": "not looked at"}
    assert (
        keeper.send_form("/walk-round/1", theirs | {"listed": ["1", "2", "3"]}).status_code == 303
    )
    refused = framer.send_form("/walk-round/2", mine)
    assert refused.status_code == 409
    for words in ("Somebody was quicker", "2 works looked at", ">kept</textarea>", 'name="knows"'):
        assert words in refused.text
    assert len(visits(engine)) == 2
    assert framer.send_form("/walk-round/2", {**mine, "knows": "1"}).status_code == 303
    assert len(visits(engine)) == 5


def test_who_walks_round_elsewhere_is_nobody_quicker(framer: Browser, engine: Engine) -> None:
    box: dict[str, str | list[str]] = {"on": "2026-11-24", "listed": "4", "was-4": "as before"}
    assert framer.send_form("/walk-round/3", box).status_code == 303
    assert framer.send_form("/walk-round/2", {**WALK, "last_walk": "0"}).status_code == 303


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        ({"on": ""}, "on", "The day is missing."),
        ({"on": "soon"}, "on", "is not a date"),
        ({"on": "2027"}, "on", "has not come yet"),
        ({"by": "Nobody"}, "by", "There is no person called"),
        ({"was-3": ""}, "was-3", "No answer yet"),
        ({"was-3": "fine"}, "was-3", "No answer yet"),
        ({"was-3": "different"}, "note-3", "Say what is different"),
        ({**DIFFERENT, "term-2": "fozing", "severity-2": "slight"}, "term-2", "Perhaps foxing"),
        ({**DIFFERENT, "term-2": "foxing"}, "severity-2", "How strong is it?"),
        ({**DIFFERENT, "left-2": "flat"}, "note-2", "Say why it needs somebody at once."),
        ({"note-2": "gone brown", "was-2": "not found"}, "note-2", "has nothing to tell"),
        ({"note-2": "gone brown", "was-2": "as before"}, "note-2", "has nothing to tell"),
    ],
)
def test_a_fault_stands_in_the_line_of_its_work_and_nothing_typed_is_lost(
    framer: Browser, engine: Engine, told: dict[str, str | list[str]], field: str, said: str
) -> None:
    kept = {"was-1": "different", "note-1": "kept 1", "note": "kept"}
    answer = framer.send_form("/walk-round/2", {**WALK, **kept, **told})
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
    told: dict[str, str | list[str]] = {"on": "2026-11-24", "listed": "4", "was-4": "as before"}
    assert framer.send_form("/walk-round/3", told).status_code == 303
    assert visits(engine) == [(4, "box check", "", None)]
    assert "Box checked" in framer.get("/walk-round?walk=1").text


def test_a_form_sent_twice_walks_once(framer: Browser, engine: Engine) -> None:
    for _ in range(2):
        answer = framer.send_form("/walk-round/2", {**WALK, "repeat_key": "a-key"})
        assert answer.headers["location"] == "/walk-round?walk=1#arrived-a-key"
    assert len(visits(engine)) == 3


def test_an_owner_does_not_walk_round(owner: Browser) -> None:
    assert owner.get("/walk-round").status_code == owner.get("/walk-round/2").status_code == 404
    assert owner.send_form("/walk-round/2", WALK).status_code == 403
    assert "Walk-round" not in owner.get("/works").text


def test_a_place_that_is_not_there_is_not_found(framer: Browser) -> None:
    assert framer.get("/walk-round/99").status_code == 404
    assert framer.get("/walk-round?walk=99").status_code == 404


def test_what_is_due_in_a_place_leads_to_its_walk_round(framer: Browser, owner: Browser) -> None:
    assert '<a class="button" href="/walk-round/2">Walk round here</a>' in _due(framer, 2)
    assert '<a class="button" href="/walk-round/3">Check this box</a>' in _due(framer, 3)
    assert "/walk-round/" not in _due(owner, 2)


def _due(browser: Browser, place_id: int) -> str:
    return browser.get(f"/due?place={place_id}").text


SAVED: dict[str, str | list[str]] = {"of": ["1", "walk"], "was-1": "not found", "hand": "one"}


def saved(browser: Browser, **told: str | list[str]) -> dict[str, Any]:
    """Save answers as the page does by its script."""
    answer = browser.send_form("/walk-round/2/answers", {**WALK, **SAVED, **told})
    assert answer.status_code == 200
    found: dict[str, Any] = answer.json()
    return found


def test_a_walk_is_gone_on_with_on_another_tablet(framer: Browser, engine: Engine) -> None:
    kept = saved(framer, draft="k", note="by daylight", on="24 November 2026", last_walk="0")
    assert (kept["key"], kept["elsewhere"], kept["contradicted"]) == ("k", {}, {})
    page = framer.get("/walk-round/2").text
    for words in ("1 of 3 answered, last saved", 'name="draft" value="k"', ">by daylight<"):
        assert words in page
    assert page.split('id="work-1"')[1].split("</label>")[2].count("checked") == 1
    assert "begun: 1 of 3 answered, saved" in framer.get("/walk-round").text
    told = {**WALK, "draft": "k", "version": str(kept["version"]), "hand": "other"}
    assert framer.send_form("/walk-round/2", told).status_code == 303
    assert "begun:" not in framer.get("/walk-round").text
    assert len(visits(engine)) == 3


def test_two_tablets_of_one_walk_hear_of_each_other(framer: Browser) -> None:
    saved(framer, draft="k")
    of: dict[str, str | list[str]] = {"of": ["1", "2"], "was-1": "as before"}
    other = saved(framer, draft="l", hand="two", **of)
    assert (other["key"], other["elsewhere"]["walk"]["by"]) == ("k", ["Ben Rabbet"])
    assert other["contradicted"] == {
        "1": {"fields": {"was": ["not found"]}, "said": "not found"},
    }
    # Without a script both are shown, and nothing is recorded before one was chosen.
    told = {**WALK, "draft": "k", "hand": "two", "version": "1", "was-2": ""}
    refused = framer.send_form("/walk-round/2", told)
    assert refused.status_code == 409
    assert "On another tablet: <strong>not found</strong>" in refused.text
    told |= {"version": str(other["version"]), "was-2": "as before"}
    assert framer.send_form("/walk-round/2", told).status_code == 303


def test_what_another_tablet_answered_counts_when_the_walk_is_recorded(
    framer: Browser, engine: Engine
) -> None:
    saved(framer, draft="k")
    told = {**WALK, "draft": "k", "hand": "two", "was-1": ""}
    assert framer.send_form("/walk-round/2", told).status_code == 303
    assert [visit[0] for visit in visits(engine)] == [2, 3]


def test_a_walk_finished_on_two_tablets_is_recorded_once(framer: Browser, engine: Engine) -> None:
    told = {**WALK, "draft": "k", "last_walk": "0"}
    for _ in range(2):
        answer = framer.send_form("/walk-round/2", told)
        assert answer.headers["location"] == "/walk-round?walk=1"
    assert len(visits(engine)) == 3
    # What was answered otherwise after it is told beside it.
    later = framer.send_form("/walk-round/2", {**told, "was-2": "not found"})
    assert (later.status_code, "Somebody was quicker" in later.text) == (409, True)
    again = framer.send_form("/walk-round/2/answers", {**told, **SAVED})
    assert (again.status_code, len(visits(engine))) == (409, 3)


def test_a_walk_is_left_for_now_forgotten_and_taken_up_again(framer: Browser) -> None:
    left = framer.send_form("/walk-round/2", {**WALK, "draft": "k", "was-3": "", "later": "yes"})
    assert left.headers["location"] == "/walk-round"
    assert "2 of 3 answered" in framer.get("/walk-round/2").text
    forgotten = framer.send_form("/walk-round/2/put-away", {})
    assert forgotten.headers["location"] == "/walk-round?put_away=k"
    assert "/walk-round/k/take-up" in framer.get("/walk-round?put_away=k").text
    assert "0 of 3" in framer.get("/walk-round/2").text
    assert framer.send_form("/walk-round/2/put-away", {}).headers["location"] == "/walk-round"
    assert framer.send_form("/walk-round/k/take-up", {}).headers["location"] == "/walk-round/2"
    assert "2 of 3 answered" in framer.get("/walk-round/2").text


def test_a_long_room_is_shown_in_parts_that_one_goes_to_by_name(
    framer: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        for number in range(60):
            a_work(session, number=f"N {number:02}", place=f"{ROOM} / Wall")
    page = framer.get("/walk-round/2").text
    assert page.count('class="walk-wall is-part"') == 2
    assert f"{'Wall: A to N 46'} <span" in page
    assert '<a href="#part-0-50">Wall: N 47 to N 59</a>' in page


def test_the_form_of_a_long_room_is_read_whole(framer: Browser) -> None:
    listed = [str(key) for key in range(1, 1_200)]
    answer = framer.send_form("/walk-round/2", {**WALK, "listed": listed})
    assert (answer.status_code, "Works came or went" in answer.text) == (409, True)
