"""Where works went, through REST."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_place, a_work, key_of
from tests.with_app import NOON, OWNER, Browser

STAIR, STUDY = "Gannet House / Stair", "Gannet House / Study"


@pytest.fixture(autouse=True)
def _known(app: object, engine: Engine) -> None:
    """Two works of an owner, the first on the stair since 2010."""
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, STUDY)
        assert key_of(a_work(session, place=STAIR, since="2010", owner=OWNER)) == 1
        assert key_of(a_work(session, owner="The Tern House")) == 2


def test_a_move_ends_the_stay_before_it(program: Browser) -> None:
    told = {"place": STUDY, "on": "2026-11", "by": "Dot Token", "note": "out of the sun"}
    answer = program.post("/api/works/1/moves", json=told)
    moved = {"id": 2, "version": 1, "work": 1, "until": None, "current": True, **told}
    assert (answer.status_code, answer.json()) == (201, moved)
    first, second = program.get("/api/works/1/moves").json()["items"]
    assert (first["place"], first["until"], first["current"]) == (STAIR, "2026-11", False)
    assert second == moved
    assert program.get("/api/works/1").json()["place"] == STUDY


def test_several_works_move_together(program: Browser) -> None:
    answer = program.post("/api/moves", json={"works": [2, 1], "place": STUDY, "on": "2026"})
    assert [move["work"] for move in answer.json()["items"]] == [2, 1]


@pytest.mark.parametrize(
    ("told", "status", "code"),
    [
        ({"place": STUDY, "on": "2009"}, 409, "ended_before_it_began"),
        ({"place": STAIR, "on": "2020"}, 409, "already_there"),
        ({"place": STUDY, "on": "2027"}, 409, "in_the_future"),
        ({"place": "Gannet House / Studdy", "on": "2020"}, 422, "unknown_place"),
        ({"place": STUDY, "on": "2020", "by": "Nobody known"}, 422, "unknown_person"),
        ({"place": STUDY}, 422, None),
    ],
)
def test_an_impossible_move_is_refused_by_name(
    program: Browser, told: dict[str, str], status: int, code: str | None
) -> None:
    answer = program.post("/api/works/1/moves", json=told)
    assert answer.status_code == status
    assert code in (None, answer.json()["code"])


def test_a_move_is_corrected_and_taken_back(program: Browser) -> None:
    move = program.post("/api/works/1/moves", json={"place": STUDY, "on": "2020"})
    where = move.headers["location"]
    changed = program.patch(where, json={"on": "2019-03"}, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed.json()["on"]) == (200, "2019-03")
    stale = program.patch(where, json={"on": "2018"}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["theirs"]) == (412, changed.json())
    assert program.post(f"{where}/withdraw", json={"reason": "another work"}).status_code == 204
    (only,) = program.get("/api/works/1/moves").json()["items"]
    assert (only["place"], only["current"]) == (STAIR, True)


def test_an_owner_moves_nothing(owner: Browser) -> None:
    told = {"place": STUDY, "on": "2020"}
    token = {"X-Form-Token": owner.form_token}
    assert owner.post("/api/works/1/moves", json=told, headers=token).status_code == 403
    assert len(owner.get("/api/works/1/moves").json()["items"]) == 1
