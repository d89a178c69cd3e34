"""What happens around every route, whichever it is?

Before it: whoever may not write there is turned away, and only then what was sent is read,
once, and of a form its token and its key are noted: a stranger cannot make the server take
in a photograph. Both the question at the door and the route wait for room: each holds a
thread and a connection by turns, and more of them than there are of either would wait for
each other.
After it: the answer is noted, so that the transaction knows whether to keep what was
written; and that somebody was seen is written down when the answer has gone out.
"""

import hashlib
import json
from collections.abc import Callable, Coroutine, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any, Protocol, runtime_checkable
from urllib.parse import unquote_to_bytes

from fastapi import APIRouter, Depends, HTTPException
from fastapi.routing import APIRoute
from starlette.background import BackgroundTask, BackgroundTasks
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Match
from starlette.types import Scope

from api.installation import installation_of
from api.reading import READS_ONLY, Reading
from api.sign_in import FORM_TOKEN_HEADER
from models.actions.sign_ins import Recognised, is_to_be_noted, note_seen
from models.database import write_session
from models.errors import Busy

FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")
FORM_TOKEN_FIELD = "form_token"
# A walk of a room has some fields for each of its works; what a body may weigh is limited apart.
MOST_FIELDS = 50_000
REPEAT_KEY_FIELD, REPEAT_KEY_HEADER = "repeat_key", "Idempotency-Key"
BLOCK_BYTES = 1 << 16
# Where the limit of a body is found by its route: `api.shields.LimitedBody` keeps to it.
BODY_LIMIT = "hingebook.body_limit"

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


@dataclass(frozen=True)
class Sent:
    """What came with a request that may write."""

    body_sha256: str
    form_token: str
    repeat_key: str


@dataclass
class BodyLimit:
    """How much a request may bring; its route may allow more before it is read."""

    longest_bytes: int


@dataclass(frozen=True)
class _TakesUpTo:
    """Marks a route that takes more than others, such as one for files."""

    longest_bytes: int

    async def __call__(self) -> None:
        return


@runtime_checkable
class Doorkeeper(Protocol):
    """A rule of a route that is asked before anything of the body is read."""

    def ask_at_the_door(self, request: Request) -> None:
        """Raise for somebody who may not write here, whatever they send."""


def takes_up_to(longest_bytes: int) -> Any:
    """Return the mark of a route that takes so much; for `dependencies=[…]`."""
    return Depends(_TakesUpTo(longest_bytes))


class RoutesBelow(APIRouter):
    """Routes whose addresses all have a part in common, and which are asked only for such.

    Of each request every route is asked in turn whether it is meant; of a page, those for
    programs need not be asked one by one.
    """

    def __init__(self, part: str, routers: Sequence[APIRouter]) -> None:
        super().__init__()
        self.routes = [*_routes_of(routers)]
        self.part = part

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Say whether one of these routes is meant."""
        if self.part not in scope["path"]:
            return Match.NONE, {}
        return super().matches(scope)


class RoutesNamed(APIRouter):
    """The routes of one router of pages, asked only for addresses that hold a first word of theirs.

    A page would else ask 150 routes before its own: a tenth of the time that a small one takes.
    """

    def __init__(self, router: APIRouter) -> None:
        super().__init__()
        routes = list(_routes_of([router]))
        self.routes = [*routes]
        self.first_words = {route.path.split("/")[1] for route in routes}

    def matches(self, scope: Scope) -> tuple[Match, Scope]:
        """Say whether one of these routes is meant."""
        if self.first_words.isdisjoint(scope["path"].split("/")):
            return Match.NONE, {}
        return super().matches(scope)


def _routes_of(routers: Sequence[APIRouter]) -> Iterator[APIRoute]:
    """Give the routes themselves.

    Those of a router within a router FastAPI works out twice: half of the time until a server
    answers.
    """
    for route in chain.from_iterable(router.routes for router in routers):
        assert isinstance(route, APIRoute), "a router holds routes, and no routers"
        yield route


class Route(APIRoute):
    """A route of this program; every router is made with it."""

    def get_route_handler(self) -> Handler:
        """Return the route's handler with what happens around it."""
        handle = super().get_route_handler()
        marks: list[object] = [depends.dependency for depends in self.dependencies]
        takes = [mark.longest_bytes for mark in marks if isinstance(mark, _TakesUpTo)]
        doorkeepers = [mark for mark in marks if isinstance(mark, Doorkeeper)]

        async def answer(request: Request) -> Response:
            limit: BodyLimit = request.scope[BODY_LIMIT]
            limit.longest_bytes = max([limit.longest_bytes, *takes])
            try:
                if request.method not in READS_ONLY:
                    await _ask_at_the_door(request, doorkeepers)
                    request.state.sent = await _what_was_sent(request)
                async with installation_of(request).room:
                    response = await _answered(request, handle)
            finally:
                await request.close()
            request.state.answer = response
            _note_afterwards(request, response)
            return response

        return answer


