"""The policy as programs see it."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.forecasts import refresh_forecasts
from tests.builders import a_material, a_poor_mount, a_visit, a_work, key_of
from tests.with_app import NOON, Browser

TODAY = 20_782
STRICT = {"settings": {"allowed_unique": 0.01}}


@pytest.fixture(autouse=True)
def _three_works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        pulp = a_material(session, "Pulp", grade="groundwood board")
        keys = []
        for nth in range(3):
            work = a_work(session, number=f"GH {nth}")
            a_poor_mount(session, work, pulp)
            a_visit(session, work, on="2024", seen_front=True, seen_margins=True)
            keys.append(key_of(work))
        session.flush()
        refresh_forecasts(session, keys, today=TODAY)


def setting(program: Browser, name: str) -> tuple[float, float]:
    found = program.get("/api/policy").json()["settings"]
    (one,) = [s for s in found if s["name"] == name]
    return one["value"], one["shipped"]


def test_what_is_set_stands_beside_what_is_shipped(program: Browser) -> None:
    answer = program.get("/api/policy")
    assert answer.headers["etag"] == '"1"'
    figure = answer.json()["figures"][0]
    assert (figure["median"], figure["shipped_median"], figure["unit"]) == (
        7,
        7,
        "years at 20 C/50 %",
    )
    assert setting(program, "allowed_unique") == (0.05, 0.05)


def test_a_preview_says_what_would_move_and_keeps_nothing(program: Browser) -> None:
    seen = program.post("/api/policy/preview", json=STRICT).json()
    assert (seen["works"], seen["later"]) == (3, 0)
    assert seen["moved"] == len(seen["examples"])
    assert setting(program, "allowed_unique") == (0.05, 0.05)


def test_a_change_needs_the_state_seen_and_a_reason(program: Browser) -> None:
    told = {**STRICT, "reason": "two faded"}
    assert program.patch("/api/policy", json=told).status_code == 428
    without = program.patch("/api/policy", json=STRICT, headers={"If-Match": '"1"'})
    assert without.status_code == 422
    done = program.patch("/api/policy", json=told, headers={"If-Match": '"1"'})
    assert (done.status_code, done.headers["etag"]) == (200, '"2"')
    assert setting(program, "allowed_unique") == (0.01, 0.05)
    late = program.patch("/api/policy", json=told, headers={"If-Match": '"1"'})
    assert late.status_code == 412


def test_a_value_that_cannot_be_is_named_by_its_pointer(program: Browser) -> None:
    told = {"settings": {"allowed_unique": 7}}
    answer = program.post("/api/policy/preview", json=told)
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == ["/settings/allowed_unique"]


def test_owners_read_it_and_only_keepers_set_it(owner: Browser, framer: Browser) -> None:
    assert owner.get("/api/policy").status_code == 200
    refused = framer.post("/api/policy/preview", json=STRICT)
    assert refused.status_code == 403
