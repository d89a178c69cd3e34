"""The link on which the first keeper is made."""

from datetime import timedelta

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.sign_in_people import make_first_keeper_link
from models.database import read_session, write_session
from models.tables.people import FirstKeeperLink, Person
from models.vocabulary import Role
from tests.with_app import NOON, Browser, Clock, token_in


@pytest.fixture
def link(engine: Engine) -> str:
    with write_session(engine) as session:
        return f"/first-keeper/{make_first_keeper_link(session, NOON)}"


def send(browser: Browser, link: str, name: str, password: str) -> tuple[int, str]:
    browser.form_token = token_in(browser.get(link))
    answer = browser.send_form(link, {"name": name, "password": password})
    return answer.status_code, answer.headers.get("location", answer.text)


def test_the_first_keeper_is_made_once_and_is_signed_in(
    stranger: Browser, link: str, engine: Engine
) -> None:
    assert send(stranger, link, "Ada Sill", "four words of chalk") == (303, "/works")
    assert stranger.get("/").headers["location"] == "/works"
    assert stranger.get(link).status_code == 404
    with read_session(engine) as session:
        people = [(p.name, p.role, p.may_sign_in) for p in session.exec(select(Person))]
    assert people == [("Ada Sill", Role.KEEPER, True)]


def test_the_sign_in_of_a_new_book_says_where_to_begin(stranger: Browser, link: str) -> None:
    assert "address that Hingebook printed" in stranger.get("/sign-in").text
    send(stranger, link, "Ada Sill", "four words of chalk")
    stranger.cookies.clear()
    assert "address that Hingebook printed" not in stranger.get("/sign-in").text


def test_a_short_password_is_told_beside_the_field_and_the_link_lives_on(
    stranger: Browser, link: str
) -> None:
    status, page = send(stranger, link, "Ada Sill", "chalk")
    assert (status, 'value="Ada Sill"' in page, "chalk" in page) == (422, True, False)
    assert "The password has 5 characters." in page
    assert stranger.get(link).status_code == 200


def test_the_link_is_dead_after_an_hour(stranger: Browser, link: str, clock: Clock) -> None:
    clock.move(timedelta(hours=1))
    assert stranger.get(link).status_code == 404


def test_the_link_is_dead_once_anybody_can_sign_in(
    stranger: Browser, link: str, keeper: Browser
) -> None:
    assert stranger.get(link).status_code == 404


def test_a_new_link_ends_the_old_and_only_a_digest_is_kept(
    stranger: Browser, link: str, engine: Engine
) -> None:
    with write_session(engine) as session:
        make_first_keeper_link(session, NOON)
    assert stranger.get(link).status_code == 404
    with read_session(engine) as session:
        kept = [row.link_sha256 for row in session.exec(select(FirstKeeperLink))]
    assert (len(kept), link.rpartition("/")[2] in kept) == (1, False)
