"""Where do reminders go, and which have not arrived yet?"""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Index, delete, func
from sqlalchemy import select as columns
from sqlalchemy.orm import aliased
from sqlmodel import Session, col, select

from models.tables.base import (
    Derived,
    Record,
    day,
    flag,
    key,
    link,
    moment,
    note,
    secret,
    strict,
    version,
    whole,
    word,
)
from models.vocabulary import ReminderWay

MOST_TRIES = 100


class ReminderTarget(Record, table=True):
    """Where a keeper wants reminders to go. Address and secret are never logged or shown whole."""

    __tablename__ = "reminder_target"

    id: int | None = key()
    way: ReminderWay = word("way", ReminderWay)
    address: str = secret()
    signing_secret: str | None = secret(nullable=True)
    every_days: int = whole("every_days", 1, 31, nullable=False, default=7)
    person_id: int = link("person.id")
    ended: bool = flag()
    version: int = version()


class ReminderSent(Derived, table=True):
    """One reminder: what it says, how often it was tried, and whether it arrived."""

    __tablename__ = "reminder_sent"
    __table_args__ = strict(
        Index("uq_reminder_sent_target_id_for_day", "target_id", "for_day", unique=True)
    )

    id: int | None = key()
    target_id: int = link("reminder_target.id", index=False)
    for_day: int | None = day("for_day")
    subject: str = note("subject")
    text: str = note("text")
    tries: int = whole("tries", 0, MOST_TRIES, nullable=False, default=0)
    next_at: datetime | None = moment(nullable=True, index=True)
    arrived: bool = flag()
    fault: str = note("fault")


class TargetRow(NamedTuple):
    """A target in force, and its last reminder: for which day, whether it arrived, what failed."""

    id: int
    way: ReminderWay
    address: str
    signing_secret: str | None
    every_days: int
    last_day: int | None
    arrived: bool | None
    fault: str | None


class WaitingRow(NamedTuple):
    """A reminder that is to be sent now, and where to."""

    id: int
    target_id: int
    way: ReminderWay
    address: str
    signing_secret: str | None
    for_day: int
    subject: str
    text: str
    tries: int


def reminder_targets(session: Session) -> list[TargetRow]:
    """Return the targets in force in the order in which they were made."""
    any_of_it = aliased(ReminderSent)
    newest = columns(func.max(col(any_of_it.id))).correlate(ReminderTarget)
    newest = newest.where(col(any_of_it.target_id) == col(ReminderTarget.id))
    found = columns(
        col(ReminderTarget.id),
        col(ReminderTarget.way),
        col(ReminderTarget.address),
        col(ReminderTarget.signing_secret),
        col(ReminderTarget.every_days),
        col(ReminderSent.for_day),
        col(ReminderSent.arrived),
        col(ReminderSent.fault),
    )
    found = found.select_from(ReminderTarget).outerjoin(
        ReminderSent, col(ReminderSent.id) == newest.scalar_subquery()
    )
    found = found.where(~col(ReminderTarget.ended)).order_by(col(ReminderTarget.id))
    return [TargetRow(*row) for row in session.execute(found)]


def reminders_waiting(session: Session, *, now: datetime) -> list[WaitingRow]:
    """Return what is to be sent by now, the oldest first."""
    found = columns(
        col(ReminderSent.id),
        col(ReminderTarget.id),
        col(ReminderTarget.way),
        col(ReminderTarget.address),
        col(ReminderTarget.signing_secret),
        col(ReminderSent.for_day),
        col(ReminderSent.subject),
        col(ReminderSent.text),
        col(ReminderSent.tries),
    )
    found = found.join_from(ReminderSent, ReminderTarget)
    found = found.where(~col(ReminderTarget.ended), ~col(ReminderSent.arrived))
    found = found.where(col(ReminderSent.next_at) <= now).order_by(col(ReminderSent.id))
    return [WaitingRow(*row) for row in session.execute(found)]


def get_target(session: Session, target_id: int) -> ReminderTarget | None:
    """Return a target in force, held to be changed; None for no such."""
    found = select(ReminderTarget).where(ReminderTarget.id == target_id, ~col(ReminderTarget.ended))
    return session.exec(found.with_for_update()).first()


def forget_reminders(session: Session, *, before: int) -> None:
    """Delete what was sent for days before this one, but the last that went to each address."""
    last = columns(func.max(col(ReminderSent.id))).group_by(col(ReminderSent.target_id))
    old = delete(ReminderSent).where(col(ReminderSent.for_day) < before)
    session.connection().execute(old.where(col(ReminderSent.id).not_in(last)))
