"""Usual builds and the words that may be used, through REST."""

from typing import Any

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.tables.terms import MountMethod
from tests.builders import a_material, a_technique, added
from tests.with_app import NOON, Browser

BOARD = "Cotton rag mat board, 4-ply, buffered"
BUILD: dict[str, Any] = {
    "method": "T-hinge",
    "layers": [
        {"role": "window mat", "material": BOARD},
        {"role": "work"},
        {"role": "mount board", "material": BOARD},
    ],
    "holds": [{"material": "Wheat starch paste", "position": "top", "count": 2}],
}


@pytest.fixture(autouse=True)
def _library(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_material(session, BOARD)
        a_material(session, "Wheat starch paste", kind="paste", grade="starch paste")
        a_technique(session, "etching")
        added(session, MountMethod(name="T-hinge", needs_adhesive="yes"))


def test_a_usual_build_is_named_and_has_editions(program: Browser) -> None:
    first = program.post("/api/house-packages", json={"name": "House float", "build": BUILD})
    assert first.status_code == 201
    build = first.json()["build"]
    assert [layer["role"] for layer in build["layers"]] == ["window mat", "work", "mount board"]
    assert (build["method"], build["holds"][0]["count"]) == ("T-hinge", 2)
    where = first.headers["location"]
    second = program.post(f"{where}/editions", json={"build": BUILD | {"holds": "unknown"}})
    assert (second.status_code, second.json()["edition"]) == (201, 2)
    assert second.json()["build"]["held"] == "unknown"
    current = program.get("/api/house-packages").json()["items"]
    assert current == [second.json()]
    ended = program.get("/api/house-packages", params={"ended": True}).json()["items"]
    assert [(one["edition"], one["ended"]) for one in ended] == [(1, True), (2, False)]
    assert program.post(f"{where}/end").json()["code"] == "not_current"
    assert program.post(f"{second.headers['location']}/end").json()["ended"]


def test_a_usual_build_is_refused_where_it_is_wrong(program: Browser) -> None:
    wrong = {"layers": [{"role": "work"}, {"role": "mount board", "material": "Cotton bord"}]}
    answer = program.post("/api/house-packages", json={"name": "x", "build": wrong})
    assert (answer.status_code, answer.json()["code"]) == (422, "unknown_material")
    assert answer.json()["errors"][0]["pointer"] == "/build/layers/1/material"
    assert answer.json()["near"] == [BOARD]
    lot = {"layers": [{"role": "mount board", "material": BOARD, "lot": "L-1"}]}
    answer = program.post("/api/house-packages", json={"name": "x", "build": lot})
    assert answer.json()["errors"][0]["pointer"] == "/build/layers/0/lot"


def test_only_a_keeper_keeps_usual_builds(framer: Browser) -> None:
    token = {"X-Form-Token": framer.form_token}
    told = {"name": "House float", "build": BUILD}
    assert framer.post("/api/house-packages", json=told, headers=token).status_code == 403
    assert framer.get("/api/house-packages").json()["items"] == []


def test_the_words_that_may_be_used_are_listed(owner: Browser) -> None:
    words = owner.get("/api/vocabulary").json()
    assert [technique["name"] for technique in words["techniques"]] == ["etching"]
    assert [method["name"] for method in words["mount_methods"]] == ["T-hinge"]
    assert "groundwood board" in words["layer_grades"]
