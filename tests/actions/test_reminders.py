"""Reminders are written down, sent, tried again and given up."""

import json
from datetime import datetime, timedelta

import httpx
import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from models.actions.change_log import recording
from models.actions.reminders import (
    NO_MAIL_SERVER,
    Senders,
    TargetTold,
    add_target,
    end_target,
    list_targets,
    send_reminders,
    send_test,
)
from models.database import read_session, write_session
from models.errors import BadValue, NotAllowed, NotFound
from models.exchange.reminder_sending import NotSent
from models.tables.log import LogEntry
from models.tables.people import Person
from models.tables.reminders import ReminderSent, forget_reminders
from models.tables.visible import Viewer
from models.vocabulary import ReminderWay, Role
from tests.actions.remats_at_hand import NOW, a_work_to_remat
from tests.with_app import NOON

ADDRESS = "https://hooks.example.org/its-own-secret-path"
SECRET = "a secret for tests"
HOOK = TargetTold(way=ReminderWay.WEBHOOK, address=ADDRESS, secret=SECRET)


class Listener:
    """Somebody at the other end who answers as told and keeps what came."""

    def __init__(self, *answers: int) -> None:
        self.answers = list(answers)
        self.came: list[httpx.Request] = []

    def __call__(self, request: httpx.Request) -> httpx.Response:
        self.came.append(request)
        return httpx.Response(self.answers.pop(0) if self.answers else 204)

    @property
    def senders(self) -> Senders:
        return Senders(None, httpx.MockTransport(self), lambda host, port: ["93.184.215.14"])


@pytest.fixture
def keeper(engine: Engine) -> Viewer:
    with recording(engine, actor="test", now=NOON) as session:
        session.add(Person(name="A. Keeper", role=Role.KEEPER))
        a_work_to_remat(session, number="GH 1", title="Tern", owner="The Gannet House")
    return Viewer(person_id=1, role=Role.KEEPER)


def tell(engine: Engine, keeper: Viewer, told: TargetTold = HOOK) -> int:
    with recording(engine, actor="person:1", now=NOON) as session:
        return add_target(session, keeper, told)


def send(engine: Engine, listener: Listener, *, day: int = NOW, at: datetime = NOON) -> int:
    return send_reminders(engine, listener.senders, today=day, now=at)


def kept(engine: Engine) -> list[tuple[int | None, int, bool, str]]:
    with read_session(engine) as session:
        rows = session.exec(select(ReminderSent).order_by(ReminderSent.id))  # type: ignore[arg-type]
        return [(row.for_day, row.tries, row.arrived, row.fault) for row in rows]


def test_a_reminder_tells_numbers_and_dates_and_neither_title_owner_nor_place(
    engine: Engine, keeper: Viewer
) -> None:
    tell(engine, keeper)
    listener = Listener()
    assert send(engine, listener) == 1
    (request,) = listener.came
    told = json.loads(request.content)
    assert {line["number"] for line in told["due"]} == {"GH 1"}
    assert set(told) == {"day", "overdue", "more", "due"}
    assert {key for line in told["due"] for key in line} == {
        "kind",
        "on",
        "overdue",
        "number",
        "works",
    }
    for word in ("Tern", "Gannet"):
        assert word not in request.content.decode()


def test_it_goes_out_once_in_so_many_days(engine: Engine, keeper: Viewer) -> None:
    tell(engine, keeper)
    listener = Listener()
    sent = [send(engine, listener, day=NOW + n, at=NOON + timedelta(days=n)) for n in range(9)]
    assert sent == [1, 0, 0, 0, 0, 0, 0, 1, 0]


def test_what_did_not_arrive_is_sent_again_when_its_time_has_come(
    engine: Engine, keeper: Viewer
) -> None:
    tell(engine, keeper)
    listener = Listener(500, 204)
    assert send(engine, listener) == 0
    assert kept(engine) == [(NOW, 1, False, "It was answered with 500.")]
    assert send(engine, listener, at=NOON + timedelta(minutes=4)) == 0
    assert len(listener.came) == 1
    assert send(engine, listener, at=NOON + timedelta(minutes=5)) == 1
    assert kept(engine) == [(NOW, 2, True, "")]
    numbers = [request.headers["Hingebook-Reminder"] for request in listener.came]
    assert numbers[0] == numbers[1]


