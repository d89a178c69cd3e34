"""What may a route ask for, by naming a type?

`ReadSession` sees one moment of the database; `WriteSession` is one transaction, logged and
committed before the answer is sent, and dropped when the answer is a refusal; `TrialSession`
is one that is always dropped, for what is only tried. `SignedIn` is
who asks, `Today` the day where the installation is. Every route also declares its rule,
`requires(Deed.…)` or `open_to_all`; the program does not start when one is missing.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.routing import APIRoute, iter_route_contexts
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from sqlalchemy import Engine
from sqlmodel import Session
from starlette.responses import Response
from starlette.routing import BaseRoute

from api.installation import Installation, installation_of
from api.reading import READS_ONLY, in_good_time, reading_of
from api.routes import REPEAT_KEY_HEADER, Sent
from api.sign_in import NotSignedIn, is_known, recognise, require_form_token
from models.actions.change_log import recording
from models.actions.repeated_requests import (
    LONGEST_KEY,
    Answered,
    Repeatable,
    answer_given,
    keep_answer,
)
from models.actions.sign_ins import Recognised
from models.database import write_session
from models.errors import BadValue, NotFound
from models.rules.permissions import Deed, may, require
from models.tables.visible import Viewer

REFUSED = 400
FOR_PROGRAMS = "Sign in first; a program sends its token as Authorization: Bearer."
FOR_PEOPLE = "Your sign-in is over, and nothing was kept."


# Each asks the request itself: a dependency of a dependency is solved anew for every request,
# and for each that names it.
async def _installation(request: Request) -> Installation:
    return installation_of(request)


async def _now(request: Request) -> datetime:
    return installation_of(request).clock()


async def _today(request: Request) -> date:
    return installation_of(request).today()


async def _engine(request: Request) -> Engine:
    return installation_of(request).engine


Here = Annotated[Installation, Depends(_installation)]


Now = Annotated[datetime, Depends(_now)]
Today = Annotated[date, Depends(_today)]
Database = Annotated[Engine, Depends(_engine)]


async def _recognised(request: Request) -> Recognised | None:
    now = installation_of(request).clock()
    if is_known(request, now):
        # Asked for at the door, or by the rule of the route: no thread need be waited for again.
        return recognise(request, now)
    return await in_good_time(installation_of(request).engine, recognise, request, now)


MaybeSignedIn = Annotated[Recognised | None, Depends(_recognised)]


# Read by `recognise`; here it is named for the description of the API.
_bearer = HTTPBearer(auto_error=False, description="A token of `hingebook token NAME`.")
BearerNamed = Annotated[HTTPAuthorizationCredentials | None, Depends(_bearer)]


async def _signed_in(request: Request) -> Viewer:
    return _viewer(request, await _recognised(request))


def _viewer(request: Request, recognised: Recognised | None) -> Viewer:
    if recognised is None:
        is_program = request.url.path.startswith("/api/")
        raise NotSignedIn(FOR_PROGRAMS if is_program else FOR_PEOPLE)
    return recognised.viewer


SignedIn = Annotated[Viewer, Depends(_signed_in)]


@dataclass(frozen=True)
class _Requires:
    """The rule of a route: somebody who may do this. What they may not read is not there."""

    deed: Deed

    def ask_at_the_door(self, request: Request) -> None:
        """Raise for whoever may not do this. Raises NotSignedIn, NotAllowed."""
        recognised = recognise(request, installation_of(request).clock())
        require(_viewer(request, recognised).role, self.deed)

    async def __call__(self, request: Request, _bearer: BearerNamed) -> None:
        recognised = await _recognised(request)
        viewer = _viewer(request, recognised)
        if request.method in READS_ONLY:
            if not may(viewer.role, self.deed):
                raise NotFound("page", request.url.path)
            return
        require_form_token(request, recognised, _sent(request).form_token)
        require(viewer.role, self.deed)


@dataclass(frozen=True)
class _OpenToAll:
    """The rule of a route that strangers may use; what they write comes from our own forms."""

    async def __call__(self, request: Request) -> None:
        recognised = await _recognised(request)
        if request.method not in READS_ONLY:
            require_form_token(request, recognised, _sent(request).form_token)


def requires(deed: Deed) -> Any:
    """Return the rule that whoever asks is signed in and may do this; for `dependencies=[…]`."""
    return Depends(_Requires(deed))


open_to_all: Any = Depends(_OpenToAll())


def rules_of(route: Any) -> list[Deed | None]:
    """Return the deeds that a route requires, None for one that is open to all."""
    rules = [depends.dependency for depends in getattr(route, "dependencies", ())]
    found = [rule for rule in rules if isinstance(rule, _Requires | _OpenToAll)]
    return [rule.deed if isinstance(rule, _Requires) else None for rule in found]


def require_a_rule_for_every_route(routes: list[BaseRoute]) -> None:
    """Raise when a route does not say who may use it."""
    bare = [
        f"{sorted(route.methods or ())} {route.path}"
        for route in iter_route_contexts(routes)
        if isinstance(route.original_route, APIRoute) and not rules_of(route)
    ]
    if bare:
        raise RuntimeError(f"Nobody said who may use {', '.join(bare)}.")


def _sent(request: Request) -> Sent:
    sent: Sent = request.state.sent
    return sent


async def _read_session(request: Request) -> Session:
    reading = reading_of(request)
    assert reading is not None, "a route of ours is at work"
    return reading.session()


class _Refused(Exception):
    """What was written is dropped: the answer is a refusal, or it was only tried."""


class SentAgain(Exception):
    """This request was answered before; the answer is given again."""

    def __init__(self, answered: Answered) -> None:
        super().__init__()
        self.answered = answered


def _open_write_session(request: Request) -> Iterator[Session]:
    """One request, one transaction, one entry in the log; kept only if the answer is no refusal."""
    engine, now = installation_of(request).engine, installation_of(request).clock()
    viewer = _viewer(request, recognise(request, now))
    actor = f"person:{viewer.person_id}"
    repeatable = _repeatable(request, viewer)
    try:
        with recording(engine, actor=actor, now=now) as session:
            if repeatable and (answered := answer_given(session, repeatable, now)):
                raise SentAgain(answered)
            yield session
            answer: Response = request.state.answer
            if answer.status_code >= REFUSED or not getattr(request.state, "keep", True):
                raise _Refused
            if repeatable:
                keep_answer(session, repeatable, _as_kept(answer))
    except _Refused:
        return


def _open_trial_session(request: Request) -> Iterator[Session]:
    try:
        with write_session(installation_of(request).engine) as session:
            yield session
            raise _Refused
    except _Refused:
        return


def _repeatable(request: Request, viewer: Viewer) -> Repeatable | None:
    sent = _sent(request)
    if not sent.repeat_key or request.method != "POST":
        return None
    if not re.fullmatch(rf"[!-~]{{1,{LONGEST_KEY}}}", sent.repeat_key):
        raise BadRepeatKey(f"Give 1 to {LONGEST_KEY} plain characters as {REPEAT_KEY_HEADER}.")
    where = f"{request.method} {request.url.path}"
    return Repeatable(viewer.person_id, sent.repeat_key, where, sent.body_sha256)


class BadRepeatKey(BadValue):
    """The key of a request cannot be one."""

    code = "bad_idempotency_key"


def _as_kept(answer: Response) -> Answered:
    body = bytes(answer.body).decode() if answer.body else None
    return Answered(answer.status_code, answer.headers.get("location"), body)


ReadSession = Annotated[Session, Depends(_read_session)]
# Committed before the answer is sent: with any other scope a failed commit would answer 200.
WriteSession = Annotated[Session, Depends(_open_write_session, scope="function")]
TrialSession = Annotated[Session, Depends(_open_trial_session, scope="function")]
