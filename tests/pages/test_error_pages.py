"""What a person reads when something cannot be done: what happened, and what next."""

import logging
import re
from collections.abc import Callable

import pytest
from fastapi import APIRouter, FastAPI
from fastapi.responses import Response

from api.dependencies import open_to_all
from api.routes import Route
from models.errors import Busy
from tests.with_app import Browser, on_sqlite_only

__all__ = ["on_sqlite_only"]

router = APIRouter(prefix="/probe-page", route_class=Route)


@router.get("/broken", dependencies=[open_to_all])
def broken() -> Response:
    raise RuntimeError("a secret of the inside")


@router.get("/busy", dependencies=[open_to_all])
def busy() -> Response:
    raise Busy("The database was busy.")


@pytest.fixture
def app(make_app: Callable[..., FastAPI]) -> FastAPI:
    return make_app(more=(router,))


def test_a_fault_has_a_number_that_stands_in_the_log_and_tells_nothing_of_the_inside(
    keeper: Browser, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.ERROR, "hingebook"):
        answer = keeper.get("/probe-page/broken")
    found = re.search(r"Number of this fault: <strong>([2-9A-Z]{4}-[2-9A-Z]{4})<", answer.text)
    assert found is not None
    assert [record.getMessage() for record in caplog.records if record.name == "hingebook"] == [
        f"{found.group(1)}: GET /probe-page/broken"
    ]
    assert (answer.status_code, "secret" in answer.text, "RuntimeError" in answer.text) == (
        500,
        False,
        False,
    )


def test_a_piece_of_a_page_that_broke_takes_the_place_of_the_whole(
    keeper: Browser, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, "hingebook"):
        asked = keeper.get("/probe-page/broken", headers={"HX-Request": "true"})
    assert (asked.status_code, asked.headers["hx-retarget"]) == (500, "body")


def test_a_busy_moment_says_when_to_come_back(keeper: Browser) -> None:
    answer = keeper.get("/probe-page/busy")
    assert (answer.status_code, answer.headers["retry-after"]) == (503, "1")
    assert "Try again in a moment" in answer.text
    assert "Nothing was lost" in answer.text


@pytest.mark.parametrize("path", ["/nothing-here", "/works/999", "/visits/999", "/places/999"])
def test_what_is_not_there_is_a_page_with_a_way_on(keeper: Browser, path: str) -> None:
    answer = keeper.get(path)
    assert (answer.status_code, "<h1>There is nothing here</h1>" in answer.text) == (404, True)
    assert 'role="search"' in answer.text


def test_what_a_role_may_not_do_says_who_can(framer: Browser) -> None:
    answer = framer.send_form("/policy", {})
    assert (answer.status_code, "A keeper can do this" in answer.text) == (403, True)


def test_a_form_that_is_too_long_is_refused_in_words(keeper: Browser) -> None:
    answer = keeper.send_form("/works/new", {"note": "x" * 1_100_000})
    assert (answer.status_code, "Too large" in answer.text) == (413, True)
    assert "larger than the 1 MB taken here" in answer.text
    assert "choose a smaller file" in answer.text


def test_a_form_of_an_earlier_sign_in_leads_back_to_what_was_typed(keeper: Browser) -> None:
    answer = keeper.post("/works/new", data={"form_token": "old", "number": "A 1"})
    assert (answer.status_code, "This form is from before" in answer.text) == (403, True)
    assert ("A keeper can do this" in answer.text, "data-back" in answer.text) == (False, True)
    assert "data-back" not in keeper.get("/nothing-here").text
