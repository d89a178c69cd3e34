"""Two materials side by side: which is better where, and what where one is missing."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_lot, a_material, a_poor_mount, a_work
from tests.with_app import NOON, OWNER, Browser


@pytest.fixture(autouse=True)
def _library(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        grey = a_material(
            session, "Old backing", kind="mat board", grade="groundwood board", kappa=60.0,
            buffered=None, alkaline_reserve_percent=None, basis='{"kappa": "spot test, 2026"}',
        )  # fmt: skip
        rag = a_material(session, "Rag board", kind="mat board", pat="passed")
        a_material(session, "Wheat starch paste", kind="paste", grade="starch paste")
        lot = a_lot(session, rag, "L-7")
        lot.in_use = True
        a_poor_mount(session, a_work(session, owner=OWNER), grey)
        a_poor_mount(session, a_work(session), grey)


def test_two_boards_stand_side_by_side_with_what_each_is_better_in(keeper: Browser) -> None:
    page = keeper.get("/materials/compare?a=1&b=2").text
    for words in (
        "7 years",
        "200 years",
        "facing it 17.5, apart from it 56",
        "Touching a work it is sound, the other harmful.",
        "kappa 1 against 60",
        "spot test, 2026",
        "nobody said what it rests on",
        "not known",
        "2 works now",
        "On no work on record.",
        "lot L-7 in use",
    ):
        assert words in page
    assert 'href="/materials/compare?a=2&amp;b=1"' in page
    assert "of different kinds" not in page


def test_an_owner_counts_their_own_works_alone(owner: Browser) -> None:
    page = owner.get("/materials/compare?a=1&b=2").text
    assert ("1 work now" in page, "2 works now" in page) == (True, False)


@pytest.mark.parametrize(
    ("asked", "status", "said"),
    [
        ("", 200, "Choose two materials of the library."),
        ("?a=1", 200, "Choose the other one, to lie beside it."),
        ("?b=2", 200, "Choose the other one, to lie beside it."),
        ("?a=1&b=1", 200, "That is the same material twice"),
        ("?a=1&b=01", 200, "That is the same material twice"),
        ("?a=1&b=77", 404, "There is no material number 77 on record"),
        ("?a=rag&b=2", 404, "There is no material number rag on record"),
    ],
)
def test_where_one_is_missing_it_is_said_and_what_was_chosen_stays_chosen(
    keeper: Browser, asked: str, status: int, said: str
) -> None:
    answer = keeper.get(f"/materials/compare{asked}")
    assert (answer.status_code, said in answer.text) == (status, True)
    assert ('<option value="1" selected>' in answer.text) == ("a=1" in asked)


def test_two_of_different_kinds_are_shown_and_said_to_be_so(keeper: Browser) -> None:
    page = keeper.get("/materials/compare?a=1&b=3").text
    assert ("They are of different kinds" in page, "no harm by this" in page) == (True, True)


def test_a_comparison_takes_few_statements(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    # What is in force is read once and kept.
    keeper.get("/materials/compare?a=1&b=2")
    few = statements_of(keeper, "/materials/compare?a=1&b=2")
    with recording(engine, actor="test", now=NOON) as session:
        board = a_material(session, "Another board")
        for _ in range(20):
            a_poor_mount(session, a_work(session), board)
    assert statements_of(keeper, "/materials/compare?a=1&b=4") == few <= 12
