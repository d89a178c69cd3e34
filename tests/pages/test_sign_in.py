"""How somebody signs in and out, and how long it lasts."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import select

from api.pages.sign_in import page_of_ours
from api.sign_in import hash_password
from models.actions.change_log import recording
from models.actions.sign_in_people import add_sign_in
from models.database import read_session
from models.tables.people import ApiToken, Person, SignIn
from models.vocabulary import Role
from tests.with_app import NOON, Browser, Clock, token_in
from tests.with_database import fresh_url

__all__ = ["fresh_url"]

PASSWORD = "four words of chalk"


@pytest.fixture
def ada(engine: Engine) -> str:
    password_hash = hash_password(PASSWORD)
    with recording(engine, actor="test", now=NOON) as session:
        add_sign_in(session, name="Ada Sill", role=Role.KEEPER, password_hash=password_hash)
    return "Ada Sill"


def sign_in(browser: Browser, name: str, password: str, **more: str) -> tuple[int, str]:
    browser.form_token = token_in(browser.get("/sign-in"))
    data: dict[str, str | list[str]] = {"name": name, "password": password, **more}
    answer = browser.send_form("/sign-in", data)
    return answer.status_code, answer.headers.get("location", answer.text)


def is_signed_in(browser: Browser) -> bool:
    return browser.get("/").headers["location"] == "/works"


def test_name_and_password_open_the_book(stranger: Browser, ada: str) -> None:
    assert not is_signed_in(stranger)
    assert sign_in(stranger, ada, PASSWORD) == (303, "/works")
    assert is_signed_in(stranger)


def test_one_comes_back_to_the_page_one_asked_for(stranger: Browser, ada: str) -> None:
    assert stranger.get("/?q=tern").headers["location"] == "/sign-in?next=%2F%3Fq%3Dtern"
    assert sign_in(stranger, ada, PASSWORD, next="/?q=tern") == (303, "/?q=tern")


@pytest.mark.parametrize(
    "path", ["//evil.example", "https://evil.example", "/\\evil.example", "", "/a\nb", "/" * 600]
)
def test_nobody_is_led_to_another_place_by_signing_in(path: str) -> None:
    assert page_of_ours(path) == "/works"


@pytest.mark.parametrize(("name", "password"), [("Ada Sill", "another word"), ("Nobody", PASSWORD)])
def test_a_wrong_pair_is_told_beside_the_field_and_the_name_is_kept(
    stranger: Browser, ada: str, name: str, password: str
) -> None:
    status, page = sign_in(stranger, name, password)
    assert status == 422
    assert f'value="{name}"' in page
    assert 'aria-describedby="fault-password"' in page
    assert "This name and this password do not go together." in page
    assert password not in page
    assert not is_signed_in(stranger)


def test_wrong_tries_make_the_next_wait_longer_and_lock_nobody_out(
    stranger: Browser, ada: str, clock: Clock
) -> None:
    def tries(password: str) -> int:
        return sign_in(stranger, ada, password)[0]

    assert [tries("wrong") for _ in range(4)] == [422, 422, 422, 429]
    assert tries(PASSWORD) == 429
    clock.move(timedelta(seconds=2))
    assert (tries("wrong"), tries(PASSWORD)) == (422, 429)
    clock.move(timedelta(seconds=4))
    assert tries(PASSWORD) == 303


def test_another_address_does_not_wait(
    app: FastAPI, browse: Callable[..., Browser], stranger: Browser, ada: str
) -> None:
    for _ in range(3):
        sign_in(stranger, ada, "wrong")
    assert sign_in(browse(app, "192.168.1.9"), ada, PASSWORD)[0] == 303


def test_many_names_from_one_address_wait_too(
    stranger: Browser, ada: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.actions.sign_ins.FREE_TRIES_OF_ADDRESS", 3)
    for number in range(3):
        assert sign_in(stranger, f"Name {number}", "wrong")[0] == 422
    assert sign_in(stranger, ada, PASSWORD)[0] == 429


def test_a_sign_in_ends_when_nobody_used_it_for_twelve_hours(
    stranger: Browser, ada: str, clock: Clock
) -> None:
    sign_in(stranger, ada, PASSWORD)
    clock.move(timedelta(hours=11, minutes=59))
    before = is_signed_in(stranger)
    clock.move(timedelta(hours=12))
    assert (before, is_signed_in(stranger)) == (True, False)


def test_a_sign_in_ends_after_fourteen_days_however_much_it_is_used(
    stranger: Browser, ada: str, clock: Clock
) -> None:
    sign_in(stranger, ada, PASSWORD)
    days = []
    for _ in range(30):
        clock.move(timedelta(hours=11, minutes=30))
        days.append(is_signed_in(stranger))
    assert (days[:29], days[29]) == ([True] * 29, False)


def test_signing_out_ends_it_on_the_server_and_clears_the_browser(
    stranger: Browser, ada: str, engine: Engine
) -> None:
    sign_in(stranger, ada, PASSWORD)
    cookie = stranger.cookies["hingebook"]
    stranger.form_token = token_in(stranger.get("/nothing-here"))
    answer = stranger.send_form("/sign-out", {})
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert answer.headers["clear-site-data"] == '"cache"'
    stranger.cookies.set("hingebook", cookie)
    assert not is_signed_in(stranger)
    with read_session(engine) as session:
        assert session.exec(select(SignIn)).all() == []


def test_signing_in_again_makes_a_new_sign_in_and_ends_the_old(
    stranger: Browser, ada: str, engine: Engine
) -> None:
    sign_in(stranger, ada, PASSWORD)
    first = stranger.cookies["hingebook"]
    stranger.form_token = token_in(stranger.get("/nothing-here"))
    stranger.send_form("/sign-in", {"name": ada, "password": PASSWORD})
    assert stranger.cookies["hingebook"] != first
    with read_session(engine) as session:
        assert len(session.exec(select(SignIn)).all()) == 1


def test_whoever_may_no_longer_sign_in_is_out_at_once(
    keeper: Browser, program: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        for person in session.exec(select(Person)):
            person.may_sign_in = False
    assert not is_signed_in(keeper)
    assert program.get("/api/openapi.json").status_code == 401


def test_a_token_that_was_ended_opens_nothing(program: Browser, engine: Engine) -> None:
    before = program.get("/api/openapi.json").status_code
    with recording(engine, actor="test", now=NOON) as session:
        session.exec(select(ApiToken)).one().ended = True
    assert (before, program.get("/api/openapi.json").status_code) == (200, 401)


def test_no_page_shows_the_token_of_its_forms_as_another_did(keeper: Browser) -> None:
    page = keeper.get("/works/new")
    shown = {token_in(page), token_in(keeper.get("/works/new")), keeper.form_token}
    assert len(shown) == 3
    # So that the length of a packed page tells nothing of it.
    assert page.headers["content-encoding"] == "gzip"
    keeper.form_token = token_in(page)
    assert keeper.send_form("/people/new", {"name": "Ines Tympan"}).status_code != 403
    keeper.form_token = "0" * 128
    assert keeper.send_form("/people/new", {"name": "Odo Tympan"}).status_code == 403


def test_the_database_keeps_no_secret_that_opens_anything(
    keeper: Browser, program: Browser, engine: Engine
) -> None:
    secrets = {keeper.cookies["hingebook"], keeper.form_token}
    secrets.add(program.headers["authorization"].removeprefix("Bearer "))
    with read_session(engine) as session:
        kept = str([*map(dict, session.exec(select(SignIn))), *session.exec(select(ApiToken))])
    assert [secret for secret in secrets if secret in kept] == []


def test_a_control_character_in_a_name_signs_nobody_in(stranger: Browser, ada: str) -> None:
    assert sign_in(stranger, "Ada\x00 Sill", PASSWORD)[0] == 422


def test_whose_sign_in_is_over_is_told_so_in_words_for_people(stranger: Browser) -> None:
    page = stranger.send_form("/works/new", {"number": "GH 1"})
    assert (page.status_code, "Bearer" in page.text) == (401, False)
    assert "Your sign-in is over, and nothing was kept." in page.text
    assert "Bearer" in stranger.post("/api/works", json={}).json()["detail"]


def test_a_form_that_is_not_utf_8_is_refused_and_not_guessed_at(keeper: Browser) -> None:
    for name in (b"M\xfchle", b"M%FChle", b"Tern%C3"):
        answer = keeper.post(
            "/people/owners",
            content=b"form_token=" + keeper.form_token.encode() + b"&owner_name=" + name,
            headers={"Content-Type": "application/x-www-form-urlencoded"},
        )
        assert answer.status_code == 400
    assert "hle" not in keeper.get("/people").text
    assert keeper.send_form("/people/owners", {"owner_name": "M\u00fchle"}).status_code == 303
