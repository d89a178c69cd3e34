"""The list of works, and the forms that put one on record, change, move or withdraw it."""

import re
from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.works import Stay, Work
from models.vocabulary import DueKind, Verdict
from tests.builders import a_forecast, a_place, a_technique, a_work
from tests.exchange.pictures import as_file, four_colours
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"
STUDY = "Gannet House / Study"
TODAY = 20_782  # 2026-11-25


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, STUDY)
        a_technique(session, "etching")
        tern = a_work(
            session,
            number="GH 1",
            title="Tern over the Bar",
            owner=OWNER,
            place=STAIR,
            made_edtf="1890~",
        )
        mill = a_work(
            session,
            number="TH 2",
            title="Église en hiver",
            maker="A. Nobody",
            owner="The Tern House",
        )
        a_forecast(
            session, tern, verdict=Verdict.HARMFUL, due_on=TODAY - 400, due_kind=DueKind.REMAT
        )
        a_forecast(session, mill, verdict=Verdict.SOUND, due_on=TODAY + 900, due_kind=DueKind.LOOK)


NEW: dict[str, str | list[str]] = {
    "number": "GH 7",
    "title": "The Weir",
    "maker": "A. Nobody",
    "made": "about 1890",
    "technique": "etching",
    "height_mm": "212,5",
    "width_mm": "148",
    "image/left_mm": "20",
    "image/top_mm": "18.5",
    "image/height_mm": "160",
    "image/width_mm": "110",
    "replaceability": "small edition",
    "value_band": "high",
    "owner": OWNER,
    "place": STAIR,
}


def test_the_list_says_what_it_is_where_it_is_how_good_and_what_is_next(keeper: Browser) -> None:
    page = keeper.get("/works").text
    for words in ("Tern over the Bar", STAIR, "about 1890", "harmful", "remat overdue"):
        assert words in page
    assert "by 13 May 2029" in page


def test_the_list_shows_each_front_and_a_blank_sheet_where_there_is_none(keeper: Browser) -> None:
    data = {"form_token": keeper.form_token, "view": "recto", "stage": ""}
    files = {"file": ("front.jpg", as_file(four_colours()), "image/jpeg")}
    assert keeper.post("/works/1/photographs", data=data, files=files).status_code == 303
    page = keeper.get("/works").text
    assert re.findall(r"/photographs/(\d+)/320", page) == ["1"]
    assert page.count('class="sheet-blank') == 1


@pytest.mark.parametrize("q", ["eglise", "NOBODY", "hiv", "eglise nob"])
def test_a_work_is_found_without_accents_or_capitals(keeper: Browser, q: str) -> None:
    page = keeper.get("/works", params={"q": q}).text
    assert ("Église en hiver" in page, "Tern over" in page) == (True, False)


@pytest.mark.parametrize("q", ["GH 1", "gh1", " gh 1 "])
def test_an_exact_number_leads_straight_to_the_work(keeper: Browser, q: str) -> None:
    assert keeper.get("/works", params={"q": q}).headers["location"] == "/works/1"


def test_the_code_on_a_label_leads_straight_to_the_work(keeper: Browser, engine: Engine) -> None:
    with read_session(engine) as session:
        code = session.exec(select(Work.code).where(Work.number == "TH 2")).one()
    typed = f"{code[:4]}-{code[4:]}".lower()
    assert keeper.get("/works", params={"q": typed}).headers["location"] == "/works/2"


def test_what_is_not_found_offers_what_is_near(keeper: Browser) -> None:
    page = keeper.get("/works", params={"q": "tirn"}).text
    assert "Nothing on record answers to that" in page
    assert 'href="/works?q=tern"' in page


def test_owner_and_place_narrow_the_list(keeper: Browser) -> None:
    for asked in ({"owner": OWNER}, {"place": "Gannet House"}):
        page = keeper.get("/works", params=asked).text
        assert ("Tern over" in page, "Église" in page) == (True, False)
    assert "Nothing on record" in keeper.get("/works", params={"place": "Nowhere"}).text


