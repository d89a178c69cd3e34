"""The real app on a real, fresh database, and browsers and programs that use it.

`app` runs a test on SQLite and on PostgreSQL. Time stands still at `NOON` until a test moves
`clock`. Requests go to the app in this process, through everything that a server's request
passes; every page that comes back is checked for what the content security policy forbids.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import httpx
import pytest
from anyio.from_thread import BlockingPortal, start_blocking_portal
from fastapi import APIRouter, FastAPI
from sqlalchemy import Engine
from starlette.types import ASGIApp

from api.app import create_app
from api.installation import Installation
from api.settings import Settings
from models.actions.change_log import recording
from models.actions.sign_in_people import add_sign_in
from models.actions.sign_ins import add_token, begin_sign_in, form_token
from models.database import open_database
from models.tables.people import Person
from models.vocabulary import Role
from tests.with_database import file_for, knowing_what_was_compiled

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = date(2026, 11, 25)
ADDRESS = "http://localhost:8000"
OWNER = "The Gannet House"


@dataclass
class Clock:
    """A clock that a test moves."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now

    def move(self, by: timedelta) -> None:
        self.now += by


class InProcess(httpx.BaseTransport):
    """Carries requests to the app in this process, one at a time or from several threads."""

    def __init__(self, portal: BlockingPortal, app: ASGIApp, address: str) -> None:
        self.portal = portal
        self.inner = httpx.ASGITransport(app, raise_app_exceptions=False, client=(address, 123))

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        request.read()
        return self.portal.call(self._handle, request)

    async def _handle(self, request: httpx.Request) -> httpx.Response:
        answer = await self.inner.handle_async_request(request)
        # As it was sent: the client of the test undoes a compression itself.
        content = b"".join([part async for part in answer.aiter_raw()])
        return httpx.Response(answer.status_code, headers=answer.headers, content=content)


@dataclass
class ForbiddenMarkup(HTMLParser):
    """Gathers what the content security policy would refuse, and ids given twice."""

    found: list[str] = field(default_factory=list)
    ids: set[str] = field(default_factory=set)
    in_script: bool = False
    ids_matter: bool = True

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.in_script = tag == "script"
        if tag == "style" or (tag == "script" and "src" not in given):
            self.found.append(f"<{tag}>")
        for name, value in given.items():
            if name == "style" or name.startswith(("on", "hx-on")):
                self.found.append(f"{tag} {name}=")
            if (value or "").strip().lower().startswith(("javascript:", "js:")):
                self.found.append(f"{tag} {name}={value}")
            if name == "id" and self.ids_matter:
                self.found += [f"id {value} twice"] if value in self.ids else []
                self.ids.add(value or "")

    def handle_data(self, data: str) -> None:
        if self.in_script and data.strip():
            self.found.append("script in the page")

    def handle_endtag(self, tag: str) -> None:
        self.in_script = False


# Whatever the parser would name matches one of these, and a little more: only then it reads the
# whole page, which took a quarter of the time of all page tests.
_SUSPECT = re.compile(
    r"<style|<script(?![^>]*\ssrc\s*=)|<script[^>]*>\s*[^<\s]|[\s\"']style\s*="
    r"|[\s\"'](?:on|hx-on)[^\s=>]*\s*=|(?:javascript|js)\s*:",
    re.IGNORECASE,
)
_ID = re.compile(r"[\s\"']id\s*=\s*[\"']?([^\"'\s>]+)", re.IGNORECASE)


def check_page(answer: httpx.Response) -> None:
    """Fail when a page carries what its content security policy forbids."""
    if answer.headers.get("content-type", "").startswith("text/html"):
        answer.read()
        ids = _ID.findall(answer.text)
        if len(set(ids)) == len(ids) and not _SUSPECT.search(answer.text):
            return
        page = ForbiddenMarkup()
        page.feed(answer.text)
        assert page.found == [], f"{answer.request.url}: {page.found}"


class Browser(httpx.Client):
    """A browser that knows the token its forms carry, once it is signed in."""

    form_token: str = ""

    def send_form(self, path: str, data: dict[str, str | list[str]]) -> httpx.Response:
        """Send a form of this browser."""
        return self.post(path, data={"form_token": self.form_token, **data})


def token_in(page: httpx.Response) -> str:
    """Return the token that the forms of a page carry."""
    found = re.search(r'name="form_token" value="([0-9a-f]{128})"', page.text)
    assert found is not None, page.text
    return found.group(1)


