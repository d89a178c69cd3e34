"""Recalls: shown before they are done, done by one act, and the works they touch after."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.recalls import list_recalls
from models.database import read_session
from models.tables.visible import THE_HOUSE
from models.vocabulary import LayerRole
from tests.builders import a_layer, a_lot, a_material, a_mount, a_poor_mount, a_work
from tests.with_app import NOON, OWNER, Browser


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        board = a_material(session, "Old backing", kind="mat board")
        lot = a_lot(session, board, "L-118")
        a_poor_mount(session, a_work(session, number="A", title="Tern", owner=OWNER), board)
        apart = a_mount(session, a_work(session, number="B", title="Mill"))
        a_layer(session, apart, role=LayerRole.WORK)
        a_layer(session, apart, role=LayerRole.MOUNT_BOARD)
        a_layer(session, apart, board, role=LayerRole.BACKING, lot=lot)
        gone = a_mount(session, a_work(session, number="C", title="Weir"), dismounted="2020")
        a_layer(session, gone, board, lot=lot, removed="2020")
        a_material(session, "Paste in a jar", kind="paste")


def test_before_a_recall_its_works_are_shown_by_how_near_it_comes_and_nothing_is_written(
    keeper: Browser, engine: Engine
) -> None:
    page = keeper.get("/materials/1/recall").text
    said = ("It touches the work, or holds it", "Tern", "It lies in the package", "Mill")
    places = [page.index(words) for words in (*said, "It was there formerly", "Weir")]
    assert places == sorted(places)
    assert "Recall it: 1 work due at once" in page
    assert "window mat, mount board, since 1 May 2010" in page
    with read_session(engine) as session:
        assert list_recalls(session, THE_HOUSE, open_only=False) == []


def test_before_one_lot_is_recalled_only_its_own_works_are_shown(keeper: Browser) -> None:
    page = keeper.get("/materials/lots/1/recall").text
    assert ("Tern" in page, "Mill" in page, "Weir" in page) == (False, True, True)
    assert ("lot L-118" in page, "due at once" in page) == (True, False)


def test_what_is_on_no_work_says_so_before_it_is_recalled(keeper: Browser) -> None:
    assert "It is on no work on record" in keeper.get("/materials/2/recall").text


def test_a_recall_without_a_reason_keeps_the_list_and_does_nothing(keeper: Browser) -> None:
    blank = keeper.send_form("/materials/1/recall", {"reason": " "})
    assert (blank.status_code, "The reason is missing" in blank.text) == (422, True)
    assert "Tern" in blank.text
    assert keeper.send_form("/materials/1/recall", {"reason": "brown"}).status_code == 303
    page = keeper.get("/materials/1/recall").text
    assert ("It is recalled already" in page, "Why it is recalled" in page) == (True, False)


def test_who_may_not_recall_is_shown_no_list_of_works(framer: Browser, owner: Browser) -> None:
    assert framer.get("/materials/1/recall").status_code == 404
    assert owner.get("/materials/1/recall").status_code == 404
    assert owner.get("/materials/lots/1/recall").status_code == 404
    assert "/recall" not in framer.get("/materials/1").text


def test_an_owner_reads_a_recall_with_their_own_works_alone(
    keeper: Browser, owner: Browser
) -> None:
    where = keeper.send_form("/materials/1/recall", {"reason": "brown"}).headers["location"]
    page = owner.get(where).text
    assert ("Tern" in page, "Mill" in page) == (True, False)


def test_a_long_list_goes_on_and_can_be_had_whole_for_the_printer(
    keeper: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.pages.recalls.WORKS_A_PAGE", 1)
    first = keeper.get("/materials/1/recall").text
    assert ("1 to 1 of 3" in first, "Mill" in first) == (True, False)
    second = keeper.get("/materials/1/recall?from=1").text
    assert ("2 to 2 of 3" in second, "Tern" in second, "Mill" in second) == (True, False, True)
    last = keeper.get("/materials/1/recall?from=1000").text
    assert ("3 to 3 of 3" in last, "Further works</button>" in last) == (True, False)
    whole = keeper.get("/materials/1/recall?whole=true").text
    assert all(title in whole for title in ("Tern", "Mill", "Weir"))
    # How many there are is said on every page alike.
    assert all("3 works" in page for page in (first, second, last, whole))
    # What was typed goes along from part to part, and nothing is recalled by it.
    onward = keeper.send_form("/materials/1/recall", {"reason": "br", "from": "1"})
    assert (onward.status_code, "2 to 2 of 3" in onward.text) == (200, True)
    assert 'name="reason" type="text" value="br"' in onward.text
    where = keeper.send_form("/materials/1/recall", {"reason": "brown"}).headers["location"]
    assert "1 to 1 of 2" in keeper.get(where).text
    further = keeper.send_form(f"{where}/lift", {"reason": "by mist", "from": "1"})
    assert (further.status_code, "2 to 2 of 2" in further.text) == (200, True)
    assert 'value="by mist"' in further.text
    assert "Recall, lifted" not in keeper.get(where).text


def test_pages_of_recalls_take_as_many_statements_for_many_works_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = statements_of(keeper, "/materials/1/recall")
    with recording(engine, actor="test", now=NOON) as session:
        board = a_material(session, "Another board")
        for _ in range(30):
            a_poor_mount(session, a_work(session), board)
    many = statements_of(keeper, "/materials/3/recall")
    assert many <= few <= 12
    where = keeper.send_form("/materials/3/recall", {"reason": "brown"}).headers["location"]
    assert statements_of(keeper, where) <= 12