def test_an_owner_sees_their_own_works_and_never_near_others(owner: Browser) -> None:
    page = owner.get("/works").text
    assert ("Tern over" in page, "Église" in page, "Choose" in page) == (True, False, False)
    for q in ("TH 2", "eglise", "nobady"):
        assert "Nothing on record" in owner.get("/works", params={"q": q}).text
    for narrowed in ({"owner": "The Tern House"}, {"place": "Gannet House / Vault"}):
        page = owner.get("/works", params=narrowed).text
        assert "Nothing on record answers to that." in page
    assert owner.get("/works/new").status_code == 404
    assert owner.send_form("/works/move", {"work": "1", "place": STUDY}).status_code == 403


def test_an_empty_book_says_what_to_do_first(keeper: Browser, framer: Browser) -> None:
    for work_id in ("1", "2"):
        keeper.send_form(f"/works/{work_id}/withdraw", {"reason": "sold"})
    assert "Put the first work on record" in keeper.get("/works").text
    assert "No work is on record for you yet" in framer.get("/works").text


def test_a_long_list_goes_on_where_it_stopped(
    keeper: Browser, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.pages.works.A_PAGE", 1)
    assert "/works?after=GH+1" in keeper.get("/works").text
    rest = keeper.get("/works", params={"after": "GH 1"}).text
    assert ("Église" in rest, "Further works" in rest) == (True, False)


def test_a_list_takes_as_many_statements_for_many_works_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    before = statements_of(keeper, "/works?q=n")
    with recording(engine, actor="test", now=NOON) as session:
        for _ in range(20):
            a_forecast(session, a_work(session, maker="A. Nobody", place=STUDY))
    assert statements_of(keeper, "/works?q=n") == before <= 12


def test_a_work_is_put_on_record_as_it_was_typed(keeper: Browser, engine: Engine) -> None:
    answer = keeper.send_form("/works/new", NEW)
    assert (answer.status_code, answer.headers["location"]) == (303, "/works/3")
    with read_session(engine) as session:
        work = session.get(Work, 3)
        assert work is not None
        assert (work.made_edtf, work.height_um, work.image_top_um, work.value_band) == (
            "1890~",
            212_500,
            18_500,
            "high",
        )
        assert session.exec(select(Stay.work_id).where(Stay.work_id == 3)).all() == [3]


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("number", "", "The number is missing."),
        ("number", "GH 1", "is given already"),
        ("made", "03/04/1890", "write 3 April (1890-04-03) or 4 March (1890-03-04)"),
        ("height_mm", "tall", "Write mm, such as 12.5, or inches"),
        ("image/width_mm", "", "An image is told by left, top, height and width"),
        ("image/height_mm", "400", "The image reaches beyond the sheet."),
        ("technique", "etchin", "Perhaps etching."),
        ("light_class", "9", "it runs from 1 to 8"),
        ("replaceability", "rare", "is none of unique, small edition, replaceable"),
    ],
)
def test_a_wrong_value_is_named_beside_its_field_and_nothing_typed_is_lost(
    keeper: Browser, engine: Engine, field: str, typed: str, said: str
) -> None:
    answer = keeper.send_form("/works/new", {**NEW, "note": "kept <b>", field: typed})
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0].replace(
        "&#39;", "'"
    )
    assert 'value="The Weir"' in answer.text
    assert ">kept &lt;b&gt;</textarea>" in answer.text
    assert 'value="212,5"' in answer.text or field == "height_mm"
    with read_session(engine) as session:
        assert len(session.exec(select(Work)).all()) == 2


def test_all_that_is_wrong_with_a_new_work_is_said_at_once(keeper: Browser) -> None:
    wrong: dict[str, str | list[str]] = {
        **{"number": "gh 1", "made": "3/4/1890", "height_mm": "-3", "width_mm": "wide"},
        "technique": "etchin",
    }
    answer = keeper.send_form("/works/new", {**NEW, **wrong})
    assert answer.status_code == 422
    assert set(re.findall(r'id="fault-([^"]+)"', answer.text)) == set(wrong)
    told: dict[str, str | list[str]] = {**NEW, **wrong, "version": "1"}
    answer = keeper.send_form("/works/2/change", told)
    assert set(re.findall(r'id="fault-([^"]+)"', answer.text)) == set(wrong)


