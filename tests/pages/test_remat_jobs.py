"""The pages of works that are rematted together, and their sheets for the bench."""

from collections.abc import Callable

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.actions.remats_at_hand import POOR, a_work_to_remat
from tests.pages.page_read import text_of
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work_to_remat(session, number="GH 1", title="Tern", owner=OWNER, place=STAIR)
        a_work_to_remat(session, number="TH 2", title="Mill", owner="The Tern House", place=STAIR)


def made(keeper: Browser) -> str:
    form: dict[str, str | list[str]] = {"name": "The stair", "note": "", "work": ["1", "2"]}
    answer = keeper.send_form("/remat/jobs", form)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def test_chosen_works_become_a_job_by_name(keeper: Browser) -> None:
    before = text_of(keeper.get("/remat/jobs/new", params={"work": ["1", "2"]}).text)
    assert "2 works," in before
    job = text_of(keeper.get(made(keeper)).text)
    for words in (
        "The stair",
        "Still to do:",
        f"window mat: cotton rag board, buffered instead of {POOR}",
        "What must lie ready",
        "Start an unframing of GH 1",
    ):
        assert words in job
    assert "The stair" in text_of(keeper.get("/remat/jobs").text)


def test_a_job_without_name_or_works_is_refused(keeper: Browser) -> None:
    unnamed = keeper.send_form("/remat/jobs", {"name": " ", "note": "kept", "work": ["1"]})
    assert unnamed.status_code == 422
    assert "kept" in unnamed.text
    assert keeper.send_form("/remat/jobs", {"name": "x"}).status_code == 422
    assert "No work is chosen" in text_of(keeper.get("/remat/jobs/new").text)


def test_sheets_for_the_bench_name_neither_owner_nor_place(keeper: Browser) -> None:
    sheets = text_of(keeper.get(f"{made(keeper)}/sheets").text)
    for words in ("GH 1 Tern", "TH 2 Mill", "Take out", "Put in", "cotton rag board, buffered"):
        assert words in sheets
    for word in (OWNER, "The Tern House", STAIR):
        assert word not in sheets


def test_a_work_is_left_out_and_a_late_change_is_refused(keeper: Browser) -> None:
    job = made(keeper)
    assert keeper.send_form(job, {"version": "1", "leave_out": "2"}).status_code == 303
    assert "left out" in text_of(keeper.get(job).text)
    assert "TH 2" not in text_of(keeper.get(f"{job}/sheets").text)
    late = {"version": "1", "name": "Other", "note": "", "state": "dropped"}
    stale = keeper.send_form(job, {**late})
    assert (stale.status_code, 'value="Other"' in stale.text) == (409, True)
    assert 'data-put-in="state" data-value="open"' in stale.text
    assert keeper.send_form(job, {**late, "version": "2"}).status_code == 303
    assert "Dropped" in text_of(keeper.get(job).text)


def test_an_owner_sees_no_jobs(owner: Browser) -> None:
    assert owner.get("/remat/jobs").status_code == 404


def test_the_page_of_a_job_takes_at_most_twelve_statements(
    keeper: Browser, statements_of: Callable[[Browser, str], int]
) -> None:
    assert statements_of(keeper, made(keeper)) <= 12


def test_a_row_says_in_which_job_it_waits_and_a_job_is_withdrawn_with_a_reason(
    keeper: Browser, framer: Browser
) -> None:
    job = made(keeper)
    assert "In the job The stair ." in text_of(framer.get("/remat").text)
    withdrawn = {"version": "1", "withdraw": "yes", "reason": "made twice"}
    assert framer.send_form(job, {**withdrawn}).status_code == 403
    assert keeper.send_form(job, {**withdrawn, "reason": ""}).status_code == 422
    assert keeper.send_form(job, {**withdrawn}).status_code == 303
    assert keeper.get(job).status_code == 404
    assert "In the job" not in text_of(keeper.get("/remat").text)
