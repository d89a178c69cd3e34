"""Where reminders go, through REST."""

import httpx
from fastapi import FastAPI

from tests.with_app import Browser

HOOK = {
    "way": "webhook",
    "address": "https://hooks.example.org/own-path",
    "secret": "a secret for tests",
}


def test_a_target_is_added_listed_without_its_secrets_tested_and_ended(
    app: FastAPI, program: Browser
) -> None:
    made = program.post("/api/reminders", json=HOOK)
    assert (made.status_code, made.json()) == (201, {"id": 1})
    assert program.get("/api/reminders").json() == {
        "items": [
            {
                "id": 1,
                "way": "webhook",
                "where": "hooks.example.org",
                "every_days": 7,
                "last_on": None,
                "arrived": None,
                "fault": "",
            }
        ]
    }
    app.state.installation.transport = httpx.MockTransport(lambda _: httpx.Response(204))
    app.state.installation.find_host = lambda host, port: ["93.184.215.14"]
    assert program.post("/api/reminders/1/test").json() == {"arrived": True, "fault": ""}
    app.state.installation.find_host = lambda host, port: ["10.0.0.1"]
    refused = program.post("/api/reminders/1/test").json()
    assert refused["arrived"] is False
    assert "private network" in refused["fault"]
    assert program.post("/api/reminders/1/end").json() == {"id": 1}
    assert program.get("/api/reminders").json() == {"items": []}
    assert program.post("/api/reminders/1/test").status_code == 404


def test_a_refused_target_is_told_field_by_field(program: Browser) -> None:
    refused = program.post("/api/reminders", json={"way": "e-mail", "address": "nobody"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/address"


def test_a_framer_does_not_see_where_reminders_go(framer: Browser) -> None:
    assert framer.get("/api/reminders").status_code == 404
