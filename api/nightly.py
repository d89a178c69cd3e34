"""Who keeps the stored forecasts true while nobody is at the command line?

Every serving process has one thread for it. It looks every few seconds whether works are
marked or a night's renewal is due, and works off one batch after another, each a short
transaction; between two batches it stops at once when the server does. Of several processes
one holds the lease.
"""

import logging
import os
import secrets
import socket
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import datetime

import anyio
from anyio import CapacityLimiter, Event, to_thread
from sqlalchemy import Engine

from api.settings import Settings
from models.actions.renewal import Renewer

# Between two looks when nothing is to be done, and between two batches for others to write.
IDLE_S = 5.0
BREATH_S = 0.05

_log = logging.getLogger("hingebook.nightly")


def renewer_of(settings: Settings, engine: Engine, clock: Callable[[], datetime]) -> Renewer:
    """Return whoever renews forecasts for this process."""
    return Renewer(
        engine=engine,
        holder=f"{socket.gethostname()} {os.getpid()} {secrets.token_hex(4)}",
        clock=lambda: settings.local(clock()),
        renew_at=settings.renew_at,
    )


@asynccontextmanager
async def forecasts_kept_true(renewer: Renewer) -> AsyncIterator[None]:
    """Work in the background as long as this is open; end after the batch at hand."""
    stopping = Event()
    async with anyio.create_task_group() as tasks:
        tasks.start_soon(_go_on, renewer, stopping)
        try:
            yield
        finally:
            stopping.set()


async def _go_on(renewer: Renewer, stopping: Event) -> None:
    # Not one of the threads in which requests are answered.
    own_thread = CapacityLimiter(1)
    is_at_it = False
    while not stopping.is_set():
        has_more = await to_thread.run_sync(_one_turn, renewer, limiter=own_thread)
        if is_at_it and not has_more:
            await to_thread.run_sync(_stop, renewer, limiter=own_thread)
        is_at_it = has_more
        with anyio.move_on_after(BREATH_S if has_more else IDLE_S):
            await stopping.wait()
    if is_at_it:
        await to_thread.run_sync(_stop, renewer, limiter=own_thread)


def _one_turn(renewer: Renewer) -> bool:
    # Whatever happens, the next turn may find it mended: a full disk, a database restarted.
    try:
        return renewer.turn()
    except Exception:
        _log.exception("Forecasts could not be renewed; they are tried again.")
        return False


def _stop(renewer: Renewer) -> None:
    try:
        renewer.stop()
    except Exception:
        _log.exception("The lease was not given back; it ends by itself.")
