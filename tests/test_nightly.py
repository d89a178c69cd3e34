"""While the server runs, marked works are worked out, and it ends cleanly."""

import logging
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, time
from functools import partial

import anyio
import pytest
from sqlalchemy import Engine

from api import nightly
from api.nightly import forecasts_kept_true
from models.actions.renewal import FORECASTS, Renewer, refresh_or_mark, take_lease
from models.database import read_session, write_session
from models.rules.calendar_days import day_number
from models.tables.renewal import count_stale
from tests.builders import a_work, key_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = day_number(NOON.date())
LONGEST_S = 30.0


def marked(engine: Engine) -> int:
    with read_session(engine) as session:
        return count_stale(session)


def a_renewer(engine: Engine, clock: Callable[[], datetime] = lambda: NOON) -> Renewer:
    return Renewer(engine=engine, holder="this server", clock=clock, renew_at=time(3, 15))


async def served_until(renewer: Renewer, is_reached: Callable[[], Awaitable[bool]]) -> None:
    async with forecasts_kept_true(renewer):
        with anyio.fail_after(LONGEST_S):
            while not await is_reached():
                await anyio.sleep(0.01)


def test_marked_works_are_worked_out_while_the_server_runs(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.actions.renewal.AT_ONCE", 1)
    with write_session(engine) as session:
        keys = [key_of(a_work(session, number=number)) for number in "ABC"]
        refresh_or_mark(session, keys, today=TODAY)
    assert marked(engine) == 3

    async def are_worked_out() -> bool:
        return await anyio.to_thread.run_sync(marked, engine) == 0

    anyio.run(partial(served_until, a_renewer(engine), are_worked_out))
    assert take_lease(engine, FORECASTS, holder="another", now=NOON), "the lease was given back"


def test_a_turn_that_failed_is_tried_again(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(nightly, "IDLE_S", 0.01)
    asked: list[datetime] = []

    def clock() -> datetime:
        asked.append(NOON)
        if len(asked) == 1:
            raise OSError("The disk is full.")
        return NOON

    async def was_asked_again() -> bool:
        return len(asked) > 1

    with caplog.at_level(logging.ERROR):
        anyio.run(partial(served_until, a_renewer(engine, clock), was_asked_again))
    assert [record.message for record in caplog.records] == [
        "Forecasts could not be renewed; they are tried again."
    ]
