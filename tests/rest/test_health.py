from models.database import newest_revision
from tests.with_app import Browser


def test_a_stranger_is_told_only_that_the_server_answers(stranger: Browser) -> None:
    answer = stranger.get("/api/health")
    assert (answer.status_code, answer.json()) == (200, {"status": "ok"})


def test_only_keepers_are_told_how_it_stands(framer: Browser, owner: Browser) -> None:
    for somebody in (framer, owner):
        assert somebody.get("/api/health").json() == {"status": "ok"}


def test_a_keeper_is_told_schema_database_and_the_head_of_the_log(program: Browser) -> None:
    told = program.get("/api/health").json()
    assert told["log_head"].split(":")[0] == "2"
    assert told | {"log_head": ""} == {
        "status": "ok",
        "schema_revision": newest_revision(),
        "database": told["database"],
        "log_head": "",
    }
    assert told["database"] in ("sqlite", "postgresql")
