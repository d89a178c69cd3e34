"""What is refused before any route, and what goes with every answer."""

import logging
from collections.abc import Callable

import pytest
from fastapi import APIRouter, FastAPI

from api.routes import Route
from api.settings import Settings
from tests.rest.probe import router
from tests.with_app import ADDRESS, Browser, on_sqlite_only

__all__ = ["on_sqlite_only"]

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self';"
    " connect-src 'self'; form-action 'self'; manifest-src 'self'; img-src 'self' blob: data:;"
    " frame-ancestors 'none'; base-uri 'none'"
)


@pytest.fixture
def app(make_app: Callable[..., FastAPI]) -> FastAPI:
    return make_app(more=(router,))


ANSWERS = [
    ("GET", "/sign-in", 200),
    ("GET", "/", 303),
    ("GET", "/nothing-here", 404),
    ("GET", "/api/nothing-here", 404),
    ("GET", "/api/health", 200),
    ("PUT", "/sign-in", 405),
    ("POST", "/api/probe/owners", 401),
    ("GET", "/static/hingebook.css", 200),
    ("GET", "/static/nothing.css", 404),
]


@pytest.mark.parametrize(("method", "path", "status"), ANSWERS)
def test_head_is_answered_as_get_is_without_the_page(
    stranger: Browser, method: str, path: str, status: int
) -> None:
    if method == "GET":
        head = stranger.head(path)
        sent = (head.status_code, head.content, head.headers.get("content-type"))
        assert sent == (status, b"", stranger.get(path).headers.get("content-type"))


@pytest.mark.parametrize(("method", "path", "status"), ANSWERS)
def test_every_answer_carries_the_policy(
    stranger: Browser, method: str, path: str, status: int
) -> None:
    answer = stranger.request(method, path)
    kept = "public, no-cache" if (status, path[:7]) == (200, "/static") else "no-store"
    assert answer.status_code == status
    assert {name: answer.headers[name] for name in EXPECTED} == EXPECTED | {"cache-control": kept}


EXPECTED = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "",
}


def test_even_a_fall_inside_carries_the_policy(
    program: Browser, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.CRITICAL, "hingebook"):
        answer = program.post("/api/probe/broken")
    assert (answer.status_code, answer.headers["content-security-policy"]) == (500, POLICY)


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "", "[", "a b"])
def test_a_request_to_another_name_is_refused(stranger: Browser, host: str) -> None:
    answer = stranger.get("/api/health", headers={"Host": host})
    assert (answer.status_code, "status" in answer.text) == (421, False)


@pytest.mark.parametrize("host", ["localhost", "localhost:9", "127.0.0.1:8000", "[::1]:8000"])
def test_this_machine_may_be_called_by_its_names(stranger: Browser, host: str) -> None:
    assert stranger.get("/api/health", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://evil.example"},
        {"Origin": "http://localhost:9000"},
    ],
)
def test_what_a_page_elsewhere_sends_is_refused(keeper: Browser, headers: dict[str, str]) -> None:
    data = {"form_token": keeper.form_token}
    answer = keeper.post("/sign-out", data=data, headers=headers)
    assert (answer.status_code, keeper.get("/").headers["location"]) == (403, "/works")


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "same-origin", "Origin": ADDRESS},
        {"Origin": ADDRESS},
        # Over plain http a form sent without a referrer has this origin.
        {"Origin": "null"},
        {},
    ],
)
def test_what_our_own_page_sends_is_taken(keeper: Browser, headers: dict[str, str]) -> None:
    answer = keeper.post("/sign-out", data={"form_token": keeper.form_token}, headers=headers)
    assert answer.status_code == 303


def test_a_page_elsewhere_may_not_write_even_with_the_token_of_nobody(keeper: Browser) -> None:
    for token in ("", "0" * 64):
        assert keeper.post("/sign-out", data={"form_token": token}).status_code == 403


def test_over_https_the_cookie_is_bound_to_this_host(
    make_app: Callable[..., FastAPI], browse: Callable[..., Browser], fresh_url: str
) -> None:
    app = make_app()
    app.state.installation.settings = Settings(
        database_url=fresh_url, address="https://book.example"
    )
    cookie = browse(app).get("/sign-in").headers["set-cookie"]
    assert cookie.startswith("__Host-hingebook-form=")
    assert cookie.endswith("; HttpOnly; Path=/; SameSite=lax; Secure")


def test_a_server_does_not_start_with_a_route_that_is_nobodys(
    make_app: Callable[..., FastAPI],
) -> None:
    bare = APIRouter(route_class=Route)
    bare.add_api_route("/bare", lambda: None, methods=["GET"])
    with pytest.raises(RuntimeError, match=r"Nobody said who may use \['GET'\] /bare\."):
        make_app(more=(bare,))
