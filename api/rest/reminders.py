"""Where reminders go, and a test of each, as programs see it."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import ConfigDict, Field

from api.dependencies import Database, Here, Now, ReadSession, SignedIn, WriteSession, requires
from api.rest.shapes import In, Name, Out, PathId
from api.routes import Route
from models.actions.reminders import (
    EVERY_DAYS,
    TargetShown,
    TargetTold,
    add_target,
    end_target,
    list_targets,
    send_test,
)
from models.exchange.reminder_sending import NotSent
from models.rules.calendar_days import day_date
from models.rules.permissions import Deed
from models.rules.reminder_text import FEWEST_DAYS, MOST_DAYS
from models.vocabulary import ReminderWay

router = APIRouter(prefix="/api/reminders", tags=["reminders"], route_class=Route)


class ReminderOut(Out):
    """Where reminders go, of a webhook the host alone; `last_on` and `arrived` of the last one."""

    id: int
    way: ReminderWay
    where: str
    every_days: int
    last_on: str | None
    arrived: bool | None
    fault: str


class RemindersOut(Out):
    """All places where reminders go."""

    items: list[ReminderOut]


class ReminderIn(In):
    """Where reminders are to go. A webhook needs a secret: it signs what is sent."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"way": "e-mail", "address": "studio@example.org", "every_days": 7},
                {
                    "way": "webhook",
                    "address": "https://hooks.example.org/due",
                    "secret": "at least sixteen characters",
                },
            ]
        }
    )

    way: ReminderWay
    address: Name
    secret: Name | None = None
    every_days: Annotated[int, Field(ge=FEWEST_DAYS, le=MOST_DAYS)] = EVERY_DAYS


class ReminderMade(Out):
    """The number of what was made or ended."""

    id: int


class TestSent(Out):
    """Whether a test arrived, and if not why."""

    arrived: bool
    fault: str


@router.get("", dependencies=[requires(Deed.KEEP_REMINDERS)])
def listed(session: ReadSession, viewer: SignedIn) -> RemindersOut:
    """List where reminders go."""
    return RemindersOut(items=[_out(target) for target in list_targets(session, viewer)])


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_REMINDERS)])
def added(session: WriteSession, viewer: SignedIn, told: ReminderIn) -> ReminderMade:
    """Say where reminders are to go."""
    target = TargetTold(
        way=told.way,
        address=told.address,
        secret=told.secret or "",
        every_days=told.every_days,
    )
    return ReminderMade(id=add_target(session, viewer, target))


@router.post("/{reminder_id}/end", dependencies=[requires(Deed.KEEP_REMINDERS)])
def ended(session: WriteSession, viewer: SignedIn, reminder_id: PathId) -> ReminderMade:
    """Send no more there."""
    end_target(session, viewer, reminder_id)
    return ReminderMade(id=reminder_id)


@router.post("/{reminder_id}/test", dependencies=[requires(Deed.KEEP_REMINDERS)])
def tested(
    engine: Database, here: Here, viewer: SignedIn, now: Now, reminder_id: PathId
) -> TestSent:
    """Send a test there now; nothing of it is kept."""
    try:
        send_test(engine, viewer, reminder_id, here.senders(), now=now)
    except NotSent as error:
        return TestSent(arrived=False, fault=error.message)
    return TestSent(arrived=True, fault="")


def _out(target: TargetShown) -> ReminderOut:
    return ReminderOut(
        id=target.id,
        way=target.way,
        where=target.where,
        every_days=target.every_days,
        last_on=None if target.last_day is None else day_date(target.last_day).isoformat(),
        arrived=target.arrived,
        fault=target.fault,
    )
