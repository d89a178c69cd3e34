"""What is a refusal answered with?

The one table from our errors to HTTP. REST answers with problem details (RFC 9457) that
carry `code` and, for wrong values, where each stands and what would be right; pages answer
with a page. What was sent is never repeated in an answer.
"""

import logging
import secrets
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.encoders import jsonable_encoder
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlalchemy.exc import DBAPIError
from starlette.exceptions import HTTPException

from api.dependencies import SentAgain
from api.error_page import error_page
from api.installation import installation_of
from api.photograph_uploads import NotThere
from api.reading import READS_ONLY
from api.record_versions import BadVersionSeen, NoVersionSeen
from api.sign_in import NotSignedIn, TooSoon, WrongFormToken, recognise
from api.templating import show
from api.validation_faults import faults_of
from models.database import is_conflict
from models.errors import (
    BadValue,
    Busy,
    Fault,
    HingebookError,
    NotAllowed,
    NotFound,
    OutsideKnownRange,
    RuleBroken,
    Stale,
    UnknownWord,
)

STATUS: dict[type[HingebookError], int] = {
    BadVersionSeen: 400,
    NotSignedIn: 401,
    WrongFormToken: 403,
    NotAllowed: 403,
    NotFound: 404,
    RuleBroken: 409,
    BadValue: 422,
    OutsideKnownRange: 422,
    NoVersionSeen: 428,
    TooSoon: 429,
    Busy: 503,
}
STALE_BY_IF_MATCH = 412
TOO_LARGE = 413
PROBLEM = "application/problem+json"
BUSY = "The database was busy with another change; nothing was lost, try again in a second."
BROKEN = "Something went wrong here, and what you sent was not kept. It has been noted down."
# Spelled here: the standard library's phrases change from one Python to the next.
TITLES = {
    400: "Bad Request",
    401: "Unauthorized",
    403: "Forbidden",
    404: "Not Found",
    405: "Method Not Allowed",
    409: "Conflict",
    412: "Precondition Failed",
    413: "Content Too Large",
    422: "Unprocessable Content",
    428: "Precondition Required",
    429: "Too Many Requests",
    500: "Internal Server Error",
    503: "Service Unavailable",
}
# What the framework refuses by itself: code and words of ours.
REFUSED_BY_HTTP = {
    400: ("unreadable", "This cannot be read."),
    404: ("not_found", "There is nothing here."),
    405: ("not_done_here", "This cannot be done here."),
    413: ("too_large", ""),
}

# Without letters and figures that look or sound alike.
REFERENCE_LETTERS, REFERENCE_LENGTH = "23456789BCDFGHJKMPQRTVWX", 8

_log = logging.getLogger("hingebook")


def new_reference() -> str:
    """Return a number by which a fault is found in the server's log, easily read out aloud."""
    letters = "".join(secrets.choice(REFERENCE_LETTERS) for _ in range(REFERENCE_LENGTH))
    return f"{letters[:4]}-{letters[4:]}"


def status_of(error: HingebookError, request: Request) -> int:
    """Return the status for an error; the nearest class in the table decides."""
    if isinstance(error, Stale) and "if-match" in request.headers:
        return STALE_BY_IF_MATCH
    return next((STATUS[kind] for kind in type(error).mro() if kind in STATUS), 400)


def is_rest(request: Request) -> bool:
    """Say whether a program asks."""
    return request.url.path.startswith("/api/")


def problem(
    status: int,
    detail: str,
    code: str,
    *,
    more: Mapping[str, Any] | None = None,
    headers: Mapping[str, str] | None = None,
) -> JSONResponse:
    """Return problem details as RFC 9457 has them."""
    told = {
        "type": "about:blank",
        "title": TITLES.get(status, "Refused"),
        "status": status,
        "detail": detail,
        "code": code,
    }
    return JSONResponse(told | dict(more or {}), status, dict(headers or {}), PROBLEM)


