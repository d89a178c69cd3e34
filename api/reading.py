"""By which session does a request read?

By one, from recognising who asks to the last of its page: all of it sees the same moment of
the database, and no second connection is begun and ended for it. It is opened when something
is asked for, and closed when the route has given its answer.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import ParamSpec, TypeVar

from sqlalchemy import Engine
from sqlmodel import Session
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from models.database import is_sqlite, read_session

P = ParamSpec("P")
T = TypeVar("T")
READS_ONLY = frozenset({"GET", "HEAD", "OPTIONS"})


class Reading:
    """What one request reads by."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._opened: AbstractContextManager[Session] | None = None
        self._session: Session | None = None

    def session(self) -> Session:
        """Return the session; the database is not asked before it is."""
        if self._session is None:
            self._opened = read_session(self._engine)
            self._session = self._opened.__enter__()
        return self._session

    async def close(self) -> None:
        """Let the moment go, whatever has become of the request."""
        opened, self._opened, self._session = self._opened, None, None
        if opened is not None:
            await in_good_time(self._engine, opened.__exit__, None, None, None)


async def in_good_time(engine: Engine, ask: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """Ask the database something small and return its answer; others are not made to wait.

    A reader of SQLite waits for nobody, and is answered sooner than a thread is found for it;
    what goes to a server and back is left to a thread.
    """
    if is_sqlite(engine):
        return ask(*args, **kwargs)
    return await run_in_threadpool(ask, *args, **kwargs)


def reading_of(request: Request) -> Reading | None:
    """Return what this request reads by; None before and after its route is at work."""
    reading: Reading | None = getattr(request.state, "reading", None)
    return reading
