"""How does an invented collection come into an empty folder, and never anywhere else?

A file in the folder says that nothing in it is real. Without that file the demonstration
goes only into a folder that is empty or not there yet, and deletes nothing. It brings an
SQLite file of its own, and is recorded in one transaction: cut off, it begins again.
"""

import shutil
from datetime import datetime
from functools import partial
from pathlib import Path

from sqlmodel import Session

from api.first_start import open_ready
from api.logger_uploads import logger_folder
from api.photograph_files import photograph_folder
from api.settings import Settings
from api.sign_in import hash_password
from models.actions.change_log import recording
from models.actions.sign_in_people import add_sign_in
from models.database import read_session
from models.errors import HingebookError
from models.exchange.kept_files import keep_file
from models.rules.calendar_days import day_number
from models.tables.people import is_anybody_here
from seed_data.demo.drawing import drawn_beside
from seed_data.demo.record import LAST_DAY, record_demo
from seed_data.demo.register import DemoPerson, read_people

ACTOR = "command"
MARKER = "this-is-a-demonstration.txt"
SAYS = (
    "Everything in this folder is invented. Put nothing real into it:"
    " `hingebook demo --fresh` deletes all of it.\n"
)


class NoDemoHere(HingebookError):
    """The demonstration would touch something that may be real."""

    code = "no_demo_here"


def is_demo(folder: Path) -> bool:
    """Say whether a folder belongs to the demonstration."""
    return (folder / MARKER).is_file()


def refuse_demo(folder: Path) -> None:
    """Raise NoDemoHere where something real would be recorded in the demonstration's folder."""
    if is_demo(folder):
        raise NoDemoHere(
            f"{folder} is the demonstration's, which `hingebook demo` serves and --fresh deletes."
            " Give a folder of your own in HINGEBOOK_DATA; or, to keep what is in this one,"
            f" take the file {MARKER} out of it."
        )


def make_room_for_demo(settings: Settings, *, fresh: bool) -> None:
    """Claim the folder for the demonstration; fresh: empty what it claimed before.

    Raises NoDemoHere, and then nothing has been touched.
    """
    folder = settings.data
    if settings.database_url:
        raise NoDemoHere(
            "The demonstration brings an SQLite file of its own: run it without"
            " HINGEBOOK_DATABASE_URL."
        )
    if not is_demo(folder):
        _refuse_what_may_be_real(folder)
    elif fresh:
        shutil.rmtree(folder)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    # Before any data: a demonstration that was cut off is still one.
    (folder / MARKER).write_text(SAYS, encoding="utf-8")


def _refuse_what_may_be_real(folder: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise NoDemoHere(
            f"{folder} holds something that is no demonstration, and is left as it is: give an"
            " empty folder in HINGEBOOK_DATA."
        )


def record_demo_once(settings: Settings, now: datetime) -> None:
    """Record the invented collection and its sign-ins, unless they are there."""
    with open_ready(settings) as engine:
        with read_session(engine) as session:
            if is_anybody_here(session):
                return
        # Hashed beforehand: it takes long, and holds nobody up.
        hashes = [(person, hash_password(person.password)) for person in demo_sign_ins()]
        with (
            drawn_beside(photograph_folder(settings)) as pictures,
            recording(engine, actor=ACTOR, now=now) as session,
        ):
            # Two may have begun at once; the second finds it done.
            if not is_anybody_here(session):
                today = max(day_number(settings.day_at(now)), LAST_DAY)
                keep = partial(keep_file, logger_folder(settings))
                record_demo(session, today=today, keep=keep, pictures=pictures)
                _add_sign_ins(session, hashes)


def _add_sign_ins(session: Session, hashes: list[tuple[DemoPerson, str]]) -> None:
    for person, password_hash in hashes:
        assert person.role is not None, "whoever has a password has a role"
        add_sign_in(
            session,
            name=person.name,
            role=person.role,
            password_hash=password_hash,
            owner=person.owner,
        )


def demo_sign_ins() -> list[DemoPerson]:
    """Return who can sign in to the demonstration; their passwords are no secret."""
    return [person for person in read_people() if person.password]


def sign_ins_as_told() -> list[str]:
    """Return a line for each sign-in."""
    return [
        f"  {person.role}: {person.name}, password: {person.password}" for person in demo_sign_ins()
    ]
