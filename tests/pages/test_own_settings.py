"""What somebody chose for their own pages, and for nobody else's."""

import re

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.builders import a_work
from tests.pages.form_filled import fields_of
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser

DARK_WITH_INCHES: dict[str, str | list[str]] = {
    "scheme": "dark",
    "lengths": "millimetres and inches",
}

SHOWING_A_REACH = (
    "/works/1",
    "/visits/1",
    "/visits/1/report",
    "/works/1/findings",
    "/works/1/visits/new?kind=look",
)


@pytest.fixture(autouse=True)
def _a_work(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, number="GH 1", height_um=420_000, width_um=594_000)


def test_what_is_chosen_holds_on_every_page_of_the_one_who_chose(
    keeper: Browser, framer: Browser
) -> None:
    answer = keeper.send_form("/settings", DARK_WITH_INCHES)
    assert (answer.status_code, answer.headers["location"]) == (303, "/settings?kept=yes")
    page = keeper.get("/works/1").text
    assert ('<html lang="en" data-scheme="dark">' in page, "(16 9/16" in page) == (True, True)
    other = framer.get("/works/1").text
    assert ("data-scheme" in other, "9/16" in other) == (False, False)


def test_as_the_device_leaves_the_scheme_to_the_system(keeper: Browser) -> None:
    keeper.send_form("/settings", DARK_WITH_INCHES)
    keeper.send_form("/settings", {"scheme": "as the device", "lengths": "millimetres"})
    page = keeper.get("/works/1").text
    assert ("data-scheme" in page, "9/16" in page) == (False, False)


def test_the_page_of_settings_shows_what_is_chosen(owner: Browser) -> None:
    assert 'value="as the device" checked' in owner.get("/settings").text
    owner.send_form("/settings", DARK_WITH_INCHES)
    page = owner.get("/settings", params={"kept": "yes"}).text
    assert ('value="dark" checked' in page, "Kept, for you" in page) == (True, True)


def test_a_word_that_is_no_scheme_is_refused_beside_its_field(keeper: Browser) -> None:
    answer = keeper.send_form("/settings", {"scheme": "plaid", "lengths": "millimetres"})
    assert (answer.status_code, 'id="fault-scheme"' in answer.text) == (422, True)


def test_every_length_of_a_visit_may_be_typed_in_inches_and_is_shown_in_both(
    keeper: Browser, engine: Engine, reference_data: None
) -> None:
    keeper.send_form("/settings", DARK_WITH_INCHES)
    page = keeper.get("/works/1/visits/new?kind=look").text
    assert re.search(r'name="new/0/mm"[^>]* inputmode="text"', page)
    action = re.search(r'action="(/bench/([^/"]+)/[^"]+)" data-key', page)
    assert action is not None
    typed = {"new/0/term": "tide line", "new/0/edge": "left", "new/0/mm": '1/2"'}
    told = {**fields_of(page, action[1]), **typed, "new/0/severity": "slight"}
    assert keeper.send_form(f"/bench/{action[2]}/record", told).status_code == 303

    shown = [keeper.get(address).text for address in SHOWING_A_REACH]

    assert ["12.7 mm in (1/2 in)" in text_of(page) for page in shown] == [True] * len(shown)
    assert [page.count("(1/2 in) (1/2 in)") for page in shown] == [0] * len(shown)
    drawn = shown[0].partition('<svg class="lanes"')[2].partition("</svg>")[0]
    assert "12.7 mm (1/2 in)</tspan>" in drawn
    keeper.send_form("/settings", {"scheme": "as the device", "lengths": "millimetres"})
    assert "(1/2 in)" not in keeper.get("/works/1").text
