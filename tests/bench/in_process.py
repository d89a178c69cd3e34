"""A person and a program of the app in this process, what the app sends to its database, and
a bare app beside it.
"""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import jinja2
from anyio.from_thread import BlockingPortal, start_blocking_portal
from fastapi import FastAPI
from fastapi.responses import HTMLResponse, JSONResponse, Response
from sqlalchemy import Engine, event
from sqlmodel import Session
from starlette.types import Receive, Scope, Send

from api.app import create_app
from api.settings import Settings
from models.actions.change_log import recording
from models.actions.sign_ins import add_token, begin_sign_in
from models.tables.people import find_person_by_name
from tests.bench.big_collection import KEEPER, NOW
from tests.with_app import ADDRESS, InProcess

Statements = list[tuple[str, Any]]
CREATED = 201


@dataclass
class Timed:
    """The app, and how long its last answer took it: from the request to the answer sent.

    What the client does beside is no part of it.
    """

    app: FastAPI
    seconds: float = 0.0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        begun = time.perf_counter()
        await self.app(scope, receive, send)
        self.seconds = time.perf_counter() - begun


@dataclass
class Open:
    """An app on one database, with its engine and a client that is signed in."""

    timed: Timed
    engine: Engine
    client: httpx.Client


@contextmanager
def app_on(file: Path, *, as_program: bool = False) -> Iterator[Open]:
    """Open the app on a database; the client is a signed-in browser, or a program."""
    settings = Settings(database_url=f"sqlite:///{file}", address=ADDRESS, time_zone="UTC")
    app = create_app(settings, clock=lambda: NOW)
    engine: Engine = app.state.installation.engine
    timed = Timed(app)
    with start_blocking_portal() as portal:
        with httpx.Client(
            transport=InProcess(portal, timed, "127.0.0.1"), base_url=ADDRESS
        ) as client:
            with recording(engine, actor="bench", now=NOW) as session:
                _sign_in(session, client, as_program=as_program)
            yield Open(timed, engine, client)
    engine.dispose()


def _sign_in(session: Session, client: httpx.Client, *, as_program: bool) -> None:
    person = find_person_by_name(session, KEEPER)
    assert person is not None, "the big collection has its keeper"
    assert person.id is not None, "who is stored has a key"
    if as_program:
        client.headers["Authorization"] = f"Bearer {add_token(session, person, 'bench', NOW)}"
    else:
        client.cookies.set("hingebook", begin_sign_in(session, person.id, NOW))


class Bare:
    """FastAPI itself: one route to ask and one to send to, without sign-in, headers or rules."""

    def __init__(self, portal: BlockingPortal) -> None:
        app = FastAPI()
        app.add_api_route("/", self._answered, methods=["GET"])
        app.add_api_route("/", self._taken, methods=["POST"])
        self._do: Callable[[], object] = str
        self._timed = Timed(app)
        self._client = httpx.Client(
            transport=InProcess(portal, self._timed, "127.0.0.1"), base_url=ADDRESS
        )

    def asked(self, do: Callable[[], object]) -> float:
        """Return how long it took to answer with what this returns."""
        self._do = do
        self._client.get("/").raise_for_status()
        return self._timed.seconds

    def sent(self, do: Callable[[], object], told: dict[str, Any]) -> float:
        """Return how long it took to take this in, do what was to be done, and answer."""
        self._do = do
        self._client.post("/", json=told).raise_for_status()
        return self._timed.seconds

    def _answered(self) -> HTMLResponse:
        return HTMLResponse(self._do())

    def _taken(self, told: dict[str, Any]) -> Response:
        done = self._do()
        return HTMLResponse(done) if isinstance(done, str) else JSONResponse(told, CREATED)


@contextmanager
def bare_app() -> Iterator[Bare]:
    """Open a bare app, whose first answers of each kind are behind it."""
    with start_blocking_portal() as portal:
        bare = Bare(portal)
        bare.asked(str)
        bare.sent(str, {})
        yield bare


@contextmanager
def statements_of(engine: Engine) -> Iterator[Statements]:
    """Gather every statement, with what it was given, that the app sends while this is open."""
    sent: Statements = []

    def note(_c: Any, _cursor: Any, statement: str, given: Any, _x: Any, _many: bool) -> None:
        if not statement.startswith(("BEGIN", "PRAGMA")):
            sent.append((statement, given))

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield sent
    finally:
        event.remove(engine, "before_cursor_execute", note)


@contextmanager
def rendered() -> Iterator[list[tuple[jinja2.Template, dict[str, Any]]]]:
    """Gather what each template is given while this is open."""
    given: list[tuple[jinja2.Template, dict[str, Any]]] = []
    render = jinja2.Template.render

    def note(self: jinja2.Template, *args: Any, **kwargs: Any) -> str:
        given.append((self, dict(*args, **kwargs)))
        return render(self, *args, **kwargs)

    jinja2.Template.render = note  # type: ignore[method-assign]
    try:
        yield given
    finally:
        jinja2.Template.render = render  # type: ignore[method-assign]
