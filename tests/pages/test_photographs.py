"""The photographs of a work as pages: all of them, one closely, and the plain form."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.tables.works import Work
from tests.builders import a_visit, a_work, key_of
from tests.exchange.pictures import as_file, four_colours
from tests.pages.page_read import text_of
from tests.with_app import NOON, OWNER, Browser

PICTURE = as_file(four_colours())


@pytest.fixture
def work(engine: Engine) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_work(session, number="GH 1", owner=OWNER))


def send(browser: Browser, work: int, content: bytes = PICTURE, **typed: str) -> int:
    """Send the plain form and return the status of the answer."""
    data = {"form_token": browser.form_token, "view": "recto", "stage": "", **typed}
    files = {"file": ("front.jpg", content, "image/jpeg")}
    path = f"/works/{work}/photographs"
    return browser.post(path, data=data, files=files).status_code


def test_a_plain_form_keeps_a_photograph_without_any_script(framer: Browser, work: int) -> None:
    assert send(framer, work, view="verso", stage="back off", taken_on="about 2025") == 303
    shown = text_of(framer.get(f"/works/{work}/photographs").text)
    assert "Verso, back off about 2025" in shown


def test_what_was_typed_comes_back_with_the_reason_beside_the_file(
    framer: Browser, work: int
) -> None:
    data = {"form_token": framer.form_token, "view": "verso", "note": "left edge"}
    files = {"file": ("letter.pdf", b"%PDF-1.7", "application/pdf")}
    refused = framer.post(f"/works/{work}/photographs", data=data, files=files)
    assert refused.status_code == 422
    assert "This is not a photograph." in refused.text
    assert "left edge" in refused.text
    blank = framer.send_form(f"/works/{work}/photographs", {"view": "recto"})
    assert (blank.status_code, "No photograph was sent." in blank.text) == (422, True)


def test_a_photograph_taken_within_a_draft_stays_with_it(
    framer: Browser, work: int, engine: Engine
) -> None:
    assert send(framer, work, draft_key="d4") == 303
    told = framer.get(f"/api/works/{work}/photographs").json()["items"]
    assert [one["draft_key"] for one in told] == ["d4"]


def test_a_photograph_is_put_right_and_taken_off_the_record(framer: Browser, work: int) -> None:
    send(framer, work)
    path = "/photographs/1"
    typed: dict[str, str | list[str]] = {
        "version": "1",
        "view": "raking light",
        "stage": "mat lifted",
        "taken_on": "November 2026",
        "note": "from the left",
    }
    assert framer.send_form(path, typed).status_code == 303
    shown = framer.get(path)
    assert "Raking light, mat lifted, November 2026" in text_of(shown.text)
    stale = framer.send_form(path, typed | {"note": "from the right"})
    assert (stale.status_code, "from the left" in stale.text) == (409, True)
    wrong = framer.send_form(path, typed | {"version": "2", "taken_on": "2031"})
    assert (wrong.status_code, "has not come yet" in wrong.text) == (422, True)
    blank = framer.send_form(f"{path}/withdraw", {"reason": ""})
    assert blank.status_code == 422
    gone = framer.send_form(f"{path}/withdraw", {"reason": "blurred"})
    assert gone.status_code == 303
    assert framer.get(path).status_code == 404
    assert f'action="{path}/put-back"' in framer.get(gone.headers["location"]).text
    later = framer.get(f"/works/{work}/photographs").text
    assert ("Taken off the record (1)" in later, "blurred" in later) == (True, True)
    assert framer.send_form(f"{path}/put-back", {}).status_code == 303
    assert framer.get(path).status_code == 200
    assert framer.send_form(f"{path}/put-back", {}).status_code == 404


def test_an_owner_looks_at_what_is_theirs_and_is_offered_no_more(
    framer: Browser, owner: Browser, work: int
) -> None:
    send(framer, work)
    for path in (f"/works/{work}/photographs", "/photographs/1"):
        shown = owner.get(path)
        assert shown.status_code == 200
        forms = shown.text.count("<form") - shown.text.count('action="/sign-out"')
        assert (path, "Keep" in shown.text, forms <= 1) == (path, False, True)


def test_a_photograph_leads_to_its_neighbours_and_its_visit(
    framer: Browser, work: int, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        visit = key_of(a_visit(session, session.get_one(Work, work)))
    send(framer, work, taken_on="2024")
    send(framer, work, taken_on="2025", visit=str(visit))
    send(framer, work, taken_on="2026")
    shown = framer.get("/photographs/2").text
    for there in ("/photographs/1", "/photographs/3", f"/visits/{visit}"):
        assert f'href="{there}"' in shown
    of_visit = framer.get(f"/visits/{visit}").text
    assert [f"/photographs/{key}/320" in of_visit for key in (1, 2, 3)] == [False, True, False]


@pytest.mark.parametrize("path", ["/photographs/1", "/works/1/photographs"])
def test_a_page_of_photographs_takes_few_statements(
    framer: Browser, work: int, path: str, statements_of: Callable[[Browser, str], int]
) -> None:
    for _ in range(3):
        send(framer, work)
    assert statements_of(framer, path) <= 12


def test_only_the_three_sizes_are_given(framer: Browser, work: int) -> None:
    send(framer, work)
    there = [framer.get(f"/photographs/1/{side}").status_code for side in (320, 960, 2400, 640)]
    assert there == [200, 200, 200, 404]
    assert framer.get("/photographs/1/parts/0/0/0").status_code == 404
    assert framer.get("/photographs/99/320").status_code == 404
