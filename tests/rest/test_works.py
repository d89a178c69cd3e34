"""The register through REST: shapes, pages, versions, repeats, and who sees what."""

from typing import Any

import httpx
import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording
from models.database import read_session
from models.tables.works import Work
from tests.builders import a_place, a_technique, a_work, an_owner_row, key_of
from tests.with_app import NOON, OWNER, Browser

WHOLE = {
    "number": "GH 1994.12",
    "title": "Église au soir",
    "maker": "Ø. Nobody",
    "made": "1890~",
    "technique": "etching",
    "support": "laid paper",
    "surface": None,
    "height_mm": 212.5,
    "width_mm": 148.0,
    "image": {"left_mm": 20.0, "top_mm": 18.5, "height_mm": 160.125, "width_mm": 110.0},
    "replaceability": "small edition",
    "value_band": "high",
    "light_class": 4,
    "owner": OWNER,
    "place": "Gannet House / Stair",
    "note": "stamped on the verso",
}


@pytest.fixture(autouse=True)
def _known(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_technique(session, "etching")
        an_owner_row(session, OWNER)
        a_place(session, "Gannet House / Stair")


def put(engine: Engine, **work: Any) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_work(session, **work))


def added(client: httpx.Client, told: dict[str, Any], **headers: str) -> httpx.Response:
    return client.post("/api/works", json=told, headers=headers)


def numbers(answer: httpx.Response) -> list[str]:
    return [work["number"] for work in answer.json()["items"]]


def test_a_work_comes_back_exactly_as_it_was_sent(program: Browser) -> None:
    answer = added(program, WHOLE)
    assert answer.status_code == 201
    read = program.get(answer.headers["location"])
    assert read.json() == answer.json()
    assert read.headers["etag"] == answer.headers["etag"] == '"1"'
    made = {"id": 1, "version": 1, "code": read.json()["code"], "recorded_on": "2026-11-25"}
    assert read.json() == WHOLE | made


def test_number_and_title_are_enough(program: Browser) -> None:
    told = added(program, {"number": "GH 7", "title": "Untitled"}).json()
    unsaid = {name: told[name] for name in ("maker", "made", "height_mm", "image", "place")}
    assert unsaid == {"maker": "", "made": None, "height_mm": None, "image": None, "place": None}


def test_a_repeat_with_the_same_key_is_the_same_work(program: Browser, engine: Engine) -> None:
    first = added(program, WHOLE, **{"Idempotency-Key": "once"})
    again = added(program, WHOLE, **{"Idempotency-Key": "once"})
    assert again.json() == first.json()
    assert again.headers["idempotency-replayed"] == "true"
    with read_session(engine) as session:
        assert len(session.exec(select(Work)).all()) == 1


def test_all_faults_are_told_at_once_with_pointers(program: Browser) -> None:
    wrong = {"number": "1", "title": "x", "technique": "etchin", "height_mm": 0.00001}
    answer = added(program, wrong | {"made": "last summer"})
    assert (answer.status_code, answer.headers["content-type"]) == (
        422,
        "application/problem+json",
    )
    assert [error["pointer"] for error in answer.json()["errors"]] == [
        "/made",
        "/technique",
        "/height_mm",
    ]


def test_an_unknown_name_is_refused_by_its_code_with_what_is_near(program: Browser) -> None:
    answer = added(program, WHOLE | {"technique": "etchin"})
    assert (answer.status_code, answer.json()["code"]) == (422, "unknown_technique")
    assert answer.json()["near"] == ["etching"]


def test_an_unknown_field_is_refused(program: Browser) -> None:
    assert added(program, WHOLE | {"price": 4}).status_code == 422


def test_a_number_is_given_once(program: Browser) -> None:
    added(program, WHOLE)
    answer = added(program, WHOLE)
    assert (answer.status_code, answer.json()["code"]) == (409, "number_taken")


def test_a_change_is_a_merge_patch_of_the_version_that_was_seen(program: Browser) -> None:
    work = added(program, WHOLE).headers["location"]
    patch = {"title": "Le soir", "maker": None, "image": {"top_mm": 20}}
    changed = program.patch(work, json=patch, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed.headers["etag"]) == (200, '"2"')
    assert (changed.json()["title"], changed.json()["maker"]) == ("Le soir", "")
    assert changed.json()["image"] == WHOLE["image"] | {"top_mm": 20.0}  # type: ignore[operator]
    assert changed.json()["owner"] == OWNER


