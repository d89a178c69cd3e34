"""Where do reminders go, and how are they sent?

A keeper says where. Whoever serves asks every few minutes whether something is to go
out: a reminder is written down first, with all it says, and then sent; nothing is sent
while the database is held. Each try is written down before it is made, so that whatever
dies in between, nobody is sent the same twice in a row.
"""

from dataclasses import dataclass
from datetime import datetime

import httpx
from sqlalchemy import Engine, update
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel

from models.actions.due import DueState, what_is_due
from models.actions.record_changes import key_of
from models.database import read_session, write_session
from models.errors import NotFound
from models.exchange.reminder_sending import (
    LookUp,
    MailServer,
    NotSent,
    Webhook,
    look_up,
    mail,
    post,
    require_webhook_address,
)
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults
from models.rules.reminder_text import (
    AHEAD_DAYS,
    LONGEST_NUMBER,
    MOST_LINES,
    TEST_BODY,
    TEST_LETTER,
    TEST_SUBJECT,
    Reminder,
    ReminderLine,
    body,
    goes_out,
    letter,
    next_try,
    require_every_days,
    require_mail_address,
    require_secret,
    subject,
)
from models.tables.reminders import (
    ReminderSent,
    ReminderTarget,
    TargetRow,
    get_target,
    reminder_targets,
    reminders_waiting,
)
from models.tables.visible import THE_HOUSE, Viewer
from models.vocabulary import ReminderWay

EVERY_DAYS = 7
NO_MAIL_SERVER = "No mail server is set (HINGEBOOK_SMTP_HOST)."
_SENT = SQLModel.metadata.tables[str(ReminderSent.__tablename__)]


@dataclass(frozen=True)
class Senders:
    """By what reminders leave: a mail server if there is one, and for webhooks the network."""

    mail_server: MailServer | None = None
    transport: httpx.BaseTransport | None = None
    find_host: LookUp = look_up


@dataclass(frozen=True, kw_only=True)
class TargetTold:
    """Where reminders are to go; the secret signs webhooks."""

    way: ReminderWay
    address: str
    secret: str = ""
    every_days: int = EVERY_DAYS


@dataclass(frozen=True, kw_only=True)
class TargetShown:
    """Where reminders go, of a webhook the host alone; and what became of the last one."""

    id: int
    way: ReminderWay
    where: str
    every_days: int
    last_day: int | None = None
    arrived: bool | None = None
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class _Message:
    way: ReminderWay
    address: str
    secret: str
    subject: str
    text: str
    number: str


def list_targets(session: Session, viewer: Viewer) -> tuple[TargetShown, ...]:
    """Return where reminders go, in the order in which it was said."""
    require(viewer.role, Deed.KEEP_REMINDERS)
    return tuple(_shown(row) for row in reminder_targets(session))


def add_target(session: Session, viewer: Viewer, told: TargetTold) -> int:
    """Keep where reminders are to go. Raises BadValue with every fault."""
    require(viewer.role, Deed.KEEP_REMINDERS)
    is_hook = told.way is ReminderWay.WEBHOOK
    faults = Faults()
    check = require_webhook_address if is_hook else require_mail_address
    faults.read("", check, told.address.strip())
    faults.read("", require_every_days, told.every_days)
    if is_hook:
        faults.read("", require_secret, told.secret)
    faults.refuse()
    row = ReminderTarget(
        way=told.way,
        address=told.address.strip(),
        signing_secret=told.secret if is_hook else None,
        every_days=told.every_days,
        person_id=viewer.person_id,
    )
    session.add(row)
    session.flush()
    return key_of(row)


def end_target(session: Session, viewer: Viewer, target_id: int) -> None:
    """Send no more reminders there. Raises NotFound."""
    require(viewer.role, Deed.KEEP_REMINDERS)
    row = get_target(session, target_id)
    if row is None:
        raise NotFound("reminder", target_id)
    row.ended = True
    session.flush()


def send_test(
    engine: Engine, viewer: Viewer, target_id: int, senders: Senders, *, now: datetime
) -> None:
    """Send a test there, at once and once. Raises NotFound, and NotSent with the reason."""
    require(viewer.role, Deed.KEEP_REMINDERS)
    with read_session(engine) as session:
        found = [row for row in reminder_targets(session) if row.id == target_id]
    if not found:
        raise NotFound("reminder", target_id)
    is_hook = found[0].way is ReminderWay.WEBHOOK
    message = _Message(
        way=found[0].way,
        address=found[0].address,
        secret=found[0].signing_secret or "",
        subject=TEST_SUBJECT,
        text=TEST_BODY if is_hook else TEST_LETTER,
        number=f"test-{target_id}-{now:%Y%m%dT%H%M%S}",
    )
    _send(message, senders, now=now)


