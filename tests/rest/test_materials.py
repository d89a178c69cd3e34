"""The library, its lots, the uses of a material and recalls, through REST."""

from typing import Any

import pytest
from sqlalchemy import Engine
from sqlmodel import col, select

from models.actions.change_log import recording
from models.tables.materials import Lot, Material
from tests.builders import a_layer, a_mount, a_work
from tests.with_app import NOON, OWNER, Browser

FIGURES: dict[str, Any] = {
    "grade": "cotton rag board, buffered",
    "hold_grade": None,
    "frees_by": None,
    "ph": 8.5,
    "alkaline_reserve_percent": 2.5,
    "kappa": 1.5,
    "pat": "passed",
    "pat_on": "2024-05-12",
    "buffered": True,
    "barrier": False,
    "thickness_mm": 1.4,
    "mass_g_per_m2": 850.0,
    "sheet_height_mm": 1016.0,
    "sheet_width_mm": 813.0,
    "uv_block_percent": None,
    "basis": {"ph": "the mill's sheet"},
}
BOARD: dict[str, Any] = {
    "name": "Cotton rag mat board",
    "kind": "mat board",
    "claim": "museum quality",
    "caution": "",
    "note": "",
}


@pytest.fixture
def board(program: Browser) -> str:
    """Where a board of the library is."""
    answer = program.post("/api/materials", json=BOARD | {"figures": FIGURES})
    assert answer.status_code == 201, answer.text
    return str(answer.headers["location"])


def put_on_works(engine: Engine, *owners: str) -> None:
    """Put the board, of its newest lot if it has one, behind a work of each owner."""
    with recording(engine, actor="test", now=NOON) as session:
        board = session.exec(select(Material)).one()
        lot = session.exec(select(Lot).order_by(col(Lot.id).desc())).first()
        for owner in owners:
            a_layer(session, a_mount(session, a_work(session, owner=owner)), board, lot=lot)


def test_a_material_comes_back_as_it_was_sent(program: Browser, board: str) -> None:
    made = {"id": 1, "version": 1, "edition": 1, "recalled": False, "figures": FIGURES}
    assert program.get(board).json() == BOARD | made


def test_all_that_is_wrong_with_a_material_is_told_at_once(program: Browser) -> None:
    wrong = BOARD | {"figures": {"grade": "acid-free", "ph": 15}}
    answer = program.post("/api/materials", json=wrong)
    assert [error["pointer"] for error in answer.json()["errors"]] == [
        "/figures/grade",
        "/figures/ph",
    ]


def test_a_material_is_corrected_and_its_figures_get_a_new_edition(
    program: Browser, board: str
) -> None:
    changed = program.patch(board, json={"claim": None}, headers={"If-Match": '"1"'})
    assert (changed.json()["claim"], changed.headers["etag"]) == ("", '"2"')
    stale = program.patch(board, json={"note": "x"}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["theirs"]) == (412, changed.json())
    edition = program.post(f"{board}/figures", json={"ph": 7.9, "pat": None})
    assert (edition.status_code, edition.json()["edition"]) == (201, 2)
    first, second = program.get(f"{board}/figures").json()["items"]
    assert first == {"edition": 1, "figures": FIGURES}
    differing = {name for name in FIGURES if second["figures"][name] != FIGURES[name]}
    assert differing == {"ph", "pat", "basis"}


def test_the_library_is_searched_and_paged_by_name(program: Browser) -> None:
    for name in ("Wheat starch paste", "Cotton tape", "Cotton board"):
        program.post("/api/materials", json={"name": name, "kind": "x"})
    first = program.get("/api/materials", params={"limit": 2}).json()
    rest = program.get("/api/materials", params={"limit": 2, "cursor": first["next"]}).json()
    names = [material["name"] for material in first["items"] + rest["items"]]
    assert (names, rest["next"]) == (["Cotton board", "Cotton tape", "Wheat starch paste"], None)
    found = program.get("/api/materials", params={"q": "cott tap"}).json()["items"]
    assert [material["name"] for material in found] == ["Cotton tape"]