@pytest.fixture(scope="session")
def portal() -> Iterator[BlockingPortal]:
    """One event loop for all requests of a run."""
    with start_blocking_portal() as portal:
        yield portal


@pytest.fixture(name="fresh_url")
def on_sqlite_only(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """For tests of what no database has to do with: a module imports it to leave PostgreSQL out."""
    return file_for(request, tmp_path)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def settings(fresh_url: str, tmp_path: Path) -> Settings:
    data = tmp_path / "data"
    return Settings(data=data, database_url=fresh_url, address=ADDRESS, time_zone="UTC")


# Building the routes takes most of a test's time and is the same for all: each app is built
# once and is given the installation of each test in turn.
_built: dict[tuple[int, ...], FastAPI] = {}


@pytest.fixture
def make_app(settings: Settings, clock: Clock) -> Iterator[Callable[..., FastAPI]]:
    """Make apps of this test; it may bring routers of its own."""
    made: list[Installation] = []

    def make(more: tuple[APIRouter, ...] = ()) -> FastAPI:
        routers = tuple(map(id, more))
        app = _built.get(routers) or create_app(settings, more=more)
        _built[routers] = app
        before: Installation = app.state.installation
        engine = knowing_what_was_compiled(open_database(settings.url))
        made.append(Installation(settings, engine, clock, before.templates))
        app.state.installation = made[-1]
        return app

    yield make
    for installation in made:
        installation.engine.dispose()


@pytest.fixture
def app(make_app: Callable[..., FastAPI]) -> FastAPI:
    return make_app()


@pytest.fixture
def browse(portal: BlockingPortal) -> Iterator[Callable[..., Browser]]:
    """Open a browser on an app, at an address of the network."""
    opened: list[Browser] = []

    def browse(app: FastAPI, address: str = "127.0.0.1") -> Browser:
        transport = InProcess(portal, app, address)
        hooks = {"response": [check_page]}
        opened.append(Browser(transport=transport, base_url=ADDRESS, event_hooks=hooks))
        return opened[-1]

    yield browse
    for browser in opened:
        browser.close()


def person_who_signs_in(engine: Engine, name: str, role: Role) -> int:
    """Put somebody on record who may sign in; their password is nobody's."""
    owner = OWNER if role is Role.OWNER else None
    with recording(engine, actor="test", now=NOON) as session:
        person = add_sign_in(
            session, name=name, role=role, password_hash="none", owner=owner, make_owner=True
        )
        assert person.id is not None
        return person.id


def sign_in_as(browser: Browser, engine: Engine, person_id: int, now: datetime = NOON) -> Browser:
    """Let a browser be signed in as somebody on record."""
    with recording(engine, actor="test", now=now) as session:
        cookie = begin_sign_in(session, person_id, now)
    browser.cookies.set("hingebook", cookie)
    browser.form_token = form_token(cookie)
    return browser


@pytest.fixture
def stranger(app: FastAPI, browse: Callable[..., Browser]) -> Browser:
    return browse(app)


def _signed_in(app: FastAPI, engine: Engine, browser: Browser, role: Role) -> Browser:
    return sign_in_as(browser, engine, person_who_signs_in(engine, NAMES[role], role))


NAMES = {Role.KEEPER: "Ada Sill", Role.FRAMER: "Ben Rabbet", Role.OWNER: "Cleo Margin"}


@pytest.fixture
def keeper(app: FastAPI, engine: Engine, browse: Callable[..., Browser]) -> Browser:
    return _signed_in(app, engine, browse(app), Role.KEEPER)


@pytest.fixture
def framer(app: FastAPI, engine: Engine, browse: Callable[..., Browser]) -> Browser:
    return _signed_in(app, engine, browse(app), Role.FRAMER)


@pytest.fixture
def owner(app: FastAPI, engine: Engine, browse: Callable[..., Browser]) -> Browser:
    return _signed_in(app, engine, browse(app), Role.OWNER)


@pytest.fixture
def program(app: FastAPI, engine: Engine, browse: Callable[..., Browser]) -> Browser:
    """A program with the token of a keeper."""
    return with_token(browse(app), engine, person_who_signs_in(engine, "Dot Token", Role.KEEPER))


def with_token(browser: Browser, engine: Engine, person_id: int) -> Browser:
    """Give a program a token of somebody on record."""
    with recording(engine, actor="test", now=NOON) as session:
        from_person = session.get(Person, person_id)
        assert from_person is not None
        token = add_token(session, from_person, "test", NOON)
    browser.headers["Authorization"] = f"Bearer {token}"
    return browser
