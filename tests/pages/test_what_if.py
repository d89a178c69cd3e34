"""The page on which a package is tried before it exists."""

import re

import pytest
from sqlalchemy import Engine
from sqlmodel import func, select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.log import LogEntry
from tests.actions.remats_at_hand import a_work_to_remat
from tests.builders import a_material, a_place
from tests.pages.page_read import text_of
from tests.with_app import NOON, OWNER, Browser

RAG = "Cotton rag mat board, 4-ply, buffered"


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work_to_remat(session, number="GH 1", title="Tern", owner=OWNER, place="Stair")
        a_work_to_remat(session, number="TH 2", owner="The Tern House")
        a_material(session, RAG)
        a_material(session, "Corners", grade=None, hold_grade="corner pockets or edge strips")
        a_place(session, "Attic").temperature_c = 30


def test_with_nothing_asked_the_page_shows_the_work_as_it_is(keeper: Browser) -> None:
    page = text_of(keeper.get("/works/1/what-if").text)
    assert "window mat, now Groundwood board" in page
    assert "As it would be" not in page


def test_swapped_boards_make_a_harmful_package_sound_side_by_side(keeper: Browser) -> None:
    swapped = {"layer_1": RAG, "layer_3": RAG, "hold": "Corners"}
    page = text_of(keeper.get("/works/1/what-if", params=swapped).text)
    assert re.search(r"Verdict harmful The weakest link .* sound Every layer is sound", page)
    assert re.search(r"New harm by November 2031 almost certain \(over 95 %\) about 1 in", page)


def test_a_hold_without_adhesive_lifts_out(keeper: Browser) -> None:
    page = text_of(keeper.get("/works/1/what-if", params={"hold": "Corners"}).text)
    assert "Freed by water no adhesive" in page


def test_a_layer_is_taken_out_and_one_put_in(keeper: Browser) -> None:
    params = {"layer_1": "taken out", "front": RAG, "behind": RAG, "spacer": RAG}
    assert keeper.get("/works/1/what-if", params=params).status_code == 200


def test_a_warmer_place_brings_harm_sooner(keeper: Browser) -> None:
    params = {"layer_1": RAG, "layer_3": RAG, "place": "Attic"}
    warm = text_of(keeper.get("/works/1/what-if", params=params).text)
    params["place"] = ""
    cool = text_of(keeper.get("/works/1/what-if", params=params).text)
    percent = r"New harm by November 2031 .*?\(over 95 %\) about [^(]*\((\d+) %\)"
    found = [re.search(percent, page) for page in (warm, cool)]
    hot, mild = (int(one.group(1)) for one in found if one is not None)
    assert hot > mild


def test_a_name_that_is_not_on_record_stands_beside_its_field(keeper: Browser) -> None:
    params = {"layer_1": "No such board", "hold": RAG, "place": "Nowhere"}
    refused = keeper.get("/works/1/what-if", params=params)
    assert refused.status_code == 422
    page = text_of(refused.text)
    assert "There is no material called" in page
    assert "holds nothing by its figures" in page
    assert "There is no place called" in page
    assert 'value="No such board"' in refused.text


def test_nothing_is_stored_and_owners_try_their_own_works(owner: Browser, engine: Engine) -> None:
    with read_session(engine) as session:
        before = session.exec(select(func.count()).select_from(LogEntry)).one()
    assert owner.get("/works/1/what-if", params={"layer_1": RAG}).status_code == 200
    assert owner.get("/works/2/what-if").status_code == 404
    with read_session(engine) as session:
        assert session.exec(select(func.count()).select_from(LogEntry)).one() == before
