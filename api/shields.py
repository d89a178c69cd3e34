"""What is refused before any route is asked, and what goes with every answer?

Requests to another name than ours are refused, so that no page elsewhere can point its own
name at this server; so is whatever another page makes a browser send. Every answer tells
the browser to run and show nothing but what comes from here, and to keep none of it.
"""

from collections.abc import Callable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.reading import READS_ONLY
from api.routes import BODY_LIMIT, BodyLimit

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "manifest-src 'self'",
        "img-src 'self' blob: data:",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)
ALWAYS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
}
# Two years, as browsers ask of whoever means it.
HTTPS_ONLY = "max-age=63072000"

Refuse = Callable[[Request, int, str, str], Response]
OnError = Callable[[Request, Exception], Response]


class AnswerHeaders:
    """Puts the headers of every answer on it; only static files may be kept by a browser."""

    def __init__(self, app: ASGIApp, *, is_https: bool) -> None:
        self.app = app
        self.headers = ALWAYS | ({"Strict-Transport-Security": HTTPS_ONLY} if is_https else {})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send the answer on with its headers."""

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(self.headers)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        await self.app(scope, receive, send_with_headers if scope["type"] == "http" else send)


class LastResort:
    """Answers what nobody foresaw, inside of the headers; the cause goes to the server's log."""

    def __init__(self, app: ASGIApp, *, on_error: OnError) -> None:
        self.app = app
        self.on_error = on_error

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer for what was raised, unless an answer has begun."""
        begun = False

        async def send_and_note(message: Message) -> None:
            nonlocal begun
            begun = True
            await send(message)

        try:
            await self.app(scope, receive, send_and_note)
        except Exception as error:
            if begun or scope["type"] != "http":
                raise
            await self.on_error(Request(scope), error)(scope, receive, send)


class HeadAsGet:
    """Answers HEAD as GET, without the body: whether a page is there, and how it is sent."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Ask for the page and send on its head alone."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def send_head(message: Message) -> None:
            if message["type"] == "http.response.body":
                message = {**message, "body": b""}
            await send(message)

        await self.app({**scope, "method": "GET"}, receive, send_head)


class HostCheck:
    """Refuses requests to a name that is not ours."""

    def __init__(self, app: ASGIApp, *, allowed: frozenset[str]) -> None:
        self.app = app
        self.allowed = allowed

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on if it was sent to one of our names."""
        if scope["type"] == "http" and not self._is_ours(Headers(scope=scope).get("host", "")):
            words = "This server does not answer under this name; see HINGEBOOK_ADDRESS."
            # No page: its links would lead back to the wrong name.
            answer = Response(words, 421, media_type="text/plain")
            await answer(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _is_ours(self, host: str) -> bool:
        try:
            return (urlsplit(f"//{host}").hostname or "") in self.allowed
        except ValueError:
            return False


class LimitedBody:
    """Stops reading a body that is longer than its route takes, told or not."""

    def __init__(self, app: ASGIApp, *, longest_bytes: int) -> None:
        self.app = app
        self.longest_bytes = longest_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with a body that ends in a refusal when it grows too long."""
        limit = scope[BODY_LIMIT] = BodyLimit(self.longest_bytes)
        told = Headers(scope=scope).get("content-length", "") if scope["type"] == "http" else ""
        told_bytes = int(told) if told.isdecimal() else 0
        read_bytes = 0

        async def receive_within_limit() -> Message:
            nonlocal read_bytes
            if told_bytes > limit.longest_bytes:
                raise _too_large(limit)
            message = await receive()
            read_bytes += len(message.get("body", b""))
            if read_bytes > limit.longest_bytes:
                raise _too_large(limit)
            return message

        await self.app(scope, receive_within_limit, send)


def _too_large(limit: BodyLimit) -> HTTPException:
    words = f"What was sent is larger than the {limit.longest_bytes // 1_000_000} MB taken here."
    return HTTPException(413, words)


class OwnFormsOnly:
    """Refuses to write what another page made a browser send.

    Browsers say where a request comes from in Sec-Fetch-Site, over plain http in Origin.
    Programs send neither; they are asked for a token, and forms for theirs, in the route.
    """

    def __init__(self, app: ASGIApp, *, refuse: Refuse) -> None:
        self.app = app
        self.refuse = refuse

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on unless a page elsewhere made it."""
        if scope["type"] == "http" and scope["method"] not in READS_ONLY:
            headers = Headers(scope=scope)
            if not _is_from_here(headers):
                words = "This was sent by a page elsewhere, and nothing was done."
                answer = self.refuse(Request(scope), 403, words, "from_elsewhere")
                await answer(scope, receive, send)
                return
        await self.app(scope, receive, send)


def _is_from_here(headers: Headers) -> bool:
    site, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if site is not None:
        return site in ("same-origin", "none")
    # Without a referrer browsers send "null" with a form; then its token alone decides.
    return origin in (None, "null") or urlsplit(origin).netloc == headers.get("host")
