"""What a program may send, and how it is told what is wrong."""

import json
import logging
from collections.abc import Callable
from typing import Any

import pytest
from fastapi import FastAPI

from tests.rest.probe import LARGE_BYTES, router
from tests.with_app import Browser, on_sqlite_only

__all__ = ["on_sqlite_only"]


@pytest.fixture
def app(make_app: Callable[..., FastAPI]) -> FastAPI:
    return make_app(more=(router,))


def send(program: Browser, body: str | bytes) -> tuple[int, dict[str, Any]]:
    answer = program.post(
        "/api/probe/owners", content=body, headers={"Content-Type": "application/json"}
    )
    assert answer.headers["content-type"] == "application/problem+json"
    return answer.status_code, answer.json()


def test_problem_details_say_where_and_what_would_be_right(program: Browser) -> None:
    layers = [{"role": "window mat", "figure": "x"}, {"figure": 1e12}]
    assert send(program, json.dumps({"name": "", "layers": layers, "colour/shade": 1})) == (
        422,
        {
            "type": "about:blank",
            "title": "Unprocessable Content",
            "status": 422,
            "detail": "5 values cannot be right.",
            "code": "bad_value",
            "errors": [
                {
                    "pointer": "/name",
                    "message": "This text is too short.",
                    "right": "Give 1 or more characters.",
                },
                {
                    "pointer": "/layers/0/figure",
                    "message": "This is no number.",
                    "right": "Send a number.",
                },
                {"pointer": "/layers/1/role", "message": "This is missing.", "right": "Give it."},
                {
                    "pointer": "/layers/1/figure",
                    "message": "This is too large.",
                    "right": "Send at most 1000000000.0.",
                },
                {
                    "pointer": "/colour~1shade",
                    "message": "There is no field of this name here.",
                    "right": "Leave it out.",
                },
            ],
        },
    )


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ('{"name": "a", "layers": [{"role": "r", "figure": NaN}]}', "/layers/0/figure"),
        ('{"name": "a", "layers": [{"role": "r", "figure": 1e999}]}', "/layers/0/figure"),
        ('{"name": "half \\ud800"}', "/name"),
        ('{"name": "nul \\u0000"}', "/name"),
        ('{"name": "bell \\u0007"}', "/name"),
        ('{"name": "a", "half \\ud800": 1}', ""),
        ('{"name": "a", "of": 0}', "/of"),
        ('{"name": "a", "of": 9007199254740992}', "/of"),
        ('{"name": "a", "of": true}', "/of"),
        ('{"name": "a", "of": "7"}', "/of"),
        ('{"name": "' + "x" * 501 + '"}', "/name"),
        ('{"name": "a", "layers": [1, 2, 3, 4]}', "/layers"),
        ("[]", ""),
        ("not JSON", ""),
    ],
)
def test_what_cannot_stand_in_a_record_is_refused_by_place(
    program: Browser, body: str, pointer: str
) -> None:
    status, problem = send(program, body)
    assert (status, [fault["pointer"] for fault in problem["errors"]][:1]) == (422, [pointer])


@pytest.mark.parametrize("body", [b'{"name": "\xff"}', b'{"of": ' + b"9" * 5000 + b"}"])
def test_what_cannot_be_read_is_refused(program: Browser, body: bytes) -> None:
    status, problem = send(program, body)
    assert (status, problem["detail"]) == (400, "This cannot be read.")


def test_what_was_sent_is_never_sent_back(program: Browser) -> None:
    _, problem = send(program, '{"name": ["a very private thing"], "of": "another"}')
    assert "private" not in json.dumps(problem)
    assert "another" not in json.dumps(problem)


def test_texts_are_kept_composed_and_with_plain_line_ends(program: Browser) -> None:
    answer = program.post("/api/probe/owners", json={"name": "Cafe\u0301\r\nTern"})
    assert answer.json()["name"] == "Caf\u00e9\nTern"


