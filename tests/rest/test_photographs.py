"""Photographs through REST: sent whole, or in parts over a network that breaks."""

import hashlib
import os
from datetime import timedelta

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine

from api.photograph_files import MOST_FILE_BYTES
from api.photograph_uploads import WAITS_DAYS
from api.settings import Settings
from models.actions.change_log import recording
from tests.builders import a_visit, a_work, key_of
from tests.exchange.pictures import CORNERS, as_file, corners, four_colours
from tests.with_app import NOON, OWNER, Browser

PICTURE = as_file(four_colours())


@pytest.fixture
def work(engine: Engine) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_work(session, number="GH 1", owner=OWNER))


def sent(program: Browser, work: int, content: bytes = PICTURE, **told: str) -> httpx.Response:
    files = {"file": ("front.jpg", content, "image/jpeg")}
    return program.post(f"/api/works/{work}/photographs", files=files, data=told)


def begun(program: Browser, work: int, content: bytes = PICTURE, **told: object) -> str:
    about = {"work": work, "file_name": "front.jpg", "byte_count": len(content), **told}
    answer = program.post("/api/photograph-uploads", json=about)
    assert answer.status_code == 201, answer.text
    key: str = answer.json()["key"]
    return key


def add(program: Browser, key: str, offset: int, content: bytes) -> httpx.Response:
    path = f"/api/photograph-uploads/{key}/parts?offset={offset}"
    return program.post(path, content=content)


def finish(program: Browser, key: str) -> httpx.Response:
    return program.post(f"/api/photograph-uploads/{key}/finish")


def test_a_photograph_is_kept_byte_for_byte(
    program: Browser, work: int, settings: Settings
) -> None:
    answer = sent(program, work, view="verso", stage="back off", taken_on="2026-11-20", note="x")
    told = answer.json()
    digest = hashlib.sha256(PICTURE).hexdigest()
    assert answer.status_code == 201, told
    assert {name: told[name] for name in ("view", "stage", "taken_on", "sha256", "by")} == {
        "view": "verso",
        "stage": "back off",
        "taken_on": "2026-11-20",
        "sha256": digest,
        "by": "Dot Token",
    }
    assert (told["width_px"], told["height_px"], told["byte_count"]) == (96, 64, len(PICTURE))
    kept = settings.data / "photographs" / "originals" / digest
    assert kept.read_bytes() == PICTURE
    original = program.get(told["original"])
    assert (original.content, original.headers["content-type"]) == (PICTURE, "image/jpeg")
    shown = program.get(told["pictures"]["960"])
    assert (shown.headers["cache-control"], corners(shown.content)) == ("no-store", list(CORNERS))
    assert program.get(answer.headers["location"]).json() == told
    assert program.get(f"/api/works/{work}/photographs").json()["items"] == [told]


def test_what_is_no_photograph_is_refused_beside_the_file(program: Browser, work: int) -> None:
    refused = sent(program, work, b"%PDF-1.7 a letter")
    assert refused.status_code == 422
    assert refused.json()["errors"] == [
        {
            "pointer": "/file",
            "message": "This is not a photograph.",
            "right": "Send JPEG, PNG, TIFF, WebP or HEIC.",
        }
    ]
    empty = sent(program, work, b"")
    assert empty.json()["errors"][0]["message"] == "No photograph was sent, or an empty file."


def test_more_than_a_hundred_megabytes_are_refused(program: Browser, work: int) -> None:
    about = {"work": work, "byte_count": MOST_FILE_BYTES + 1}
    answer = program.post("/api/photograph-uploads", json=about)
    assert answer.status_code == 422
    assert answer.json()["errors"] == [
        {
            "pointer": "/byte_count",
            "message": "This photograph has 101 MB.",
            "right": "Up to 100 MB are taken: save it smaller, as JPEG for example.",
        }
    ]
    headers = {"Content-Length": str(MOST_FILE_BYTES + (2 << 20)), "Content-Type": "x/y"}
    path = f"/api/works/{work}/photographs"
    assert program.post(path, headers=headers, content=b"x").status_code == 413


def test_a_photograph_arrives_in_parts(program: Browser, work: int, settings: Settings) -> None:
    key = begun(program, work, view="raking light", draft_key="draft-1")
    assert add(program, key, 0, PICTURE[:700]).json()["received_bytes"] == 700
    early = finish(program, key)
    assert (early.status_code, early.json()["received_bytes"]) == (409, 700)
    assert add(program, key, 700, PICTURE[700:]).json()["received_bytes"] == len(PICTURE)
    done = finish(program, key)
    assert done.status_code == 201, done.text
    told = done.json()
    assert (told["sha256"], told["view"], told["draft_key"], told["file_name"]) == (
        hashlib.sha256(PICTURE).hexdigest(),
        "raking light",
        "draft-1",
        "front.jpg",
    )
    assert list((settings.data / "photographs" / "coming").iterdir()) == []