def test_after_six_tries_it_is_given_up(engine: Engine, keeper: Viewer) -> None:
    tell(engine, keeper)
    listener = Listener(*[500] * 20)
    for day in range(7):
        send(engine, listener, day=NOW, at=NOON + timedelta(days=day))
    assert kept(engine) == [(NOW, 6, False, "It was answered with 500.")]


def test_where_reminders_ended_none_is_sent(engine: Engine, keeper: Viewer) -> None:
    target = tell(engine, keeper)
    with recording(engine, actor="person:1", now=NOON) as session:
        end_target(session, keeper, target)
    assert send(engine, Listener()) == 0
    assert kept(engine) == []
    with recording(engine, actor="person:1", now=NOON) as session, pytest.raises(NotFound):
        end_target(session, keeper, target)


def test_when_nothing_is_due_nothing_is_sent(engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        session.add(Person(name="A. Keeper", role=Role.KEEPER))
    tell(engine, Viewer(person_id=1, role=Role.KEEPER))
    assert send(engine, Listener()) == 0
    assert kept(engine) == []


def test_a_test_goes_out_at_once_or_says_why_not(engine: Engine, keeper: Viewer) -> None:
    target = tell(engine, keeper)
    listener = Listener(204, 302)
    send_test(engine, keeper, target, listener.senders, now=NOON)
    assert listener.came[0].content == b'{"test":true}'
    with pytest.raises(NotSent, match="sent elsewhere"):
        send_test(engine, keeper, target, listener.senders, now=NOON)
    letters = tell(engine, keeper, TargetTold(way=ReminderWay.E_MAIL, address="studio@example.org"))
    with pytest.raises(NotSent) as refused:
        send_test(engine, keeper, letters, listener.senders, now=NOON)
    assert refused.value.message == NO_MAIL_SERVER
    with pytest.raises(NotFound):
        send_test(engine, keeper, 99, listener.senders, now=NOON)


def test_neither_address_nor_secret_is_in_the_log_or_on_the_list(
    engine: Engine, keeper: Viewer
) -> None:
    tell(engine, keeper)
    with read_session(engine) as session:
        logged = " ".join(str(entry.payload) for entry in session.exec(select(LogEntry)))
        (shown,) = list_targets(session, keeper)
    assert "reminder_target" in logged
    assert "its-own-secret-path" not in logged
    assert SECRET not in logged
    assert shown.where == "hooks.example.org"


def test_every_fault_of_a_target_is_named(session: Session) -> None:
    told = TargetTold(way=ReminderWay.WEBHOOK, address="nowhere", secret="short", every_days=0)
    with pytest.raises(BadValue) as refused:
        add_target(session, Viewer(person_id=1, role=Role.KEEPER), told)
    pointers = {fault.pointer for fault in refused.value.faults}
    assert pointers == {"/address", "/every_days", "/secret"}


def test_only_a_keeper_says_where_reminders_go(session: Session) -> None:
    with pytest.raises(NotAllowed):
        list_targets(session, Viewer(person_id=2, role=Role.FRAMER))


def test_what_was_sent_long_ago_is_forgotten_but_for_the_last(
    engine: Engine, keeper: Viewer
) -> None:
    tell(engine, keeper)
    listener = Listener()
    for day in (NOW, NOW + 7, NOW + 14):
        send(engine, listener, day=day, at=NOON + timedelta(days=day - NOW))
    with write_session(engine) as session:
        forget_reminders(session, before=NOW + 7)
    assert [day for day, *_ in kept(engine)] == [NOW + 7, NOW + 14]
    with write_session(engine) as session:
        forget_reminders(session, before=NOW + 1000)
    assert [day for day, *_ in kept(engine)] == [NOW + 14]
