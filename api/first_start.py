"""What must be done before a database can be used, and who is there to use it?

An embedded database is brought up to date by itself; another is only looked at, because
several servers may share it. With each new schema comes what this version ships. While
nobody can sign in, there is a link for the first keeper.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Engine, make_url

from api.settings import Settings
from models.actions.change_log import recording
from models.actions.sign_in_people import make_first_keeper_link
from models.database import (
    migrate,
    newest_revision,
    open_database,
    read_session,
    schema_revision,
    write_session,
)
from models.errors import HingebookError
from models.tables.people import is_anybody_here
from seed_data.load import load_reference_data

ACTOR = "reference data"


class OutOfDate(HingebookError):
    """The database is not at the schema that this program needs."""

    code = "out_of_date"


class NoDatabase(HingebookError):
    """There is no database to work on, or its folder cannot be used."""

    code = "no_database"


@contextmanager
def open_engine(settings: Settings) -> Iterator[Engine]:
    """Open the database for as long as it is needed."""
    engine = open_database(settings.url)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def open_ready(settings: Settings) -> Iterator[Engine]:
    """Open the database, up to date. Raises OutOfDate."""
    make_ready(settings)
    with open_engine(settings) as engine:
        yield engine


@contextmanager
def open_existing(settings: Settings) -> Iterator[Engine]:
    """Open a database that is there already, up to date. Raises NoDatabase, OutOfDate."""
    file = _file_of(settings)
    if file is not None:
        _refuse_folder_that_cannot_be_used(file.parent)
        if not file.exists():
            raise NoDatabase(
                f"There is no database in {file.parent}; `hingebook migrate` makes one."
            )
    with open_ready(settings) as engine:
        yield engine


def _file_of(settings: Settings) -> Path | None:
    """Return the file of an embedded database; None for a server, and for one in memory."""
    name = make_url(settings.url).database
    return Path(name) if settings.is_sqlite and name not in (None, "", ":memory:") else None


def _refuse_folder_that_cannot_be_used(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise NoDatabase(f"{folder} is a file; the data need a folder of their own.")
    if folder.exists() and not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise NoDatabase(f"The folder {folder} is not yours to read and write.")


def make_ready(settings: Settings) -> None:
    """Bring an embedded database up to date. Raises OutOfDate for another that is not."""
    if settings.is_sqlite:
        bring_up_to_date(settings)
        return
    with open_engine(settings) as engine:
        found = _revision(engine)
    if found != newest_revision():
        raise OutOfDate(
            f"The database is at {found or 'nothing yet'}, and this program needs"
            f" {newest_revision()}. Run: hingebook migrate"
        )


def bring_up_to_date(settings: Settings) -> None:
    """Migrate, and add what this version ships; what is there already is left alone."""
    file = _file_of(settings)
    for folder in (settings.data, *(() if file is None else (file.parent,))):
        _refuse_folder_that_cannot_be_used(folder)
    settings.data.mkdir(mode=0o700, parents=True, exist_ok=True)
    with open_engine(settings) as engine:
        if _revision(engine) == newest_revision():
            return
        migrate(settings.url)
        with recording(engine, actor=ACTOR, now=datetime.now(UTC)) as session:
            load_reference_data(session)


def _revision(engine: Engine) -> str | None:
    with read_session(engine) as session:
        return schema_revision(session.connection())


def first_keeper_address(settings: Settings) -> str | None:
    """Return a new one-time address for the first keeper; None once somebody can sign in."""
    with open_engine(settings) as engine:
        with read_session(engine) as session:
            if is_anybody_here(session):
                return None
        with write_session(engine) as session:
            key = make_first_keeper_link(session, datetime.now(UTC))
    return f"{settings.public_address}/first-keeper/{key}"