def test_a_wrong_offset_is_told_where_to_go_on(program: Browser, work: int) -> None:
    key = begun(program, work)
    add(program, key, 0, PICTURE[:700])
    for offset in (0, 699, 701):
        wrong = add(program, key, offset, PICTURE[offset : offset + 10])
        told = wrong.json()
        assert (wrong.status_code, told["code"], told["received_bytes"]) == (409, "not_there", 700)
    state = program.get(f"/api/photograph-uploads/{key}").json()
    assert (state["received_bytes"], state["byte_count"]) == (700, len(PICTURE))


def test_no_more_is_taken_than_was_announced(program: Browser, work: int) -> None:
    key = begun(program, work)
    assert add(program, key, 0, PICTURE + b"x").status_code == 422
    assert add(program, key, 0, b"").status_code == 422
    assert add(program, key, 0, bytes(5 << 20)).status_code == 413
    assert program.get(f"/api/photograph-uploads/{key}").json()["received_bytes"] == 0


def test_a_photograph_whose_answer_was_lost_is_finished_again_and_is_the_same(
    program: Browser, work: int
) -> None:
    key = begun(program, work)
    add(program, key, 0, PICTURE)
    once, again = finish(program, key), finish(program, key)
    assert (once.status_code, again.status_code, again.json()) == (201, 201, once.json())
    state = program.get(f"/api/photograph-uploads/{key}").json()
    assert (state["photograph"], state["received_bytes"]) == (once.json()["id"], len(PICTURE))


def test_what_nobody_goes_on_with_is_cleared_away_after_a_week(
    program: Browser, work: int, settings: Settings
) -> None:
    old, young = begun(program, work), begun(program, work)
    folder = settings.data / "photographs" / "coming"
    for key, days in ((old, WAITS_DAYS + 1), (young, WAITS_DAYS - 1)):
        then = (folder / key).stat().st_mtime - timedelta(days=days).total_seconds()
        os.utime(folder / key, (then, then))
    new = begun(program, work)
    assert {one.name for one in folder.iterdir()} == {young, new}
    assert program.get(f"/api/photograph-uploads/{old}").status_code == 404


def test_what_is_put_right_needs_the_version_that_was_seen(program: Browser, work: int) -> None:
    told = sent(program, work).json()
    path = f"/api/photographs/{told['id']}"
    assert program.patch(path, json={"view": "verso"}).status_code == 428
    right = program.patch(path, json={"view": "verso"}, headers={"If-Match": '"1"'})
    assert (right.status_code, right.json()["view"], right.headers["etag"]) == (200, "verso", '"2"')
    stale = program.patch(path, json={"note": "x"}, headers={"If-Match": '"1"'})
    assert (stale.status_code, stale.json()["theirs"]) == (412, right.json())


def test_a_photograph_is_taken_off_the_record_with_a_reason_and_its_file_stays(
    program: Browser, work: int, settings: Settings
) -> None:
    told = sent(program, work).json()
    path = f"/api/photographs/{told['id']}"
    assert program.post(f"{path}/withdraw", json={"reason": "blurred"}).status_code == 204
    assert program.get(path).status_code == 404
    assert program.get(told["pictures"]["320"]).status_code == 404
    assert program.get(told["original"]).status_code == 404
    assert (settings.data / "photographs" / "originals" / told["sha256"]).exists()


def test_a_visit_of_another_work_is_refused(program: Browser, work: int, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        own = key_of(a_visit(session, a_work(session, number="GH 2")))
    refused = sent(program, work, visit=str(own))
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/visit")


def test_an_owner_sees_neither_photographs_nor_pictures_of_others(
    app: FastAPI, engine: Engine, program: Browser, owner: Browser, work: int
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        other = key_of(a_work(session, number="GH 2", owner="Somebody else"))
    own, theirs = sent(program, work).json(), sent(program, other).json()
    for told, status in ((own, 200), (theirs, 404)):
        paths = [f"/api/photographs/{told['id']}", f"/photographs/{told['id']}"]
        paths += [f"/api/works/{told['work']}/photographs", f"/works/{told['work']}/photographs"]
        paths += [told["original"], *told["pictures"].values()]
        assert [owner.get(path).status_code for path in paths] == [status] * len(paths)
    headers = {"X-Form-Token": owner.form_token}
    files = {"file": ("front.jpg", PICTURE, "image/jpeg")}
    path = f"/api/works/{work}/photographs"
    assert owner.post(path, files=files, headers=headers).status_code == 403


def test_an_upload_is_gone_on_with_by_whoever_began_it_alone(
    app: FastAPI, engine: Engine, program: Browser, framer: Browser, work: int
) -> None:
    key = begun(program, work)
    headers = {"X-Form-Token": framer.form_token}
    path = f"/api/photograph-uploads/{key}"
    assert framer.get(path).status_code == 404
    there = framer.post(f"{path}/parts?offset=0", content=PICTURE, headers=headers)
    assert there.status_code == 404
    assert framer.post(f"{path}/finish", headers=headers).status_code == 404