def test_an_unknown_word_comes_back_with_near_ones(program: Browser) -> None:
    problem = program.post("/api/probe/unknown-word").json()
    assert (problem["code"], problem["near"], problem["errors"][0]) == (
        "unknown_material",
        ["Cotton rag"],
        {
            "pointer": "/mount/layers/0/material",
            "message": "There is no material called 'Cotten'.",
            "right": "Perhaps Cotton rag.",
        },
    )


def test_a_fall_inside_is_told_without_its_cause(
    program: Browser, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, "hingebook"):
        answer = program.post("/api/probe/broken")
    assert (answer.status_code, answer.json()["code"]) == (500, "broken")
    assert "secret" not in answer.text


def test_lists_come_in_pages_and_every_row_once(program: Browser) -> None:
    for number in range(5):
        program.post("/api/probe/owners", json={"name": f"House {number}"})
    seen, cursor = [], None
    for _ in range(3):
        params = {"limit": "2"} | ({"cursor": cursor} if cursor else {})
        page = program.get("/api/probe/owners", params=params).json()
        seen.append([item["name"] for item in page["items"]])
        cursor = page["next"]
    assert (seen, cursor) == ([["House 0", "House 1"], ["House 2", "House 3"], ["House 4"]], None)


@pytest.mark.parametrize(
    "query",
    ["limit=0", "limit=201", "limit=x", "cursor=%00", "q=%00", "cursor=e30"],
)
def test_what_cannot_be_asked_of_a_list_is_refused(program: Browser, query: str) -> None:
    answer = program.get(f"/api/probe/owners?{query}")
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")


def test_whoever_changes_a_record_says_which_state_they_saw(program: Browser) -> None:
    made = program.post("/api/probe/owners", json={"name": "The Tern House"}).json()

    def change(name: str, **headers: str) -> tuple[int, str | None, str | None]:
        path = f"/api/probe/owners/{made['id']}"
        answer = program.patch(path, json={"name": name}, headers=headers)
        return answer.status_code, answer.headers.get("etag"), answer.json().get("code")

    assert change("A") == (428, None, "no_version_seen")
    assert change("A", **{"If-Match": "3"}) == (400, None, "bad_version_seen")
    assert change("A", **{"If-Match": 'W/"1"'}) == (400, None, "bad_version_seen")
    assert change("A", **{"If-Match": '"1"'}) == (200, '"2"', None)
    assert change("B", **{"If-Match": '"1"'}) == (412, None, "stale")


@pytest.mark.parametrize("number", ["0", "99999999999999999999", "x", "-1"])
def test_a_number_that_no_record_has_is_not_found(program: Browser, number: str) -> None:
    answer = program.patch(
        f"/api/probe/owners/{number}", json={"name": "A"}, headers={"If-Match": '"1"'}
    )
    assert (answer.status_code, answer.json()["code"]) == (404, "not_found")


def test_more_than_a_mebibyte_is_refused_before_it_is_read(program: Browser) -> None:
    told_length = program.post("/api/probe/small", content=b"x" * ((1 << 20) + 1))
    blocks = (b"x" * (1 << 16) for _ in range(17))
    not_told = program.post("/api/probe/small", content=blocks)
    for answer in (told_length, not_told):
        assert (answer.status_code, answer.json()["code"]) == (413, "too_large")


def test_a_route_for_files_may_take_more_up_to_its_own_limit(program: Browser) -> None:
    sizes = (LARGE_BYTES, LARGE_BYTES + 1)
    answers = [program.post("/api/probe/large", content=b"x" * size) for size in sizes]
    assert [answer.status_code for answer in answers] == [200, 413]


def test_the_description_of_the_api_is_for_whoever_is_signed_in(
    program: Browser, stranger: Browser
) -> None:
    described = program.get("/api/openapi.json").json()
    assert stranger.get("/api/openapi.json").status_code == 401
    assert "HTTPValidationError" not in described["components"]["schemas"]
    answers = described["paths"]["/api/probe/owners"]["post"]["responses"]
    assert "application/problem+json" in answers["4XX"]["content"]
