"""The page of what is due."""

import re
from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.rules.calendar_days import day_number
from models.vocabulary import Advice, DueKind, PlaceUse
from tests.builders import a_forecast, a_place, a_visit, a_work, an_incident
from tests.with_app import NOON, OWNER, TODAY, Browser

NOW = day_number(TODAY)


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_place(session, "Store / Box 4", use=PlaceUse.BOX)
        framed = a_work(session, number="GH 1", title="Tern", owner=OWNER, place="Gannet House")
        boxed = a_work(session, number="TH 2", title="Mill", place="Store / Box 4")
        new = a_work(session, number="TH 3", title="Weir")
        a_forecast(
            session, framed, look_on=NOW - 30, remat_by=NOW + 40, advice=Advice.REHINGE,
            weak_layer="Masking tape", due_on=NOW - 30, due_kind=DueKind.LOOK,
        )  # fmt: skip
        a_forecast(session, boxed, box_check_on=NOW)
        a_forecast(session, new, first_survey=True, chance_unseen=0.5)
        an_incident(session, framed, "2027-01-10")
        a_visit(session, boxed, on="2026-11-20", to_write_up=True)


def said(page: str) -> str:
    """The words of a page, without its markup."""
    return re.sub(r"<[^>]+>", "", page)


def test_what_is_overdue_comes_first_and_then_the_months_ahead(keeper: Browser) -> None:
    page = said(keeper.get("/due").text)
    in_order = (
        *("Overdue", "Tern", "look overdue"),
        *("Today", "Store / Box 4", "1 work in it", "box check due today"),
        *("January 2027", "remat by 4 January 2027", "Advice: rehinge. Weak layer: Masking tape."),
        *("follow-up by 10 January 2027", "After an incident: leak"),
        *("To write up", "look, 20 November 2026"),
        *("First survey", "1 work has never been examined", "all by December 2026", "Weir"),
    )
    at = -1
    for words in in_order:
        assert words in page
        found = page.find(words, at + 1)
        assert found > at, words
        at = found


def test_a_box_is_checked_and_a_work_is_visited_from_its_line(keeper: Browser) -> None:
    page = keeper.get("/due").text
    assert 'href="/walk-round/2"' in page
    assert 'href="/works/1/visits/new?kind=look"' in page
    assert 'href="/works/1/visits/new?kind=unframing"' in page


def test_the_list_is_narrowed_by_kind_and_by_a_day_in_words(keeper: Browser) -> None:
    page = keeper.get("/due", params={"kind": "remat"}).text
    assert ("remat <span" in page, "look overdue" in page, "To write up" in page) == (
        True,
        False,
        False,
    )
    page = keeper.get("/due", params={"until": "November 2026"}).text
    assert ("look overdue" in page, "remat <span" in page) == (True, False)
    assert "Nothing of that is due until then" in keeper.get("/due?until=2001").text
    assert keeper.get("/due", params={"kind": "dusting", "after": "x.1"}).status_code == 200


def test_a_day_that_is_none_is_said_beside_the_field(keeper: Browser) -> None:
    answer = keeper.get("/due", params={"until": "soonish"})
    assert (answer.status_code, "&#39;soonish&#39; is not a date" in answer.text) == (422, True)
    assert 'value="soonish"' in answer.text


def test_a_long_list_goes_on_where_it_stopped(
    keeper: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("api.pages.due.A_PAGE", 2)
    first = keeper.get("/due").text
    where = first.split('rel="next" href="')[1].split('"')[0].replace("&amp;", "&")
    rest = keeper.get(where).text
    assert ("remat <span" in first, "remat <span" in rest, "look due" in rest) == (
        False,
        True,
        False,
    )
    assert "To write up" not in rest


def test_an_owner_sees_what_is_due_on_their_own_works(owner: Browser) -> None:
    page = owner.get("/due").text
    assert ("Tern" in page, "Mill" in page, "Weir" in page) == (True, False, False)
    assert ("visits/new" in page, "To write up" in page) == (False, False)


def test_the_first_survey_has_a_page_of_its_own(keeper: Browser, owner: Browser) -> None:
    assert "Shown from place 1 of 1" in keeper.get("/due/first-survey").text
    assert "Every work has been examined" in owner.get("/due/first-survey").text


def test_the_survey_says_what_to_read_from_outside(keeper: Browser) -> None:
    page = keeper.get("/due/first-survey").text
    assert "Read the frame from outside" in page
    for word in ("bevel", "gap between sheet and glazing", "seal", "labels"):
        assert word in page


def test_an_empty_book_says_from_what_dates_come(framer: Browser, keeper: Browser) -> None:
    for work_id in (1, 2, 3):
        keeper.send_form(f"/works/{work_id}/withdraw", {"reason": "sold"})
    assert "Dates come from visits and mounts" in framer.get("/due").text


def test_the_page_takes_as_many_statements_for_many_works_as_for_few(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    # What is in force is read once after each change of it, and kept.
    keeper.get("/due")
    few = statements_of(keeper, "/due")
    with recording(engine, actor="test", now=NOON) as session:
        for _ in range(20):
            work = a_work(session, place="Store / Box 4")
            a_forecast(session, work, look_on=NOW, box_check_on=NOW, first_survey=True)
            an_incident(session, work, "2026-12-01")
            a_visit(session, work, to_write_up=True)
    keeper.get("/due")
    assert statements_of(keeper, "/due") == few <= 12
