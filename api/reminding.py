"""Who sends reminders while nobody is at the command line?

Every serving process has one thread for it, apart from that of the forecasts: a host that
does not answer must not keep a night's renewal waiting. It looks every minute whether
something is to go out; of several processes one holds the lease. Before the morning
nothing new goes out, so that a reminder tells what the night has worked out.
"""

import logging
import os
import secrets
import socket
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import anyio
from anyio import CapacityLimiter, Event, to_thread

from api.installation import Installation
from models.actions.reminders import is_to_send, send_reminders
from models.actions.renewal import give_back, take_lease
from models.rules.calendar_days import day_number

LOOK_EVERY_S = 60.0
# Hour of the day where the installation is. Default of this project.
MORNING_HOUR = 6
LEASE = "reminders"

_log = logging.getLogger("hingebook.reminding")


@asynccontextmanager
async def reminders_sent(installation: Installation) -> AsyncIterator[None]:
    """Send reminders in the background as long as this is open; end after the one at hand."""
    stopping = Event()
    async with anyio.create_task_group() as tasks:
        tasks.start_soon(_go_on, installation, stopping)
        try:
            yield
        finally:
            stopping.set()


def remind(installation: Installation, *, holder: str) -> int:
    """Send what is to go out now, if nobody else is at it; return how many arrived."""
    now = installation.clock()
    today = day_number(installation.settings.day_at(now))
    is_morning = installation.settings.local(now).hour >= MORNING_HOUR
    engine = installation.engine
    if not is_to_send(engine, today=today if is_morning else None, now=now):
        return 0
    if not take_lease(engine, LEASE, holder=holder, now=now):
        return 0
    try:
        return send_reminders(
            engine, installation.senders(), today=today if is_morning else None, now=now
        )
    finally:
        give_back(engine, LEASE, holder=holder, now=installation.clock())


async def _go_on(installation: Installation, stopping: Event) -> None:
    # Not one of the threads in which requests are answered.
    own_thread = CapacityLimiter(1)
    holder = f"{socket.gethostname()} {os.getpid()} {secrets.token_hex(4)}"
    while not stopping.is_set():
        with anyio.move_on_after(LOOK_EVERY_S):
            await stopping.wait()
        if not stopping.is_set():
            await to_thread.run_sync(_one_turn, installation, holder, limiter=own_thread)


def _one_turn(installation: Installation, holder: str) -> None:
    # Whatever happens, the next turn may find it mended.
    try:
        remind(installation, holder=holder)
    except Exception:
        _log.exception("Reminders could not be sent; they are tried again.")
