"""What is one running installation made of?

Settings, database, clock and templates, made once by `create_app` and found again by
every request.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime

from anyio import Semaphore
from httpx import BaseTransport
from jinja2 import Environment
from sqlalchemy import Engine
from starlette.requests import HTTPConnection

from api.settings import Settings
from models.actions.reminders import Senders
from models.exchange.reminder_sending import LookUp, look_up

# Fewer than the connections of either database (30 at least) and than the threads (40).
MOST_AT_ONCE = 24


@dataclass
class Installation:
    """The parts that requests share. `clock` gives an aware time; tests set their own."""

    settings: Settings
    engine: Engine
    clock: Callable[[], datetime]
    templates: Environment
    room: Semaphore = field(default_factory=lambda: Semaphore(MOST_AT_ONCE))
    # By what webhooks travel and hosts are looked up; tests carry them to themselves.
    transport: BaseTransport | None = None
    find_host: LookUp = look_up

    def today(self) -> date:
        """Return the day where the installation is."""
        return self.settings.day_at(self.clock())

    def senders(self) -> Senders:
        """Return by what reminders leave this installation."""
        return Senders(self.settings.mail_server, self.transport, self.find_host)


def installation_of(request: HTTPConnection) -> Installation:
    """Return the installation that this request came to."""
    installation: Installation = request.app.state.installation
    return installation
