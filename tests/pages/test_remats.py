"""The pages of what to remat first."""

import re
from collections.abc import Callable

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from api.template_filters import ANY_CURRENCY
from models.actions.change_log import recording
from models.tables.remats import RematScore
from models.vocabulary import Advice
from tests.actions.remats_at_hand import POOR, a_work_to_remat
from tests.pages.page_read import text_of
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work_to_remat(session, number="GH 1", title="Tern", owner=OWNER, place=STAIR)
        a_work_to_remat(session, number="TH 2", title="Mill", owner="The Tern House", place=STAIR)


def test_each_row_says_why_what_with_and_for_how_much(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat").text)
    for words in (
        "GH 1 Tern",
        f"{POOR}: acid migration",
        "Cure remat",
        f"mount board: cotton rag board, buffered instead of {POOR}",
        "Proposed",
        "costs about",
    ):
        assert words in page
    assert re.search(r"costs about \d+ EUR\b", page)
    assert ANY_CURRENCY not in page


@pytest.mark.parametrize(
    ("cure", "words"),
    [
        # Common practice, no source.
        (Advice.GIVE_A_SPACER, "Mind If it sticks to the glazing already, do not part them"),
        (Advice.DRY_OR_MOVE, "Mind Where there is mould: respirator and gloves"),
    ],
)
def test_what_hurts_the_work_or_whoever_does_it_stands_beside_the_cure(
    keeper: Browser, engine: Engine, cure: Advice, words: str
) -> None:
    assert "Mind" not in text_of(keeper.get("/remat").text)
    with recording(engine, actor="test", now=NOON) as session:
        for score in session.exec(select(RematScore)):
            score.cure = cure
    assert words in text_of(keeper.get("/remat").text)
    assert words in text_of(keeper.get("/remat/1").text)
    assert words.removeprefix("Mind ") in keeper.get("/api/remat/1").json()["mind"]


def test_what_narrows_the_list_is_part_of_its_address(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat", params={"owner": OWNER}).text)
    assert "GH 1" in page
    assert "TH 2" not in page
    refused = keeper.get("/remat", params={"technique": "etchign", "hours": "many"})
    assert refused.status_code == 422
    assert "Not a number" in text_of(refused.text)


def test_works_of_one_board_or_room_are_shown_as_a_batch(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat").text)
    assert "Best done together" in page
    assert f"{STAIR} TH 2, GH 1" in page


def test_fewer_hours_than_none_are_refused(keeper: Browser) -> None:
    refused = keeper.get("/remat", params={"hours": "-5"})
    assert refused.status_code == 422
    assert "less than nothing" in text_of(refused.text)


def test_hours_at_hand_are_put_to_their_best_use(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat", params={"hours": "100"}).text)
    assert "2 remats," in page
    assert "Taken in the order of risk reduced for each hour" in page
    assert "No remat fits into that" in text_of(keeper.get("/remat", params={"money": "1"}).text)


def test_ticked_rows_make_a_plain_list_to_print(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat/list", params={"work": ["1", "2"]}).text)
    assert "2 works," in page
    assert "Follow local codes" in page
    assert "Nothing was ticked" in text_of(keeper.get("/remat/list").text)


def test_what_becomes_of_a_remat_is_said_in_a_form(keeper: Browser) -> None:
    answer = keeper.send_form(
        "/remat/1",
        {"version": "0", "state": "declined until", "until": "June 2027", "why": "not now"},
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/remat")
    assert "GH 1" not in text_of(keeper.get("/remat").text)
    row = text_of(keeper.get("/remat/1").text)
    assert "Declined until 1 June 2027 by Ada Sill: not now" in row


def test_a_form_that_is_refused_keeps_what_was_typed(keeper: Browser) -> None:
    answer = keeper.send_form("/remat/1", {"version": "0", "state": "cannot", "quote": "12,5"})
    assert answer.status_code == 422
    assert "Say why it cannot be" in text_of(answer.text)
    assert 'value="12,5"' in answer.text
    unreadable = keeper.send_form("/remat/1", {"version": "0", "state": "", "on": "some day"})
    assert unreadable.status_code == 422


def test_somebody_who_was_slower_sees_what_is_on_record(keeper: Browser) -> None:
    keeper.send_form("/remat/1", {"version": "0", "state": "asked", "quote": "80"})
    late = keeper.send_form("/remat/1", {"version": "0", "state": "cannot", "why": "sealed"})
    assert late.status_code == 409
    assert "What becomes of it asked" in text_of(late.text)


def test_an_owner_sees_and_answers_for_their_own_works(owner: Browser) -> None:
    page = text_of(owner.get("/remat").text)
    assert "GH 1" in page
    assert "TH 2" not in page
    choices = owner.get("/remat/1").text
    assert "<option>agreed</option>" in choices
    assert "<option>done</option>" not in choices
    assert owner.send_form("/remat/1", {"version": "0", "state": "agreed"}).status_code == 303
    assert owner.get("/remat/2").status_code == 404
    refused = owner.send_form("/remat/1", {"version": "1", "state": "done"})
    assert refused.status_code == 403


def test_the_page_takes_at_most_twelve_statements_however_it_is_narrowed(
    keeper: Browser, statements_of: Callable[[Browser, str], int]
) -> None:
    narrowed = f"/remat?owner={OWNER}&place={STAIR}&material={POOR}&state=proposed&hours=8"
    assert max(statements_of(keeper, path) for path in ("/remat", narrowed)) <= 12


def test_what_was_ticked_stays_ticked_while_the_list_is_narrowed_without_a_script(
    keeper: Browser,
) -> None:
    page = keeper.get("/remat", params={"owner": OWNER, "work": ["1", "2"]}).text
    assert 'value="1" data-hours' in page
    assert '<input type="hidden" name="work" value="2" data-elsewhere>' in page
    assert "2 chosen," in text_of(page)


def test_one_line_says_what_the_list_is_of_and_its_sums_stand_beneath(keeper: Browser) -> None:
    page = text_of(keeper.get("/remat", params={"owner": OWNER, "material": POOR}).text)
    assert f"{OWNER}, with {POOR}; all that waits." in page
    assert "1 work: " in page


def test_an_owner_weighs_leaving_it_against_the_price_and_the_risk(owner: Browser) -> None:
    page = text_of(owner.get("/remat").text)
    for words in (
        "Leave it as it is:",
        "that new harm comes within five years",
        "costs about",
        "What the remat itself puts at risk:",
    ):
        assert words in page


def test_an_owner_approves_declines_until_a_day_or_asks_with_one_form(
    owner: Browser, keeper: Browser
) -> None:
    def answer(version: int, **said: str) -> int:
        form = {"work": "1", "seen": f"1:{version}", **said}
        return owner.send_form("/remat/answers", {**form}).status_code

    assert answer(0, answer="ask", question="May it wait?") == 303
    asked = text_of(keeper.get("/remat").text)
    assert "Owners ask GH 1 Tern May it wait?" in asked
    assert answer(1, answer="approve") == 303
    approved = text_of(keeper.get("/remat").text)
    assert "Agreed on 25 November 2026 by" in approved
    assert "Owners ask" not in approved
    assert answer(2, **{"for": "1 year"}) == 303
    declined = text_of(owner.get("/remat", params={"state": "declined until"}).text)
    assert "Declined until 25 November 2027" in declined


def test_an_answer_without_day_question_or_work_is_refused_and_a_late_one_too(
    owner: Browser,
) -> None:
    def answer(**said: str) -> int:
        form = {"work": "1", "seen": "1:0", **said}
        return owner.send_form("/remat/answers", {**form}).status_code

    assert answer(answer="decline") == 422
    assert answer(answer="decline", until="some day") == 422
    assert answer(answer="ask") == 422
    assert answer(answer="approve", work="") == 422
    assert answer(answer="approve", seen="1:7") == 409
    assert answer(answer="approve", work="2", seen="2:0") == 404


def test_what_an_owner_answered_is_said_and_what_was_refused_stays_where_it_was_typed(
    owner: Browser,
) -> None:
    form = {"work": "1", "seen": "1:0", "answer": "decline"}
    refused = owner.send_form("/remat/answers", {**form, "until": "30 February 2027"}).text
    assert '<a href="#remat-1">GH 1</a>: There is no 30 February 2027' in refused
    assert 'value="30 February 2027" autofocus' in refused
    kept = owner.send_form("/remat/answers", {**form, "answer": "approve"})
    assert kept.headers["location"] == "/remat?answered=1#answered"
    page = owner.get("/remat?answered=1").text
    assert "Kept: GH 1 Tern: Agreed on 25 November 2026" in text_of(page)
    assert (page.count(">Approved<"), page.count(">Approve<")) == (1, 0)