@pytest.mark.parametrize(
    ("seen", "status"), [(None, 428), ("2", 400), ('W/"1"', 400), ('"7"', 412)]
)
def test_a_change_without_the_right_version_is_refused(
    program: Browser, seen: str | None, status: int
) -> None:
    work = added(program, WHOLE)
    headers = {"If-Match": seen} if seen else {}
    answer = program.patch(work.headers["location"], json={"title": "x"}, headers=headers)
    assert answer.status_code == status
    if status == 412:
        assert answer.json()["theirs"] == work.json()


def test_a_place_is_not_changed_but_moved_to(program: Browser) -> None:
    work = added(program, WHOLE).headers["location"]
    answer = program.patch(work, json={"place": None}, headers={"If-Match": '"1"'})
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/place"]


def test_a_withdrawn_work_is_not_there_and_its_number_stays_taken(program: Browser) -> None:
    work = added(program, WHOLE).headers["location"]
    assert program.post(f"{work}/withdraw", json={}).status_code == 422
    assert program.post(f"{work}/withdraw", json={"reason": "entered twice"}).status_code == 204
    assert program.get(work).status_code == 404
    assert added(program, WHOLE).json()["code"] == "number_taken"


def test_works_are_listed_page_by_page_and_found_by_word_and_number(
    program: Browser, engine: Engine
) -> None:
    for number, title in (("C", "Windmill"), ("A", "Église"), ("B", "Weir")):
        put(engine, number=number, title=title)
    first = program.get("/api/works", params={"limit": 2})
    rest = program.get("/api/works", params={"limit": 2, "cursor": first.json()["next"]})
    assert (numbers(first), numbers(rest), rest.json()["next"]) == (["A", "B"], ["C"], None)
    assert numbers(program.get("/api/works", params={"q": "EGLISE"})) == ["A"]
    assert numbers(program.get("/api/works", params={"number": "B"})) == ["B"]
    near = program.get("/api/works", params={"q": "windnill"}).json()
    assert near == {"items": [], "next": None, "near": ["windmill"]}


def test_a_cursor_of_another_list_is_refused(program: Browser, engine: Engine) -> None:
    for _ in range(2):
        put(engine)
    program.post("/api/owners", json={"name": "The Tern House"})
    owners = program.get("/api/owners", params={"limit": 1}).json()["next"]
    answer = program.get("/api/works", params={"cursor": owners})
    assert (answer.status_code, answer.json()["code"]) == (422, "bad_cursor")


def test_an_owner_reads_their_own_works_and_no_others(owner: Browser, engine: Engine) -> None:
    own = put(engine, number="A", owner=OWNER)
    other = put(engine, number="B", owner="The Tern House", place="Tern House")
    assert numbers(owner.get("/api/works")) == ["A"]
    assert numbers(owner.get("/api/works", params={"number": "B"})) == []
    assert owner.get(f"/api/works/{own}").status_code == 200
    assert owner.get(f"/api/works/{other}").status_code == 404
    assert owner.get(f"/api/works/{other}/moves").status_code == 404
    token = {"X-Form-Token": owner.form_token}
    for number in ("B", "Z"):
        answer = owner.post("/api/works", json={"number": number, "title": "x"}, headers=token)
        assert (answer.status_code, answer.json()["code"]) == (403, "not_allowed")


def test_a_stranger_is_told_to_sign_in(stranger: Browser) -> None:
    assert stranger.get("/api/works").status_code == 401


def test_a_patch_may_come_as_merge_patch_and_an_empty_one_changes_nothing(
    program: Browser,
) -> None:
    work = added(program, WHOLE).headers["location"]
    headers = {"If-Match": '"1"', "Content-Type": "application/merge-patch+json"}
    changed = program.patch(work, content="{}", headers=headers)
    assert (changed.status_code, changed.headers["etag"]) == (200, '"1"')


def test_a_withdrawal_may_be_sent_again(program: Browser) -> None:
    work = added(program, WHOLE).headers["location"]
    why, key = {"reason": "entered twice"}, {"Idempotency-Key": "out"}
    first = program.post(f"{work}/withdraw", json=why, headers=key)
    again = program.post(f"{work}/withdraw", json=why, headers=key)
    assert (first.status_code, again.status_code) == (204, 204)
    assert again.headers["idempotency-replayed"] == "true"
    assert program.post(f"{work}/withdraw", json=why).status_code == 404
