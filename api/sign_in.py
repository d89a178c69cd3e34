"""How does somebody prove who they are?

By name and password, which give a browser its cookie; by that cookie; or, for a program,
by a token in `Authorization: Bearer`. Whoever is recognised by a cookie must also show the
form token before anything is written, because a browser sends cookies for any page that
asks it to. Passwords are hashed with argon2, a few at a time and never while the database
is held for writing.
"""

import hmac
import secrets
import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from datetime import datetime, timedelta
from functools import cache

from pwdlib import PasswordHash
from pwdlib.exceptions import UnknownHashError
from sqlalchemy import Engine
from sqlmodel import Session
from starlette.requests import Request
from starlette.responses import Response

from api.installation import installation_of
from api.reading import READS_ONLY, reading_of
from api.settings import Settings
from models.actions.sign_ins import (
    LONGEST,
    Recognised,
    begin_sign_in,
    digest,
    end_sign_in,
    forget_wrong_tries,
    form_token,
    new_secret,
    note_wrong_try,
    person_who_may_sign_in,
    recognise_browser,
    recognise_token,
    seconds_to_wait,
)
from models.database import read_session, write_session
from models.errors import BadValue, Busy, Fault, HingebookError

SIGN_IN_COOKIE = "hingebook"
# Before anybody is signed in, forms are bound to this cookie.
STRANGER_COOKIE = "hingebook-form"
# Twice a SHA-256 in hexadecimal digits: random bits, and the token covered by them.
MASKED_LETTERS = 128
# In which a script of a page sends the form token; forms send it as a field.
FORM_TOKEN_HEADER = "X-Form-Token"
# Each takes 64 MiB and some 50 ms of a core (argon2id as RFC 9106 recommends for little memory).
HASHES_AT_ONCE = 4
LONGEST_HASH_WAIT_S = 5.0
# For how long one request knows who sends it: a body may take its time, and rights may end.
KNOWN_FOR = timedelta(minutes=1)

_argon2 = PasswordHash.recommended()
_hashing = threading.BoundedSemaphore(HASHES_AT_ONCE)


@cache
def _nobodys_hash() -> str:
    # An unknown name takes as long as a wrong password, so that nobody learns which names exist.
    return _argon2.hash(secrets.token_urlsafe())


class NotSignedIn(HingebookError):
    """Nobody is signed in, or the sign-in is over."""

    code = "not_signed_in"


class WrongFormToken(HingebookError):
    """What was sent did not come from a form of this sign-in."""

    code = "wrong_form_token"


class TooSoon(HingebookError):
    """A wrong password was given too often just now."""

    code = "too_soon"

    def __init__(self, wait_s: int) -> None:
        super().__init__(f"Too many wrong tries; try again in {wait_s} seconds.")
        self.wait_s = wait_s


@contextmanager
def _one_of_few() -> Iterator[None]:
    if not _hashing.acquire(timeout=LONGEST_HASH_WAIT_S):
        raise Busy("Too many are signing in at this moment; try again in a second.")
    try:
        yield
    finally:
        _hashing.release()


def hash_password(password: str) -> str:
    """Return what is kept of a password."""
    with _one_of_few():
        return _argon2.hash(password)


def is_password(password: str, kept: str | None) -> bool:
    """Say whether this is the password; as slow when there is none."""
    with _one_of_few():
        try:
            return _argon2.verify(password, kept or _nobodys_hash()) and kept is not None
        except UnknownHashError:
            return False


def sign_in(
    engine: Engine, *, name: str, password: str, address: str, now: datetime, before: str = ""
) -> str:
    """Return the cookie of a new sign-in; the one before it in this browser ends.

    Raises TooSoon, or BadValue for a name and a password that do not go together.
    """
    with read_session(engine) as session:
        wait_s = seconds_to_wait(session, name, address, now)
        person = person_who_may_sign_in(session, name)
        known = (person.id, person.password_hash) if person else (None, None)
    if wait_s:
        raise TooSoon(wait_s)
    person_id, kept = known
    if not is_password(password, kept) or person_id is None:
        with write_session(engine) as session:
            note_wrong_try(session, name, address, now)
        fault = Fault("/password", "This name and this password do not go together.")
        raise BadValue(fault.message, [fault])
    with write_session(engine) as session:
        forget_wrong_tries(session, name, address)
        end_sign_in(session, before)
        return begin_sign_in(session, person_id, now)


def sign_out(engine: Engine, cookie: str) -> None:
    """End the sign-in of this cookie."""
    with write_session(engine) as session:
        end_sign_in(session, cookie)


def is_known(request: Request, now: datetime) -> bool:
    """Say whether the database has been asked who sends this request, not too long ago."""
    asked_at: datetime | None = getattr(request.state, "recognised_at", None)
    return asked_at is not None and now - asked_at <= KNOWN_FOR