async def _answered(request: Request, handle: Handler) -> Response:
    request.state.reading = reading = Reading(installation_of(request).engine)
    try:
        return await handle(request)
    finally:
        request.state.reading = None
        await reading.close()


async def _ask_at_the_door(request: Request, doorkeepers: Sequence[Doorkeeper]) -> None:
    async with installation_of(request).room:
        for doorkeeper in doorkeepers:
            await run_in_threadpool(doorkeeper.ask_at_the_door, request)


async def _what_was_sent(request: Request) -> Sent:
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() in FORMS:
        form = await _read_form(request)
        token, key = _word(form, FORM_TOKEN_FIELD), _word(form, REPEAT_KEY_FIELD)
        told = await _digest_of_form(form)
    else:
        token, key = "", ""
        told = hashlib.sha256(await request.body()).hexdigest()
    return Sent(
        body_sha256=hashlib.sha256(f"{request.url.query}|{told}".encode()).hexdigest(),
        form_token=token or request.headers.get(FORM_TOKEN_HEADER, ""),
        repeat_key=request.headers.get(REPEAT_KEY_HEADER, "") or key,
    )


async def _read_form(request: Request) -> FormData:
    if request.headers.get("content-type", "").startswith(FORMS[0]):
        _refuse_what_is_no_text(await request.body())
    try:
        return await request.form(max_fields=MOST_FIELDS)
    except (ValueError, LookupError) as error:
        raise HTTPException(400, "This form cannot be read.") from error


def _refuse_what_is_no_text(body: bytes) -> None:
    """Raise for bytes that are not UTF-8, which would be read as signs that nobody typed."""
    try:
        unquote_to_bytes(body).decode()
    except UnicodeDecodeError as error:
        raise HTTPException(400, "This form is not UTF-8.") from error


def _word(form: FormData, name: str) -> str:
    value = form.get(name)
    return value if isinstance(value, str) else ""


async def _digest_of_form(form: FormData) -> str:
    # Without the token: after signing in anew the same form is still the same request.
    told = [
        (name, value if isinstance(value, str) else await _digest_of_file(value))
        for name, value in form.multi_items()
        if name != FORM_TOKEN_FIELD
    ]
    return hashlib.sha256(json.dumps(told).encode()).hexdigest()


async def _digest_of_file(file: UploadFile) -> str:
    content = hashlib.sha256()
    while block := await file.read(BLOCK_BYTES):
        content.update(block)
    await file.seek(0)
    return f"{file.filename}|{content.hexdigest()}"


def _note_afterwards(request: Request, response: Response) -> None:
    recognised: Recognised | None = getattr(request.state, "recognised", None)
    now = installation_of(request).clock()
    if recognised is not None and is_to_be_noted(recognised, now):
        seen = BackgroundTask(_write_seen, request, recognised)
        before = [response.background] if response.background else []
        response.background = BackgroundTasks([*before, seen])


def _write_seen(request: Request, recognised: Recognised) -> None:
    installation = installation_of(request)
    try:
        with write_session(installation.engine) as session:
            note_seen(session, recognised, installation.clock())
    except Busy:
        # The next answer notes it as well.
        return