def is_to_send(engine: Engine, *, today: int | None, now: datetime) -> bool:
    """Say whether a reminder may be to go out by now; `today` None: none of a new day."""
    with read_session(engine) as session:
        return bool(reminders_waiting(session, now=now) or _new_today(session, today))


def send_reminders(engine: Engine, senders: Senders, *, today: int | None, now: datetime) -> int:
    """Send what is to go out by now, and what did not arrive before; return how many arrived.

    `today` None: only what did not arrive before.
    """
    if today is not None:
        _write_down(engine, today=today, now=now)
    with read_session(engine) as session:
        waiting = reminders_waiting(session, now=now)
    arrived = 0
    for row in waiting:
        tries = row.tries + 1
        later = next_try(tries, now)
        if not _claim(engine, row.id, tries, later):
            continue
        message = _Message(
            way=row.way,
            address=row.address,
            secret=row.signing_secret or "",
            subject=row.subject,
            text=row.text,
            number=str(row.id),
        )
        fault = ""
        try:
            _send(message, senders, now=now)
        except NotSent as error:
            fault = error.message
        _note(engine, row.id, fault)
        arrived += not fault
    return arrived


def _write_down(engine: Engine, *, today: int, now: datetime) -> None:
    """Write down the reminders of today; none where nothing is due."""
    with read_session(engine) as session:
        targets = _new_today(session, today)
        reminder = _reminder(session, today=today) if targets else None
    if reminder is None or not reminder.lines:
        return
    with write_session(engine) as session:
        known = columns(_SENT.c.target_id).where(_SENT.c.for_day == today)
        written = set(session.execute(known).scalars())
        for row in targets:
            if row.id not in written:
                session.add(_written(row, reminder, now=now))


def _new_today(session: Session, today: int | None) -> list[TargetRow]:
    if today is None:
        return []
    return [
        row
        for row in reminder_targets(session)
        if goes_out(row.last_day, row.every_days, today=today)
    ]


def _written(row: TargetRow, reminder: Reminder, *, now: datetime) -> ReminderSent:
    is_hook = row.way is ReminderWay.WEBHOOK
    return ReminderSent(
        target_id=row.id,
        for_day=reminder.day,
        subject=subject(reminder),
        text=body(reminder) if is_hook else letter(reminder),
        next_at=now,
    )


def _reminder(session: Session, *, today: int) -> Reminder:
    page = what_is_due(session, THE_HOUSE, until=today + AHEAD_DAYS, today=today, limit=MOST_LINES)
    lines = tuple(
        ReminderLine(
            kind=item.kind,
            on=item.shown_on if item.on is None else item.on,
            is_overdue=item.state is DueState.OVERDUE,
            number=item.number[:LONGEST_NUMBER],
            works=item.works,
        )
        for item in page.items
    )
    return Reminder(today, lines, is_more=page.next_after is not None)


def _claim(engine: Engine, sent_id: int, tries: int, later: datetime | None) -> bool:
    """Count this try before it is made; False where somebody else is making it."""
    with write_session(engine) as session:
        counted = update(_SENT).where(_SENT.c.id == sent_id, _SENT.c.tries == tries - 1)
        found = session.connection().execute(counted.values(tries=tries, next_at=later))
    return found.rowcount == 1


def _note(engine: Engine, sent_id: int, fault: str) -> None:
    with write_session(engine) as session:
        said = update(_SENT).where(_SENT.c.id == sent_id)
        session.connection().execute(said.values(arrived=not fault, fault=fault))


def _send(message: _Message, senders: Senders, *, now: datetime) -> None:
    if message.way is ReminderWay.WEBHOOK:
        hook = Webhook(
            address=message.address,
            secret=message.secret,
            content=message.text,
            number=message.number,
        )
        post(hook, now=now, transport=senders.transport, find=senders.find_host)
        return
    if senders.mail_server is None:
        raise NotSent(NO_MAIL_SERVER)
    mail(
        senders.mail_server,
        message.address,
        message.subject,
        message.text,
        now=now,
        number=message.number,
    )


def _shown(row: TargetRow) -> TargetShown:
    is_hook = row.way is ReminderWay.WEBHOOK
    return TargetShown(
        id=row.id,
        way=row.way,
        where=httpx.URL(row.address).host if is_hook else row.address,
        every_days=row.every_days,
        last_day=row.last_day,
        arrived=row.arrived,
        fault=row.fault or "",
    )