def recognise(request: Request, now: datetime) -> Recognised | None:
    """Return who sends this request, by token or by cookie; None for a stranger.

    Asked once of a request, and anew when its body was long in coming. Noted as
    `request.state.recognised` for the page's frame.
    """
    if not is_known(request, now):
        request.state.recognised = _recognise(request, now)
        request.state.recognised_at = now
    recognised: Recognised | None = request.state.recognised
    return recognised


def _recognise(request: Request, now: datetime) -> Recognised | None:
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer":
        with _session_of(request) as session:
            return recognise_token(session, token.strip(), now)
    cookie = read_cookie(request, SIGN_IN_COOKIE)
    if not cookie:
        return None
    with _session_of(request) as session:
        return recognise_browser(session, cookie, now)


def _session_of(request: Request) -> AbstractContextManager[Session]:
    reading = reading_of(request)
    if reading is None or request.method not in READS_ONLY:
        # Who writes is not made to hold two connections, one of them for a moment that is past.
        return read_session(installation_of(request).engine)
    return nullcontext(reading.session())


def require_form_token(request: Request, recognised: Recognised | None, given: str) -> None:
    """Raise WrongFormToken unless what was sent came from a form made for this browser.

    A program with a token carries no cookie, so nobody can make it send anything.
    """
    if recognised is not None and recognised.token_id is not None:
        return
    if recognised is not None:
        expected = recognised.form_sha256 or ""
    else:
        expected = digest(form_token(read_cookie(request, STRANGER_COOKIE)))
    if not given and request.url.path.startswith("/api/"):
        raise WrongFormToken(
            "A program sends no cookie of a browser but a token of its own, made with"
            " 'hingebook token NAME', as the header 'Authorization: Bearer TOKEN'. A page of"
            f" Hingebook that writes here sends its form token as {FORM_TOKEN_HEADER}."
        )
    if not given or not hmac.compare_digest(digest(_unmasked(given)), expected):
        raise WrongFormToken("This form was made before you last signed in; nothing was kept.")


def form_token_for(request: Request) -> str:
    """Return the token for the forms of this page; a stranger's browser gets a cookie for it."""
    recognised: Recognised | None = getattr(request.state, "recognised", None)
    name = SIGN_IN_COOKIE if recognised and recognised.sign_in_id else STRANGER_COOKIE
    cookie = read_cookie(request, name)
    if not cookie:
        cookie = new_secret()
        request.state.new_stranger_cookie = cookie
    return _masked(form_token(cookie))


def _masked(token: str) -> str:
    """Return a token as no page has shown it before.

    Pages are sent compressed, and by how long they are one could otherwise guess what in
    them is the same each time.
    """
    pad = secrets.token_bytes(len(token) // 2)
    return pad.hex() + _xor(pad, bytes.fromhex(token)).hex()


def _unmasked(given: str) -> str:
    """Return the token behind what a form sent; what was never masked as it is."""
    if len(given) != MASKED_LETTERS:
        return given
    try:
        told = bytes.fromhex(given)
    except ValueError:
        return given
    half = len(told) // 2
    return _xor(told[:half], told[half:]).hex()


def _xor(one: bytes, other: bytes) -> bytes:
    return bytes(a ^ b for a, b in zip(one, other, strict=True))


def read_cookie(request: Request, name: str) -> str:
    """Return the cookie, empty if there is none."""
    return request.cookies.get(cookie_name(installation_of(request).settings, name), "")


def cookie_name(settings: Settings, name: str) -> str:
    """Return the name under which a cookie is kept: over https it is bound to this host."""
    return f"__Host-{name}" if settings.is_https else name


def set_sign_in_cookie(response: Response, settings: Settings, cookie: str) -> None:
    """Give the browser its cookie."""
    _set(response, settings, SIGN_IN_COOKIE, cookie, int(LONGEST.total_seconds()))


def set_stranger_cookie(response: Response, settings: Settings, cookie: str) -> None:
    """Give a browser the cookie to which its forms are bound; it goes with the window."""
    _set(response, settings, STRANGER_COOKIE, cookie, None)


def _set(
    response: Response, settings: Settings, name: str, cookie: str, max_age_s: int | None
) -> None:
    response.set_cookie(
        cookie_name(settings, name),
        cookie,
        max_age=max_age_s,
        path="/",
        secure=settings.is_https,
        httponly=True,
        samesite="lax",
    )


def clear_sign_in(response: Response, settings: Settings) -> None:
    """Take the cookie back, and the pages that the browser kept.

    What was typed and has not arrived waits for its person: hingebook.js asks what becomes of it.
    """
    response.delete_cookie(
        cookie_name(settings, SIGN_IN_COOKIE), path="/", secure=settings.is_https, httponly=True
    )
    response.headers["Clear-Site-Data"] = '"cache"'
