"""One request, one transaction: what is answered is kept, what is refused is not."""

import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import col, select

from models.database import read_session
from models.tables.log import LogEntry, RepeatKey
from models.tables.people import SignIn, TokenUse
from models.vocabulary import Role
from tests.rest.probe import names, router
from tests.with_app import (
    NOON,
    Browser,
    Clock,
    person_who_signs_in,
    sign_in_as,
    with_token,
)


@pytest.fixture
def app(make_app: Callable[..., FastAPI]) -> FastAPI:
    return make_app(more=(router,))


def add(client: httpx.Client, name: str, key: str | None = None) -> httpx.Response:
    headers = {"Idempotency-Key": key} if key else {}
    return client.post("/api/probe/owners", json={"name": name}, headers=headers)


def kept(engine: Engine) -> list[str]:
    with read_session(engine) as session:
        return names(session)


def actors(engine: Engine) -> list[str]:
    with read_session(engine) as session:
        return list(session.exec(select(LogEntry.actor).order_by(col(LogEntry.seq))))


def told(answer: httpx.Response) -> dict[str, Any]:
    body: dict[str, Any] = answer.json()
    return body


def test_what_is_answered_is_kept_and_logged_under_whoever_asked(
    program: Browser, engine: Engine
) -> None:
    answer = add(program, "The Tern House")
    assert (answer.status_code, answer.json()["name"]) == (201, "The Tern House")
    assert kept(engine) == ["The Tern House"]
    assert actors(engine) == ["test", "test", "person:1"]


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("refused-by-answer", 422),
        ("refused-by-error", 409),
        ("broken", 500),
        ("lost-at-commit", 500),
    ],
)
def test_nothing_is_kept_of_what_is_not_answered_as_done(
    program: Browser, engine: Engine, path: str, status: int, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, "hingebook"):
        answer = program.post(f"/api/probe/{path}")
    assert answer.status_code == status
    assert kept(engine) == []
    assert actors(engine) == ["test", "test"]


def test_a_request_sent_again_is_answered_again_and_done_once(
    program: Browser, engine: Engine
) -> None:
    first, again = (add(program, "The Tern House", key="k-1") for _ in range(2))
    assert (again.status_code, again.content) == (first.status_code, first.content)
    assert again.headers["location"] == first.headers["location"]
    assert again.headers["content-type"] == first.headers["content-type"]
    assert "idempotency-replayed" not in first.headers
    assert again.headers["idempotency-replayed"] == "true"
    assert kept(engine) == ["The Tern House"]


def test_two_of_one_key_that_come_at_once_are_done_once(program: Browser, engine: Engine) -> None:
    with ThreadPoolExecutor(4) as threads:
        answers = list(threads.map(lambda _: add(program, "The Tern House", key="k"), range(4)))
    assert {answer.content for answer in answers} == {answers[0].content}
    replayed = [a for a in answers if "idempotency-replayed" in a.headers]
    assert (len(replayed), kept(engine)) == (3, ["The Tern House"])


def test_a_key_is_for_one_request_only(program: Browser, engine: Engine) -> None:
    add(program, "The Tern House", key="k")
    other_body = add(program, "The Gull House", key="k")
    other_path = program.post("/api/probe/refused-by-error", headers={"Idempotency-Key": "k"})
    for answer in (other_body, other_path):
        assert (answer.status_code, told(answer)["code"]) == (422, "key_of_another_request")
    assert kept(engine) == ["The Tern House"]


def test_two_people_may_use_the_same_key(
    program: Browser, app: FastAPI, engine: Engine, browse: Callable[..., Browser]
) -> None:
    other = with_token(browse(app), engine, person_who_signs_in(engine, "Eve Two", Role.KEEPER))
    assert [add(c, f"House {n}", key="k").status_code for n, c in enumerate((program, other))] == [
        201,
        201,
    ]


def test_a_refused_request_may_be_mended_and_sent_with_its_key(
    program: Browser, engine: Engine
) -> None:
    assert add(program, "", key="k").status_code == 422
    assert add(program, "The Tern House", key="k").status_code == 201
    assert kept(engine) == ["The Tern House"]


def test_keys_are_kept_for_seven_days(program: Browser, engine: Engine, clock: Clock) -> None:
    add(program, "The Tern House", key="old")
    clock.move(timedelta(days=7, seconds=1))
    add(program, "The Gull House", key="new")
    with read_session(engine) as session:
        assert session.exec(select(RepeatKey.request_key)).all() == ["new"]


@pytest.mark.parametrize("key", ["x" * 201, "two words"])
def test_a_key_that_cannot_be_one_is_refused(program: Browser, key: str) -> None:
    answer = add(program, "The Tern House", key=key)
    assert (answer.status_code, told(answer)["code"]) == (422, "bad_idempotency_key")


def test_reading_writes_only_after_the_answer_and_every_five_minutes(
    program: Browser, engine: Engine, clock: Clock
) -> None:
    def used() -> list[str]:
        with read_session(engine) as session:
            return [f"{use.last_used_at - NOON}" for use in session.exec(select(TokenUse))]

    program.get("/api/probe/owners")
    at_first = used()
    clock.move(timedelta(minutes=4))
    program.get("/api/probe/owners")
    after_four = used()
    clock.move(timedelta(minutes=1))
    program.get("/api/probe/owners")
    assert (at_first, after_four, used()) == (["0:00:00"], ["0:00:00"], ["0:05:00"])


def test_a_browser_is_noted_as_seen_every_five_minutes(
    keeper: Browser, engine: Engine, clock: Clock
) -> None:
    clock.move(timedelta(minutes=6))
    keeper.get("/api/probe/owners")
    with read_session(engine) as session:
        assert session.exec(select(SignIn.last_seen_at)).all() == [clock.now]


def test_whoever_would_wait_too_long_is_told_when_to_come_back(program: Browser) -> None:
    answer = program.post("/api/probe/busy")
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "1")


def test_today_is_the_day_where_the_installation_is(
    make_app: Callable[..., FastAPI], browse: Callable[..., Browser], clock: Clock
) -> None:
    app = make_app(more=(router,))
    installation = app.state.installation
    installation.settings = installation.settings.model_copy(update={"time_zone": "Asia/Tokyo"})
    clock.move(timedelta(hours=4))
    assert browse(app).get("/api/probe/today").json() == "2026-11-26"


def test_a_cookie_alone_never_writes(app: FastAPI, engine: Engine, keeper: Browser) -> None:
    without = add(keeper, "The Tern House")
    keeper.headers["X-Form-Token"] = keeper.form_token
    assert (without.status_code, told(without)["code"]) == (403, "wrong_form_token")
    assert "Authorization: Bearer TOKEN" in told(without)["detail"]
    assert add(keeper, "The Tern House").status_code == 201


def test_the_form_token_of_another_sign_in_is_refused(
    app: FastAPI, engine: Engine, keeper: Browser, browse: Callable[..., Browser]
) -> None:
    other = sign_in_as(browse(app), engine, person_who_signs_in(engine, "Eve Two", Role.KEEPER))
    keeper.headers["X-Form-Token"] = other.form_token
    assert add(keeper, "The Tern House").status_code == 403


def test_many_at_once_are_all_answered(program: Browser, engine: Engine) -> None:
    with ThreadPoolExecutor(200) as threads:
        asked = [threads.submit(program.get, "/api/probe/owners") for _ in range(200)]
        answers = [one.result().status_code for one in asked]
    assert answers == [200] * 200
