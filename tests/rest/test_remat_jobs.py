"""Works that are rematted together, through REST."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.actions.remats_at_hand import a_work_to_remat
from tests.with_app import NOON, OWNER, Browser


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        for number in ("A", "B"):
            a_work_to_remat(session, number=number, owner=OWNER)


def test_a_job_is_made_listed_and_changed_by_who_saw_its_newest_state(program: Browser) -> None:
    made = program.post("/api/remat/jobs", json={"name": "The stair", "works": [1, 2]})
    assert (made.status_code, made.headers["ETag"]) == (201, '"1"')
    job = made.json()
    assert [(work["id"], work["outcome"]) for work in job["works"]] == [(2, "to do"), (1, "to do")]
    assert job["materials"][0]["material"] == "cotton rag board, buffered"
    (listed,) = program.get("/api/remat/jobs").json()["items"]
    assert (listed["name"], listed["works"], listed["remounted"]) == ("The stair", 2, 0)
    assert listed["hours"] == pytest.approx(job["hours"])
    changed = program.patch(
        "/api/remat/jobs/1", json={"state": "dropped"}, headers={"If-Match": '"1"'}
    )
    assert (changed.json()["state"], changed.headers["ETag"]) == ("dropped", '"2"')
    late = program.patch("/api/remat/jobs/1", json={"note": "x"}, headers={"If-Match": '"1"'})
    assert late.status_code == 412
    assert program.get("/api/remat/jobs/1").json()["state"] == "dropped"


def test_the_list_is_read_on_by_its_cursor(program: Browser) -> None:
    for name in ("first", "second"):
        program.post("/api/remat/jobs", json={"name": name, "works": [1]})
    page = program.get("/api/remat/jobs", params={"limit": 1}).json()
    rest = program.get("/api/remat/jobs", params={"limit": 1, "cursor": page["next"]}).json()
    assert [one["items"][0]["name"] for one in (page, rest)] == ["second", "first"]


def test_a_job_of_what_is_not_on_record_is_refused_and_owners_see_none(
    program: Browser, owner: Browser
) -> None:
    refused = program.post("/api/remat/jobs", json={"name": "x", "works": [9]})
    assert refused.status_code == 422
    assert owner.get("/api/remat/jobs").status_code == 404
