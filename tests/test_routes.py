"""Who may use which route: the table is made from the rules that the routes declare."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from sqlalchemy import Engine

from api.dependencies import rules_of
from api.routes import READS_ONLY
from models.rules.permissions import Deed, may
from models.vocabulary import Role
from tests.with_app import (
    NAMES,
    Browser,
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
    for route in declared(app):
        # Signed in anew each time: one of the routes signs out.
        status = route.ask(sign_in_as(browse(app), engine, person_id))
        if route.refused(role):
            # What one may not read is not there; what one may not do is refused in words.
            wrong += [] if status == (404 if route.reads else 403) else [(route, status)]
        elif route.deeds and status in (401, 403, 500):
            wrong.append((route, status))
    assert wrong == []
