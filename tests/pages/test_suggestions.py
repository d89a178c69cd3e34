"""What the search suggests, as options of a list box."""

import re
from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.vocabulary import Verdict
from tests.builders import a_forecast, a_work
from tests.with_app import NOON, OWNER, Browser


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        weir = a_work(
            session, number="GH 1", title="The Weir <old>", maker="I. Nobody", owner=OWNER
        )
        a_work(session, number="TH 2", title="The Mill", owner="The Tern House")
        a_forecast(session, weir, verdict=Verdict.HARMFUL)


def options(page: str) -> list[tuple[str, str]]:
    found = re.findall(r'role="option".*?data-path="([^"]*)".*?>(.*?)</li>', page, re.DOTALL)
    return [(path, " ".join(re.sub(r"<[^>]+>", " ", said).split())) for path, said in found]


def test_a_work_is_suggested_with_number_title_maker_and_verdict(keeper: Browser) -> None:
    page = keeper.get("/suggestions", params={"q": "we"}).text
    assert options(page) == [("/works/1", "GH 1 The Weir &lt;old&gt; I. Nobody harmful")]


def test_pages_are_suggested_by_their_names(keeper: Browser, owner: Browser) -> None:
    asked = {"q": "own e"}
    assert options(keeper.get("/suggestions", params=asked).text) == [
        ("/own-evidence", "page Own evidence")
    ]
    assert options(owner.get("/suggestions", params={"q": "peop"}).text) == []


def test_an_owner_is_not_suggested_the_works_of_others(owner: Browser) -> None:
    assert options(owner.get("/suggestions", params={"q": "th"}).text) == [
        ("/works/1", "GH 1 The Weir &lt;old&gt; I. Nobody harmful")
    ]
    page = owner.get("/suggestions", params={"q": "mill"}).text
    assert (options(page), "Nothing on record begins with mill" in page) == ([], True)


def test_a_stranger_is_suggested_nothing(stranger: Browser) -> None:
    assert stranger.get("/suggestions", params={"q": "we"}).status_code == 303


def test_a_slip_of_the_pen_takes_no_more_than_twelve_statements(
    keeper: Browser, statements_of: Callable[[Browser, str], int]
) -> None:
    page = keeper.get("/suggestions?q=weer").text
    assert "Nothing begins with weer. Near to it: weir" in page
    assert statements_of(keeper, "/suggestions?q=weer") <= 12