def refusal(
    request: Request,
    status: int,
    detail: str,
    code: str,
    *,
    faults: Sequence[Fault] = (),
    more: Mapping[str, Any] | None = None,
    headers: Mapping[str, str] | None = None,
    reference: str = "",
) -> Response:
    """Return a refusal in the form in which it was asked for."""
    if is_rest(request):
        errors = {"errors": [vars(fault) for fault in faults]} if faults else {}
        noted = {"reference": reference} if reference else {}
        told = {**errors, **noted, **(more or {})}
        return problem(status, detail, code, more=told, headers=headers)
    was_sent = request.method not in READS_ONLY
    page = error_page(status, detail, tuple(faults), reference, code=code, was_sent=was_sent)
    answer = show(request, "errors/error.html", page, status)
    answer.headers.update(headers or {})
    if "hx-request" in request.headers:
        answer.headers["HX-Retarget"] = "body"
    return answer


def _on_our_error(request: Request, error: HingebookError) -> Response:
    if isinstance(error, NotSignedIn) and not is_rest(request) and request.method in READS_ONLY:
        there = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/sign-in?next={quote(there, safe='')}", 303)
    return refusal(
        request,
        status_of(error, request),
        error.message,
        error.code,
        faults=error.faults if isinstance(error, BadValue) else (),
        more=_more(error),
        headers=_headers(error),
    )


def _more(error: HingebookError) -> dict[str, Any]:
    if isinstance(error, UnknownWord):
        return {"near": list(error.near)}
    if isinstance(error, Stale) and error.theirs is not None:
        return {"theirs": jsonable_encoder(error.theirs)}
    if isinstance(error, NotThere):
        return {"received_bytes": error.received_bytes}
    return {}


def _headers(error: HingebookError) -> dict[str, str]:
    if isinstance(error, Busy):
        return {"Retry-After": "1"}
    if isinstance(error, TooSoon):
        return {"Retry-After": str(error.wait_s)}
    return {"WWW-Authenticate": "Bearer"} if isinstance(error, NotSignedIn) else {}


def _on_bad_request(request: Request, error: RequestValidationError) -> Response:
    faults = faults_of(error.errors(), error.body)
    if faults is None:
        code, words = REFUSED_BY_HTTP[404]
        return refusal(request, 404, words, code)
    count = "A value" if len(faults) == 1 else f"{len(faults)} values"
    return refusal(request, 422, f"{count} cannot be right.", BadValue.code, faults=faults)


def _on_http_error(request: Request, error: HTTPException) -> Response:
    code, words = REFUSED_BY_HTTP.get(error.status_code, ("refused", error.detail))
    if error.status_code == TOO_LARGE:
        words = error.detail
    if not is_rest(request) and not hasattr(request.state, "recognised"):
        # No route was asked, but the page still has its frame.
        recognise(request, installation_of(request).clock())
    return refusal(request, error.status_code, words, code, headers=error.headers)


def _on_database_error(request: Request, error: DBAPIError) -> Response:
    if not is_conflict(error):
        return on_anything_else(request, error)
    return refusal(request, 503, BUSY, Busy.code, headers={"Retry-After": "1"})


def on_anything_else(request: Request, error: Exception) -> Response:
    """Note down what nobody foresaw and say so without telling what it was, but by which number."""
    reference = new_reference()
    _log.error("%s: %s %s", reference, request.method, request.url.path, exc_info=error)
    return refusal(request, 500, BROKEN, "broken", reference=reference)


def _on_sent_again(request: Request, error: SentAgain) -> Response:
    answered = error.answered
    answer = Response(answered.answer or "", answered.status)
    if answered.answer is not None:
        kind = "application/json" if is_rest(request) else "text/html; charset=utf-8"
        answer.headers["Content-Type"] = kind
    if answered.location is not None:
        answer.headers["Location"] = answered.location
    answer.headers["Idempotency-Replayed"] = "true"
    return answer


def answer_errors(app: FastAPI) -> None:
    """Tell the app what to answer to each kind of error."""
    handlers: dict[type[Exception], Any] = {
        HingebookError: _on_our_error,
        RequestValidationError: _on_bad_request,
        HTTPException: _on_http_error,
        DBAPIError: _on_database_error,
        SentAgain: _on_sent_again,
    }
    for kind, handler in handlers.items():
        app.add_exception_handler(kind, handler)
