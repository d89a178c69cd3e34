"""Fixtures of the app for these tests.

On SQLite: that every page says the same on PostgreSQL is tested with the demonstration, what is
written on both beside the actions. A module whose pages write what no action writes, drafts and
sign-ins, imports `fresh_url` for both.
"""

from collections.abc import Callable

import pytest
from fastapi import FastAPI
from sqlalchemy import event

from tests.with_app import (
    Browser,
    app,
    browse,
    clock,
    framer,
    keeper,
    make_app,
    on_sqlite_only,
    owner,
    portal,
    program,
    settings,
    stranger,
)

__all__ = [
    "app",
    "browse",
    "clock",
    "framer",
    "keeper",
    "make_app",
    "on_sqlite_only",
    "owner",
    "portal",
    "program",
    "settings",
    "stranger",
]


@pytest.fixture
def statements_of(app: FastAPI) -> Callable[[Browser, str], int]:
    """Count the statements that a page takes."""
    engine = app.state.installation.engine

    def count(browser: Browser, path: str) -> int:
        sent: list[str] = []

        def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
            if statement.lstrip().upper().startswith(("SELECT", "WITH")):
                sent.append(statement)

        event.listen(engine, "before_cursor_execute", note)
        try:
            assert browser.get(path).status_code == 200
        finally:
            event.remove(engine, "before_cursor_execute", note)
        return len(sent)

    return count