def test_one_lot_is_in_use_and_the_next_puts_it_away(framer: Browser, board: str) -> None:
    token = {"X-Form-Token": framer.form_token}
    lot = {"number": "L-1", "received": "2026-10", "in_use": True, "note": ""}
    first = framer.post(f"{board}/lots", json=lot, headers=token)
    made = {"id": 1, "version": 1, "material": 1, "recalled": False}
    assert (first.status_code, first.json()) == (201, lot | made)
    again = framer.post(f"{board}/lots", json=lot, headers=token)
    assert (again.status_code, again.json()["code"]) == (409, "number_taken")
    second = framer.post(f"{board}/lots", json={"number": "L-2"}, headers=token)
    framer.post(f"{second.headers['location']}/use", headers=token)
    told = [(lot["number"], lot["in_use"]) for lot in framer.get(f"{board}/lots").json()["items"]]
    assert told == [("L-2", True), ("L-1", False)]
    seen = {"If-Match": framer.get("/api/lots/1").headers["etag"], **token}
    assert framer.patch("/api/lots/1", json={"note": "bent"}, headers=seen).status_code == 200
    assert framer.patch("/api/lots/1", json={"note": "x"}, headers=seen).status_code == 412


def test_uses_are_paged_and_never_of_works_that_are_not_ones_own(
    program: Browser, owner: Browser, board: str, engine: Engine
) -> None:
    put_on_works(engine, OWNER, "The Tern House", "The Tern House")
    first = program.get(f"{board}/uses", params={"limit": 2}).json()
    rest = program.get(f"{board}/uses", params={"limit": 2, "cursor": first["next"]}).json()
    assert [use["work"] for use in first["items"] + rest["items"]] == ["GH 1", "GH 2", "GH 3"]
    assert first["items"][0] == {
        "work": "GH 1",
        "work_id": 1,
        "kind": "layer",
        "id": 1,
        "place": "mount board",
        "lot": None,
        "since": "2010-05-01",
        "until": None,
        "current": True,
    }
    assert [use["work"] for use in owner.get(f"{board}/uses").json()["items"]] == ["GH 1"]


def test_a_recalled_lot_lists_its_works_until_it_is_lifted(
    program: Browser, owner: Browser, board: str, engine: Engine
) -> None:
    program.post(f"{board}/lots", json={"number": "L-1"})
    put_on_works(engine, OWNER, "The Tern House")
    recall = program.post("/api/lots/1/recall", json={"reason": "brown at the bevel"})
    where = recall.headers["location"]
    assert recall.status_code == 201
    assert (recall.json()["lot"], recall.json()["called_on"]) == ("L-1", "2026-11-25")
    assert [work["number"] for work in recall.json()["works"]] == ["GH 1", "GH 2"]
    assert [work["number"] for work in owner.get(where).json()["works"]] == ["GH 1"]
    again = program.post("/api/lots/1/recall", json={"reason": "brown at the bevel"})
    assert (again.status_code, again.json()["code"]) == (409, "already_recalled")
    lifted = program.post(f"{where}/lift", json={"reason": "another lot"}).json()
    assert (lifted["lifted_on"], lifted["lifted_reason"]) == ("2026-11-25", "another lot")
    assert program.get("/api/recalls", params={"open_only": True}).json()["items"] == []
    assert len(program.get("/api/recalls").json()["items"]) == 1


def test_a_recalled_material_says_so_and_only_a_keeper_recalls(
    program: Browser, framer: Browser, board: str
) -> None:
    token = {"X-Form-Token": framer.form_token}
    refused = framer.post(f"{board}/recall", json={"reason": "x"}, headers=token)
    assert refused.status_code == 403
    assert program.post(f"{board}/recall", json={"reason": "failed"}).status_code == 201
    assert program.get(board).json()["recalled"]
