"""What to remat first, through REST."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from tests.actions.remats_at_hand import POOR, a_work_to_remat
from tests.builders import a_work
from tests.with_app import NOON, OWNER, Browser

STAIR = "Gannet House / Stair"


@pytest.fixture(autouse=True)
def _works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work_to_remat(session, number="A", title="Tern", owner=OWNER, place=STAIR)
        a_work_to_remat(session, number="B", owner="The Tern House")
        a_work(session, number="C", owner=OWNER)


def test_a_row_is_told_with_its_reason_weak_layer_cost_and_state(program: Browser) -> None:
    answer = program.get("/api/remat", params={"place": STAIR}).json()
    assert answer["next"] is None
    (row,) = answer["items"]
    assert row["work"] == {"id": 1, "number": "A", "title": "Tern", "owner": OWNER}
    assert (row["place"], row["weak_layer"], row["cure"]) == (STAIR, POOR, "remat")
    assert row["reason"].startswith(f"{POOR}: acid migration")
    assert row["chance_then"] < row["chance_now"]
    assert row["risk_reduced"] == pytest.approx(
        row["lost_now"] - row["lost_then"] - row["risk_of_remat"]
    )
    assert row["hours"] > 0
    assert row["cost"] > 0
    assert (row["state"], row["state_said"], row["version"]) == ("proposed", "Proposed", 0)
    assert row["scored_on"] == "2026-11-25"


def test_the_list_is_narrowed_by_owner_and_read_on_by_its_cursor(program: Browser) -> None:
    def numbers(**params: str) -> list[str]:
        items = program.get("/api/remat", params=params).json()["items"]
        return [item["work"]["number"] for item in items]

    assert numbers(owner=OWNER) == ["A"]
    first = program.get("/api/remat", params={"limit": 1}).json()
    second = numbers(limit="1", cursor=first["next"])
    assert sorted([first["items"][0]["work"]["number"], *second]) == ["A", "B"]
    assert program.get("/api/remat", params={"cursor": "WzFd"}).status_code == 422


def test_a_word_that_is_not_on_record_is_refused(program: Browser) -> None:
    refused = program.get("/api/remat", params={"technique": "etchign"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/technique"


def test_a_state_is_said_by_who_saw_the_newest_one(program: Browser) -> None:
    seen = program.get("/api/remat/1")
    assert seen.headers["ETag"] == '"0"'
    assert program.patch("/api/remat/1", json={"state": "asked"}).status_code == 428
    said = program.patch(
        "/api/remat/1", json={"state": "asked", "quote": 120}, headers={"If-Match": '"0"'}
    )
    assert (said.status_code, said.json()["state"], said.json()["quote"]) == (200, "asked", 120)
    late = program.patch("/api/remat/1", json={"state": "agreed"}, headers={"If-Match": '"0"'})
    assert late.status_code == 412
    again = {"If-Match": said.headers["ETag"]}
    declined = {"state": "declined until", "until": "2027-03-01"}
    assert program.patch("/api/remat/1", json=declined, headers=again).status_code == 200
    items = program.get("/api/remat").json()["items"]
    assert [item["work"]["number"] for item in items] == ["B"]
    resting = program.get("/api/remat", params={"state": "declined until"}).json()["items"]
    assert [(item["work"]["number"], item["until"]) for item in resting] == [("A", "2027-03-01")]


def test_an_owner_reads_and_answers_for_their_own_works_alone(owner: Browser) -> None:
    token = {"X-Form-Token": owner.form_token}
    items = owner.get("/api/remat").json()["items"]
    assert [item["work"]["number"] for item in items] == ["A"]
    agreed = owner.patch(
        "/api/remat/1", json={"state": "agreed"}, headers={"If-Match": '"0"', **token}
    )
    assert (agreed.status_code, agreed.json()["state"]) == (200, "agreed")
    seen = {"If-Match": agreed.headers["ETag"], **token}
    assert owner.patch("/api/remat/1", json={"state": "done"}, headers=seen).status_code == 403
    other = {"If-Match": '"0"', **token}
    assert owner.patch("/api/remat/2", json={"state": "agreed"}, headers=other).status_code == 404
    assert owner.get("/api/remat/2").status_code == 404


def test_a_work_with_nothing_to_gain_has_an_empty_row(program: Browser) -> None:
    row = program.get("/api/remat/3").json()
    assert (row["work"]["number"], row["risk_reduced"], row["reason"]) == ("C", None, "")


def test_a_new_mount_makes_a_remat_done(program: Browser) -> None:
    headers = {"If-Match": '"0"'}
    program.patch("/api/remat/1", json={"state": "agreed"}, headers=headers)
    visit = {
        "on": "2026-11-24",
        "kind": "unframing",
        "seen": ["front", "margins", "verso", "under hinges"],
        "based_on": 1,
        "dismount": {"freed_by": "water"},
        "mount": {
            "method": None,
            "holds": [{"grade": "corner pockets or edge strips", "count": 4}],
            "layers": [
                {"role": "window mat", "grade": "cotton rag board, buffered", "known_by": "seen"},
                {"role": "work"},
                {"role": "mount board", "grade": "cotton rag board, buffered", "known_by": "seen"},
            ],
        },
    }
    recorded = program.post("/api/works/1/visits", json=visit)
    assert recorded.status_code == 201, recorded.text
    assert program.get("/api/remat/1").json()["state"] == "done"
    items = program.get("/api/remat").json()["items"]
    assert [item["work"]["number"] for item in items] == ["B"]
