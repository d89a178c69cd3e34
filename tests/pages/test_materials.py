"""The library: claims apart from what is known, editions, lots, uses and recalls."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.materials import list_editions
from models.database import read_session
from models.tables.visible import THE_HOUSE
from tests.builders import a_lot, a_material, a_poor_mount, a_work
from tests.with_app import NOON, OWNER, Browser

BOARD = "Old backing"


@pytest.fixture(autouse=True)
def _library(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        board = a_material(
            session, BOARD, kind="mat board", grade="groundwood board", ph=5.1, buffered=None,
            basis='{"ph": "surface electrode, March 2026"}',
        )  # fmt: skip
        a_material(session, "Wheat starch paste", kind="paste", grade="starch paste")
        lot = a_lot(session, board, "L-118")
        mine = a_work(session, number="A", title="Tern", owner=OWNER)
        other = a_work(session, number="B", title="Mill", owner="The Tern House")
        a_poor_mount(session, mine, board, lot=lot)
        a_poor_mount(session, other, board)


NEW: dict[str, str | list[str]] = {
    "name": "Conservation corrugated",
    "kind": "backing",
    "claim": "acid-free",
    "grade": "groundwood board",
    "basis/grade": "its edge is brown",
    "ph": "7,5",
    "basis/ph": "data sheet",
    "pat": "passed",
    "pat_on": "20 November 2025",
    "barrier": "no",
}


def test_the_library_is_listed_by_kind_and_searched(keeper: Browser) -> None:
    page = keeper.get("/materials").text
    assert page.index("mat board</h2>") < page.index(BOARD) < page.index("paste</h2>")
    page = keeper.get("/materials", params={"q": "wheat"}).text
    assert ("Wheat starch paste" in page, BOARD in page) == (True, False)
    assert BOARD not in keeper.get("/materials", params={"kind": "paste"}).text


def test_kind_grade_lot_and_words_narrow_the_library_together_and_each_choice_is_counted(
    keeper: Browser,
) -> None:
    page = keeper.get("/materials?grade=starch+paste").text
    assert ("Wheat starch paste" in page, BOARD in page) == (True, False)
    assert ("1 of 2 materials" in page, "groundwood board (1)" in page) == (True, True)
    assert '<option value="mat board">mat board (0)</option>' in page
    in_use = "a+lot+is+in+use"
    assert "a lot is in use (0)" in page
    assert keeper.send_form("/materials/lots/1/use", {}).status_code == 303
    page = keeper.get(f"/materials?lot={in_use}&kind=mat+board&q=old").text
    assert ("lot L-118 in use" in page, "Wheat starch" in page) == (True, False)
    assert '<option value="mat board" selected>mat board (1)</option>' in page
    assert "2 materials" in keeper.get("/materials?lot=nonsense").text


def test_where_nothing_answers_it_is_said_what_to_give_up(keeper: Browser) -> None:
    page = keeper.get("/materials?q=old&grade=starch+paste").text
    assert "No material on record answers to all of that together" in page
    assert 'href="/materials?grade=starch+paste">Without the words: 1</a>' in page
    assert 'href="/materials?q=old">Without the grade: 1</a>' in page
    assert "The whole library: 2" in keeper.get("/materials?q=zinc").text


def test_two_taps_lead_from_the_library_to_two_materials_side_by_side(keeper: Browser) -> None:
    assert 'href="/materials?kind=paste&amp;beside=2"' in keeper.get("/materials").text
    page = keeper.get("/materials?beside=2&q=old").text
    assert ("choose the other one" in page, 'name="beside" value="2"' in page) == (True, True)
    assert 'href="/materials/compare?a=2&amp;b=1"' in page
    assert "choose the other one" not in keeper.get("/materials?beside=77").text


def test_a_material_shows_its_figures_with_what_they_rest_on_and_its_works(
    keeper: Browser,
) -> None:
    page = keeper.get("/materials/1").text
    for words in ("groundwood board", "5.1", "surface electrode, March 2026", "nobody said"):
        assert words in page
    for words in ("window mat, mount board", "since 1 May 2010", "L-118", "No claim is on record"):
        assert words in page


def test_an_owner_sees_the_uses_on_their_own_works(owner: Browser) -> None:
    page = owner.get("/materials/1").text
    assert ('href="/works/1"' in page, 'href="/works/2"' in page) == (True, False)
    assert ("Recall" in page.split("Recalls")[1], "Add a lot" in page) == (False, False)
    assert owner.get("/materials/new").status_code == 404


def test_a_material_is_added_with_the_basis_of_each_figure(keeper: Browser) -> None:
    answer = keeper.send_form("/materials/new", NEW)
    assert (answer.status_code, answer.headers["location"]) == (303, "/materials/3")
    page = keeper.get("/materials/3").text
    for words in ("acid-free", "7.5", "data sheet", "20 November 2025", "its edge is brown"):
        assert words in page


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("name", "", "The name is missing."),
        ("name", BOARD.upper(), "on record already"),
        ("kind", "", "The kind is missing."),
        ("ph", "15", "between 0 and 14"),
        ("ph", "acid", "Write digits"),
        ("grade", "cardboard", "There is no grade called"),
        ("pat_on", "2025", "is not one day"),
        ("thickness_mm", "0", "is not between"),
        ("ph", "25", "A pH of 25 is not between 0 and 14."),
        ("kappa", "-5", "A kappa number of -5 is not between 0 and 200."),
    ],
)
def test_a_wrong_figure_is_named_beside_its_field_and_nothing_typed_is_lost(
    keeper: Browser, field: str, typed: str, said: str
) -> None:
    answer = keeper.send_form("/materials/new", {**NEW, "note": "kept", field: typed})
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert (">kept</textarea>" in answer.text, 'value="data sheet"' in answer.text) == (True, True)


def test_a_corrected_figure_is_a_new_edition_and_the_old_one_stays(
    keeper: Browser, engine: Engine
) -> None:
    page = keeper.get("/materials/1/figures").text
    assert ('value="5.1"' in page, 'value="surface electrode, March 2026"' in page) == (True, True)
    told: dict[str, str | list[str]] = {
        "edition": "1",
        "grade": "groundwood board",
        "ph": "4.8",
        "basis/ph": "surface electrode, November 2026",
        "alkaline_reserve_percent": "2.5",
        "kappa": "1",
        "thickness_mm": "1.4",
        "pat": "not tested",
        "barrier": "no",
    }
    assert keeper.send_form("/materials/1/figures", told).status_code == 303
    with read_session(engine) as session:
        (_, first), (_, second) = list_editions(session, THE_HOUSE, 1)
    assert (first.ph, second.ph, second.kappa) == (5.1, 4.8, 1.0)
    assert second.basis == {"ph": "surface electrode, November 2026"}
    page = keeper.get("/materials/1").text
    assert page.index("4.8") < page.index("Older editions") < page.index("5.1")
    same = {**told, "edition": "2"}
    assert "Nothing differs" in keeper.send_form("/materials/1/figures", same).text
    late = keeper.send_form("/materials/1/figures", {**told, "ph": "9"})
    assert (late.status_code, 'value="9"' in late.text) == (409, True)
    assert 'data-put-in="ph" data-value="4.8"' in late.text


def test_the_words_of_a_material_are_corrected_from_the_version_that_was_seen(
    keeper: Browser,
) -> None:
    told: dict[str, str | list[str]] = {
        "version": "1",
        "name": "Old brown backing",
        "kind": "mat board",
    }
    assert keeper.send_form("/materials/1/change", told).status_code == 303
    late = keeper.send_form("/materials/1/change", {**told, "claim": "archival"})
    assert (late.status_code, 'value="archival"' in late.text) == (409, True)
    assert 'data-put-in="claim" data-value=""' in late.text
    again = {**told, "version": "2", "claim": "archival"}
    assert keeper.send_form("/materials/1/change", again).status_code == 303
    page = keeper.get("/materials/1").text
    assert ("“archival”" in page, "Old brown backing" in page) == (True, True)


def test_a_framer_adds_lots_and_says_which_is_in_use(framer: Browser) -> None:
    told: dict[str, str | list[str]] = {
        "number": "L-200",
        "received": "March 2026",
        "lot_note": "two sheets bent",
    }
    assert framer.send_form("/materials/1/lots", told).status_code == 303
    assert framer.send_form("/materials/lots/2/use", {}).status_code == 303
    page = framer.get("/materials/1").text
    assert page.index("L-200") < page.index("in use") < page.index("L-118")
    twice = framer.send_form("/materials/1/lots", told)
    assert twice.status_code == 422
    assert "already" in twice.text.split('id="fault-number"')[1].split("</p>")[0]
    assert 'value="two sheets bent"' in twice.text


def test_a_recall_lists_the_works_it_touches_and_pulls_them_forward(keeper: Browser) -> None:
    blank = keeper.send_form("/materials/1/recall", {"reason": " "})
    assert (blank.status_code, "The reason is missing" in blank.text) == (422, True)
    answer = keeper.send_form("/materials/1/recall", {"reason": "bleeds brown"})
    assert answer.headers["location"] == "/materials/recalls/1"
    page = keeper.get("/materials/recalls/1").text
    assert ("Tern" in page, "Mill" in page, "does not wait" in page) == (True, True, True)
    assert "bleeds brown" in keeper.get("/materials").text
    again = keeper.send_form("/materials/1/recall", {"reason": "again"})
    assert (again.status_code, "lift that recall first" in again.text) == (422, True)


def test_one_bad_lot_touches_only_its_own_works_until_the_recall_is_lifted(
    keeper: Browser, framer: Browser
) -> None:
    assert framer.send_form("/materials/lots/1/recall", {"reason": "x"}).status_code == 403
    answer = keeper.send_form("/materials/lots/1/recall", {"reason": "wrong delivery"})
    page = keeper.get(answer.headers["location"]).text
    assert ("Tern" in page, "Mill" in page, "lot L-118" in page) == (True, False, True)
    blank = keeper.send_form("/materials/recalls/1/lift", {"reason": ""})
    assert blank.status_code == 422
    lifted = keeper.send_form("/materials/recalls/1/lift", {"reason": "it was another lot"})
    assert lifted.status_code == 303
    page = keeper.get("/materials/1").text
    assert "Lifted 25 November 2026: it was another lot" in page


@pytest.mark.usefixtures("reference_data")
def test_a_material_takes_as_many_statements_for_many_uses_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    few = statements_of(keeper, "/materials/1"), statements_of(keeper, "/materials")
    with recording(engine, actor="test", now=NOON) as session:
        board = a_material(session, "Another board")
        for number in range(60):
            a_lot(session, board, f"L-{number}")
            a_poor_mount(session, a_work(session), board)
    many = statements_of(keeper, "/materials/3"), statements_of(keeper, "/materials")
    assert many[1] == few[1] <= 12
    assert max(few[0], many[0]) <= 12


def test_uses_go_on_where_they_stopped(keeper: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.pages.materials.USES_SHOWN", 2)
    first = keeper.get("/materials/1").text
    where = first.split('rel="next" href="')[1].split('"')[0].replace("&amp;", "&")
    rest = keeper.get(where).text
    assert ('href="/works/2"' in first, 'href="/works/2"' in rest) == (False, True)
