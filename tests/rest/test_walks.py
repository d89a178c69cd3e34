"""Walk-rounds and box checks through REST."""

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.visits import Visit
from models.vocabulary import PlaceUse
from tests.builders import a_place, a_work
from tests.with_app import NOON, Browser

ROOM = "Gannet House / Stair"
WALK = {"on": "2026-11-24", "by": "Dot Token", "seen": ["front", "back of frame"]}


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine, reference_data: None) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, ROOM)
        a_place(session, "Box 4", use=PlaceUse.BOX)
        for number in ("A", "B", "C"):
            a_work(session, number=number, place=ROOM)
        a_work(session, number="D", place="Box 4")


def test_a_room_is_walked_round_in_one_act(program: Browser, engine: Engine) -> None:
    told = {
        **WALK,
        "all_as_before_except": [
            {
                "work": 2,
                "summary": "spots",
                "sightings": [{"term": "foxing", "severity": "slight", "change": "new"}],
                "stop": {"why": "spots", "left": "flat"},
            }
        ],
        "not_found": [3],
    }
    answer = program.post("/api/places/2/walk-rounds", json=told)
    assert answer.status_code == 201
    assert answer.json() == {"id": 1, "as_before": [1], "visits": [2], "not_found": [3]}
    with read_session(engine) as session:
        visits = session.exec(select(Visit).order_by(Visit.work_id)).all()  # type: ignore[arg-type]
        assert [(v.work_id, v.summary, v.stop_left) for v in visits] == [
            (1, "", None),
            (2, "spots", "flat"),
        ]


def test_a_box_is_checked_as_a_box(program: Browser) -> None:
    answer = program.post("/api/places/3/box-checks", json={"on": "2026-11-24"})
    assert answer.json() == {"id": 1, "as_before": [4], "visits": [], "not_found": []}


def test_a_repeat_is_told_the_same_and_walks_no_second_time(program: Browser) -> None:
    headers = {"Idempotency-Key": "walk-1"}
    answers = [
        program.post("/api/places/2/walk-rounds", json=WALK, headers=headers) for _ in range(2)
    ]
    assert answers[0].json() == answers[1].json()
    assert answers[1].headers["idempotency-replayed"] == "true"


@pytest.mark.parametrize(
    ("path", "told", "status", "code", "pointer"),
    [
        ("1/walk-rounds", {"on": "2027"}, 409, "in_the_future", None),
        ("99/walk-rounds", {"on": "2026"}, 404, "not_found", None),
        ("2/box-checks", {"on": "2026"}, 409, "no_box", None),
        ("3/walk-rounds", {"on": "2026"}, 409, "nothing_there", None),
        ("2/walk-rounds", {"on": "2026", "seen": ["verso"]}, 422, "cannot_be_seen", "/seen"),
        ("2/walk-rounds", {"on": "2026", "by": "Nobody"}, 422, "unknown_person", "/by"),
        ("2/walk-rounds", {"on": "2026", "not_found": [4]}, 422, "bad_value", "/not_found/0"),
        (
            "2/walk-rounds",
            {
                "on": "2026",
                "all_as_before_except": [
                    {
                        "work": 1,
                        "sightings": [{"term": "fozing", "severity": "slight", "change": "new"}],
                    }
                ],
            },
            422,
            "unknown_term",
            "/all_as_before_except/0/sightings/0/term",
        ),
    ],
)
def test_an_impossible_walk_is_refused_by_name_and_leaves_nothing(
    program: Browser,
    engine: Engine,
    path: str,
    told: dict[str, object],
    status: int,
    code: str,
    pointer: str | None,
) -> None:
    answer = program.post(f"/api/places/{path}", json=told)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    if pointer is not None:
        assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
    with read_session(engine) as session:
        assert session.exec(select(Visit)).all() == []


def test_an_owner_does_not_walk_round(owner: Browser) -> None:
    headers = {"X-Form-Token": owner.form_token}
    answer = owner.post("/api/places/2/walk-rounds", json=WALK, headers=headers)
    assert answer.status_code == 403
