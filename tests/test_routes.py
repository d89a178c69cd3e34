"""Who may use which route: the table is made from the rules that the routes declare."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta

import pytest
from anyio.from_thread import BlockingPortal
from fastapi import APIRouter, FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from sqlalchemy import Engine
from starlette.requests import Request
from starlette.routing import Match
from starlette.types import Message

from api.dependencies import rules_of
from api.reading import READS_ONLY
from api.routes import RoutesNamed
from api.sign_in import recognise, sign_out
from models.rules.permissions import Deed, may
from models.vocabulary import Role
from tests.with_app import (
    NAMES,
    Browser,
    Clock,
    app,
    browse,
    clock,
    make_app,
    on_sqlite_only,
    person_who_signs_in,
    portal,
    settings,
    sign_in_as,
)

__all__ = ["app", "browse", "clock", "make_app", "on_sqlite_only", "portal", "settings"]

# The only routes that strangers may use.
OPEN_TO_ALL = {
    "GET /api/health",
    # Whoever has a key to a feed reads that feed and nothing else.
    "GET /api/due.ics",
    "GET /sign-in",
    "POST /sign-in",
    "GET /first-keeper/{key}",
    "POST /first-keeper/{key}",
}


@dataclass(frozen=True)
class Declared:
    method: str
    path: str
    deeds: tuple[Deed, ...]

    @property
    def reads(self) -> bool:
        return self.method in READS_ONLY

    @property
    def is_rest(self) -> bool:
        return self.path.startswith("/api/")

    def refused(self, role: Role) -> bool:
        return not all(may(role, deed) for deed in self.deeds)

    def ask(self, browser: Browser) -> int:
        path = re.sub(r"\{[^}]*\}", "1", self.path)
        headers = {"X-Form-Token": browser.form_token}
        return browser.request(self.method, path, headers=headers).status_code


def declared(app: FastAPI) -> Iterator[Declared]:
    for route in iter_route_contexts(app.routes):
        if isinstance(route.original_route, APIRoute):
            deeds = tuple(deed for deed in rules_of(route) if deed is not None)
            for method in route.methods or ():
                yield Declared(method, str(route.path), deeds)


def test_strangers_are_sent_to_sign_in_from_everything_but_the_doors(
    app: FastAPI, browse: Callable[..., Browser]
) -> None:
    stranger = browse(app)
    let_in, wrong = set(), []
    for route in declared(app):
        if not route.deeds:
            let_in.add(f"{route.method} {route.path}")
        elif route.ask(stranger) != (303 if route.reads and not route.is_rest else 401):
            wrong.append(route)
    assert (let_in, wrong) == (OPEN_TO_ALL, [])


@pytest.mark.parametrize("role", list(Role))
def test_every_route_refuses_and_admits_as_it_declares(
    app: FastAPI, engine: Engine, browse: Callable[..., Browser], role: Role
) -> None:
    person_id = person_who_signs_in(engine, NAMES[role], role)
    wrong = []
    browser = sign_in_as(browse(app), engine, person_id)
    for route in declared(app):
        signs_out = route.path == "/sign-out"
        status = route.ask(sign_in_as(browse(app), engine, person_id) if signs_out else browser)
        if route.refused(role):
            # What one may not read is not there; what one may not do is refused in words.
            wrong += [] if status == (404 if route.reads else 403) else [(route, status)]
        elif route.deeds and status in (401, 403, 500):
            wrong.append((route, status))
    assert wrong == []


MORE_THAN_ANY_ROUTE_TAKES_BYTES = 1 << 30


@dataclass
class Unread:
    """A request whose body never comes; `asked` says whether anybody waited for it."""

    asked: bool = False
    answers: list[Message] = field(default_factory=list)

    async def receive(self) -> Message:
        self.asked = True
        return {"type": "http.disconnect"}

    async def send(self, message: Message) -> None:
        self.answers.append(message)


def begin_to_send(
    app: FastAPI, portal: BlockingPortal, route: Declared, cookie: str
) -> tuple[int, bool]:
    """Return the status of a request that has only begun, and whether its body was asked for."""
    path = re.sub(r"\{[^}]*\}", "1", route.path)
    headers = {
        "host": "localhost",
        "content-length": str(MORE_THAN_ANY_ROUTE_TAKES_BYTES),
        "content-type": "multipart/form-data; boundary=x",
        "cookie": f"hingebook={cookie}",
    }
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": route.method,
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
        "client": ("127.0.0.1", 123),
        "server": ("localhost", 8000),
    }
    unread = Unread()
    portal.call(app, scope, unread.receive, unread.send)
    return int(unread.answers[0]["status"]), unread.asked


def test_a_stranger_is_turned_away_before_anything_of_a_body_is_read(
    app: FastAPI, portal: BlockingPortal
) -> None:
    written = [route for route in declared(app) if route.deeds and not route.reads]
    answers = {str(route): begin_to_send(app, portal, route, "") for route in written}
    assert answers == dict.fromkeys(answers, (401, False))


@pytest.mark.parametrize("role", list(Role))
def test_what_one_may_not_do_is_refused_before_anything_of_a_body_is_read(
    app: FastAPI, portal: BlockingPortal, engine: Engine, browse: Callable[..., Browser], role: Role
) -> None:
    person_id = person_who_signs_in(engine, NAMES[role], role)
    cookie = sign_in_as(browse(app), engine, person_id).cookies["hingebook"]
    written = [route for route in declared(app) if route.deeds and not route.reads]
    answers = {str(route): begin_to_send(app, portal, route, cookie) for route in written}
    # Whoever may write is told by the length alone that it is more than any route takes.
    expected = {str(route): (403 if route.refused(role) else 413, False) for route in written}
    assert answers == expected


def test_a_sign_in_that_ends_while_a_body_arrives_no_longer_counts(
    app: FastAPI, engine: Engine, browse: Callable[..., Browser], clock: Clock
) -> None:
    request = Request({"type": "http", "app": app, "headers": [], "method": "POST", "path": "/"})
    person_id = person_who_signs_in(engine, NAMES[Role.KEEPER], Role.KEEPER)
    cookie = sign_in_as(browse(app), engine, person_id).cookies["hingebook"]
    request.scope["headers"].append((b"cookie", f"hingebook={cookie}".encode()))
    known = [recognise(request, clock()) is not None]
    sign_out(engine, cookie)
    for passed in (timedelta(seconds=59), timedelta(seconds=2)):
        clock.move(passed)
        known.append(recognise(request, clock()) is not None)
    assert known == [True, True, False]


def test_routes_are_asked_only_for_addresses_that_hold_a_first_word_of_theirs() -> None:
    def answered() -> str:
        return "there it is"

    router = APIRouter()
    for path in ("/", "/gannets/{number}", "/terns"):
        router.add_api_route(path, answered)
    app = FastAPI()
    app.include_router(RoutesNamed(router))

    def is_meant(path: str, method: str = "GET") -> Match:
        scope = {"type": "http", "path": path, "method": method, "root_path": "", "headers": []}
        return app.routes[-1].matches(scope)[0]

    assert [is_meant(path) for path in ("/", "/gannets/7", "/terns")] == [Match.FULL] * 3
    assert [is_meant(path) for path in ("/petrels", "/petrels/terns")] == [Match.NONE] * 2
    assert is_meant("/terns", "POST") is Match.PARTIAL