def test_a_work_is_corrected_from_what_is_on_record(keeper: Browser, engine: Engine) -> None:
    page = keeper.get("/works/1/change").text
    assert ('value="about 1890"' in page, 'name="version" value="1"' in page) == (True, True)
    changed = {**NEW, "number": "GH 1", "version": "1", "height_mm": "", "image/top_mm": "0"}
    assert keeper.send_form("/works/1/change", changed).headers["location"] == "/works/1"
    with read_session(engine) as session:
        work = session.get(Work, 1)
        assert work is not None
        assert (work.title, work.height_um, work.image_top_um) == ("The Weir", None, 0)


def test_whoever_was_slower_sees_what_is_there_and_keeps_what_they_typed(keeper: Browser) -> None:
    keeper.send_form("/works/1/change", {**NEW, "number": "GH 1", "version": "1"})
    late = {**NEW, "number": "GH 1", "title": "A Tern", "version": "1"}
    answer = keeper.send_form("/works/1/change", late)
    assert answer.status_code == 409
    for words in ("Somebody changed this", 'data-value="The Weir"', 'value="A Tern"'):
        assert words in answer.text
    version = answer.text.split('name="version" value="')[1].split('"')[0]
    again = keeper.send_form("/works/1/change", {**late, "version": version})
    assert again.status_code == 303


def test_several_works_are_moved_in_one_act(framer: Browser, engine: Engine) -> None:
    page = framer.get("/works/move", params={"work": ["1", "2"]}).text
    assert ("Tern over the Bar" in page, "25 November 2026" in page) == (True, True)
    told: dict[str, str | list[str]] = {
        "work": ["1", "2"],
        "place": STUDY,
        "on": "20 November 2026",
        "by": "Ben Rabbet",
        "note": "out of the sun",
    }
    assert framer.send_form("/works/move", told).status_code == 303
    with read_session(engine) as session:
        stays = session.exec(select(Stay).where(~Stay.ended)).all()  # type: ignore[arg-type]
        assert {(stay.work_id, stay.since_edtf) for stay in stays} == {
            (1, "2026-11-20"),
            (2, "2026-11-20"),
        }


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        ({"place": ""}, "place", "The place is missing."),
        ({"place": STAIR}, "place", "already"),
        ({"on": "2027"}, "on", "has not come yet"),
        ({"on": "2009"}, "on", "before"),
        ({"on": "soon"}, "on", "is not a date"),
    ],
)
def test_a_move_that_cannot_be_is_refused_beside_its_field(
    framer: Browser, told: dict[str, str], field: str, said: str
) -> None:
    sent = {"work": "1", "place": STUDY, "on": "2026-11-20", "note": "kept", **told}
    answer = framer.send_form("/works/move", dict(sent))
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert ">kept</textarea>" in answer.text


def test_a_move_of_nothing_says_where_to_choose(framer: Browser) -> None:
    assert framer.get("/works/1/move").headers["location"] == "/works/move?work=1"
    assert "Tick the works in the list" in framer.get("/works/move?work=x").text
    assert framer.send_form("/works/move", {"place": STUDY}).status_code == 422


def test_a_work_is_withdrawn_with_a_reason_alone(keeper: Browser, framer: Browser) -> None:
    assert "never given again" in keeper.get("/works/1/withdraw").text
    answer = keeper.send_form("/works/1/withdraw", {"reason": " "})
    assert (answer.status_code, "The reason is missing" in answer.text) == (422, True)
    assert framer.send_form("/works/1/withdraw", {"reason": "sold"}).status_code == 403
    assert keeper.send_form("/works/1/withdraw", {"reason": "sold"}).status_code == 303
    assert "Tern over" not in keeper.get("/works").text
