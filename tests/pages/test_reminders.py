"""The page that says where reminders go."""

import httpx
from fastapi import FastAPI

from tests.pages.page_read import text_of
from tests.with_app import Browser

SECRET = "a secret for tests"
HOOK: dict[str, str | list[str]] = {
    "way": "webhook",
    "address": "https://hooks.example.org/own-path",
    "secret": SECRET,
    "every_days": "7",
}


def answer_with(app: FastAPI, status: int) -> None:
    """Let whoever gets the webhooks of this app answer so."""
    app.state.installation.transport = httpx.MockTransport(lambda _: httpx.Response(status))
    app.state.installation.find_host = lambda host, port: ["93.184.215.14"]


def test_a_keeper_says_where_reminders_go_tries_it_and_ends_it(
    app: FastAPI, keeper: Browser
) -> None:
    assert "No reminders go out" in text_of(keeper.get("/reminders").text)
    assert keeper.send_form("/reminders", dict(HOOK)).status_code == 303
    page = keeper.get("/reminders").text
    assert "hooks.example.org every 7 days" in text_of(page)
    assert "own-path" not in page
    assert SECRET not in page
    answer_with(app, 204)
    assert "The test arrived." in text_of(keeper.send_form("/reminders/1/test", {}).text)
    answer_with(app, 500)
    failed = text_of(keeper.send_form("/reminders/1/test", {}).text)
    assert "The test did not arrive. It was answered with 500." in failed
    assert keeper.send_form("/reminders/1/end", {}).status_code == 303
    assert "No reminders go out" in text_of(keeper.get("/reminders").text)


def test_what_cannot_be_is_said_beside_its_field_and_the_secret_does_not_come_back(
    keeper: Browser,
) -> None:
    wrong: dict[str, str | list[str]] = {**HOOK, "address": "nowhere", "every_days": "90"}
    refused = keeper.send_form("/reminders", wrong)
    assert refused.status_code == 422
    assert 'value="nowhere"' in refused.text
    assert "This is no web address." in text_of(refused.text)
    assert "Every 90 days is no rhythm" in text_of(refused.text)
    assert SECRET not in refused.text


def test_without_a_mail_server_the_page_says_how_to_set_one(keeper: Browser) -> None:
    assert "HINGEBOOK_SMTP_HOST" in keeper.get("/reminders").text
