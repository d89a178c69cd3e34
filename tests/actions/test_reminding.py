"""Reminders leave a running installation in the morning, sent by one process."""

from datetime import UTC, datetime, timedelta

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import Engine

from api.installation import Installation
from api.reminding import LEASE, remind
from models.actions.change_log import recording
from models.actions.reminders import TargetTold, add_target
from models.actions.renewal import take_lease
from models.tables.people import Person
from models.tables.visible import Viewer
from models.vocabulary import ReminderWay, Role
from tests.actions.remats_at_hand import a_work_to_remat
from tests.with_app import (
    NOON,
    Clock,
    app,
    clock,
    make_app,
    on_sqlite_only,
    settings,
)

__all__ = ["app", "clock", "make_app", "on_sqlite_only", "settings"]

NIGHT = datetime(2026, 11, 25, 3, tzinfo=UTC)
HOOK = TargetTold(
    way=ReminderWay.WEBHOOK, address="https://hooks.example.org/due", secret="a secret for tests"
)


@pytest.fixture
def here(app: FastAPI, engine: Engine) -> Installation:
    with recording(engine, actor="test", now=NOON) as session:
        session.add(Person(name="A. Keeper", role=Role.KEEPER))
        a_work_to_remat(session, number="GH 1")
        add_target(session, Viewer(person_id=1, role=Role.KEEPER), HOOK)
    installation: Installation = app.state.installation
    installation.transport = httpx.MockTransport(lambda _: httpx.Response(204))
    installation.find_host = lambda host, port: ["93.184.215.14"]
    return installation


def test_what_is_new_waits_for_the_morning(here: Installation, clock: Clock) -> None:
    clock.now = NIGHT
    assert remind(here, holder="one") == 0
    clock.move(timedelta(hours=3))
    assert remind(here, holder="one") == 1
    assert remind(here, holder="one") == 0


def test_while_another_process_is_at_it_this_one_sends_nothing(here: Installation) -> None:
    assert take_lease(here.engine, LEASE, holder="other", now=NOON)
    assert remind(here, holder="one") == 0
