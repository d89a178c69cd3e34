"""Beside an unknown board stands what its tests make of it, with one button."""

from sqlalchemy import Engine
from sqlmodel import Session

from models.tables.visits import LayerTest
from models.vocabulary import BenchTest, LayerRole
from tests.builders import a_hold, a_layer, a_mount, a_visit, a_work, added, key_of
from tests.with_app import Browser


def a_tested_work(engine: Engine, *, owner: str | None = None) -> tuple[int, int]:
    """A work on an unknown board of 1990 with a brown bevel: the work and the board."""
    with Session(engine) as session, session.begin():
        work = a_work(session, owner=owner)
        mount = a_mount(session, work, mounted="1990-05-01")
        a_layer(session, mount, role=LayerRole.WORK, fitted="1990-05-01")
        board = a_layer(session, mount, fitted="1990-05-01")
        a_hold(session, mount)
        visit = a_visit(session, work)
        test = LayerTest(
            visit_id=key_of(visit),
            layer_id=key_of(board),
            test=BenchTest.BEVEL_COLOUR,
            result="brown",
        )
        added(session, test)
        return key_of(work), key_of(board)


SAID = "By its tests (bevel colour: brown): groundwood board, 86% likely."


def test_one_button_takes_it_and_one_takes_that_back(framer: Browser, engine: Engine) -> None:
    work, board = a_tested_work(engine)
    assert SAID in framer.get(f"/works/{work}").text
    path = f"/works/{work}/layers/{board}/grade-decision"
    assert framer.send_form(path, {}).headers["location"] == f"/works/{work}#package"
    page = framer.get(f"/works/{work}").text
    assert "Taken as groundwood board by its tests on 25 November 2026 by Ben Rabbet" in page
    assert SAID not in page
    assert framer.send_form(f"{path}/take-back", {}).status_code == 303
    assert SAID in framer.get(f"/works/{work}").text


def test_an_owner_reads_it_and_has_no_button(owner: Browser, engine: Engine) -> None:
    work, board = a_tested_work(engine, owner="The Gannet House")
    page = owner.get(f"/works/{work}").text
    assert SAID in page
    assert "grade-decision" not in page
    path = f"/works/{work}/layers/{board}/grade-decision"
    assert owner.send_form(path, {}).status_code == 403


def test_a_program_decides_and_takes_back(program: Browser, engine: Engine) -> None:
    _work, board = a_tested_work(engine)
    path = f"/api/layers/{board}/grade-decision"
    answer = program.post(path)
    assert answer.status_code == 201
    told = answer.json()
    assert (told["grade"], told["tests"]) == ("groundwood board", "bevel colour: brown")
    again = program.post(path)
    assert (again.status_code, again.json()["code"]) == (409, "decided_already")
    assert program.delete(path).status_code == 204
    assert program.delete(path).status_code == 404
