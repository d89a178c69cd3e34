"""What can be asked for at the command line?

Everything that belongs to the installation and not to a person at a page: serving,
bringing the database up to date, making sign-ins and tokens, proving the change log. The
exit code is 0 only if it did what was asked; an error is one line on stderr.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Annotated

import typer
import uvicorn
from alembic.util import CommandError
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError
from typer.exceptions import TyperException

from api.settings import BadSetting, Settings, read_settings
from api.sign_in import hash_password
from models.actions.change_log import log_head, recording, verify_log
from models.actions.sign_in_people import add_sign_in, check_new_sign_in, make_first_keeper_link
from models.actions.sign_ins import add_token, person_who_may_sign_in
from models.database import (
    migrate,
    newest_revision,
    open_database,
    read_session,
    schema_revision,
    write_session,
)
from models.errors import BadValue, HingebookError, NotFound
from models.tables.people import is_anybody_here
from models.vocabulary import Role
from seed_data.load import load_reference_data

ACTOR = "command"

cli = typer.Typer(
    help="The book of hinges: mounts, materials, condition and the date of the next look.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
person = typer.Typer(help="People who may sign in.", rich_markup_mode=None)
cli.add_typer(person, name="person")


class Refused(HingebookError):
    """A command that cannot be done, or a proof that failed."""


@cli.command()
def serve(
    host: Annotated[str | None, typer.Option(help="Where to listen.")] = None,
    port: Annotated[int | None, typer.Option(help="On which port.")] = None,
    workers: Annotated[int | None, typer.Option(help="How many processes.")] = None,
) -> None:
    """Serve the configured database."""
    settings = read_settings(host=host, port=port, workers=workers)
    if settings.workers > 1 and settings.is_sqlite:
        raise BadSetting(
            "SQLite is served by one process. Give HINGEBOOK_DATABASE_URL=postgresql://… for more."
        )
    _make_ready(settings)
    _say(f"Hingebook is at {settings.public_address}")
    _say_who_begins(settings)
    _tell_the_processes(settings)
    uvicorn.run(
        "api.app:app_from_environment",
        factory=True,
        host=settings.host,
        port=settings.port,
        workers=settings.workers,
        log_level="warning",
        # Addresses of feeds and of the first keeper are secrets: they stay out of logs.
        access_log=False,
        server_header=False,
    )


def _make_ready(settings: Settings) -> None:
    """Bring an embedded database up to date; raise Refused for another that is not."""
    if settings.is_sqlite:
        _bring_up_to_date(settings)
        return
    with _open(settings) as engine, read_session(engine) as session:
        found = schema_revision(session.connection())
    if found != newest_revision():
        raise Refused(
            f"The database is at {found or 'nothing yet'}, and this program needs"
            f" {newest_revision()}. Run: hingebook migrate"
        )


def _bring_up_to_date(settings: Settings) -> None:
    """Migrate, and add what this version ships; what is there already is left alone."""
    settings.data.mkdir(mode=0o700, parents=True, exist_ok=True)
    with _open(settings) as engine:
        with engine.connect() as connection:
            found = schema_revision(connection)
        if found != newest_revision():
            migrate(settings.url)
            with recording(engine, actor="reference data", now=_now()) as session:
                load_reference_data(session)


def _say_who_begins(settings: Settings) -> None:
    with _open(settings) as engine:
        with read_session(engine) as session:
            if is_anybody_here(session):
                return
        with write_session(engine) as session:
            key = make_first_keeper_link(session, _now())
    _say("Nobody can sign in yet. Within an hour, open this once to become the first keeper:")
    _say(f"  {settings.public_address}/first-keeper/{key}")


def _tell_the_processes(settings: Settings) -> None:
    # The server's processes read the environment, and start with nothing else.
    for name in ("host", "port", "workers"):
        os.environ[f"HINGEBOOK_{name.upper()}"] = str(getattr(settings, name))


@cli.command("migrate")
def bring_up_to_date() -> None:
    """Bring the database to the newest schema."""
    _bring_up_to_date(read_settings())
    _say(f"The database is at {newest_revision()}.")


@person.command("add")
def add_person(
    name: Annotated[str, typer.Argument(help="As it stands, or shall stand, in the record.")],
    role: Annotated[Role, typer.Option(help="What they are here for.")],
    owner: Annotated[str | None, typer.Option(help="For owners: whose works they see.")] = None,
) -> None:
    """Let somebody sign in; the password is asked for, or read from stdin."""
    with _open_ready() as engine:
        password = _password()
        kept = check_new_sign_in(name, password)
        password_hash = hash_password(password)
        with recording(engine, actor=ACTOR, now=_now()) as session:
            add_sign_in(
                session,
                name=kept,
                role=role,
                password_hash=password_hash,
                owner=owner,
                make_owner=True,
            )
    _say(f"{kept} can sign in as {role}.")


@cli.command()
def token(
    name: Annotated[str, typer.Argument(help="For whom it acts.")],
    label: Annotated[str, typer.Option(help="What it is for.")] = "command line",
) -> None:
    """Make a token for a program, and print it this once."""
    with _open_ready() as engine, recording(engine, actor=ACTOR, now=_now()) as session:
        person = person_who_may_sign_in(session, name)
        if person is None:
            raise NotFound("person who can sign in, named", repr(name))
        made = add_token(session, person, label, _now())
    _say(made)


@cli.command("verify-log")
def prove_log(
    expect: Annotated[
        str | None, typer.Option(help="A head SEQ:HASH noted earlier; it must be in the chain.")
    ] = None,
) -> None:
    """Prove that the change log is whole and that the records say what it says."""
    with _open_ready() as engine, read_session(engine) as session:
        faults = verify_log(session, expect=expect)
        head = log_head(session)
    if faults:
        raise Refused(" ".join(faults))
    _say(f"The change log is whole. Its head is {head}")
    if expect is None:
        _say("Keep that: only with --expect can it be seen whether its end was cut off.")


@contextmanager
def _open(settings: Settings) -> Iterator[Engine]:
    engine = open_database(settings.url)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def _open_ready() -> Iterator[Engine]:
    settings = read_settings()
    _make_ready(settings)
    with _open(settings) as engine:
        yield engine


def _password() -> str:
    if sys.stdin.isatty():
        return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))
    return sys.stdin.readline().rstrip("\r\n")


def _now() -> datetime:
    return datetime.now(UTC)


def _say(line: str) -> None:
    typer.echo(line)


def main() -> None:
    """Run the command that was asked for."""
    try:
        sys.exit(cli(sys.argv[1:] or ["--help"], standalone_mode=False))
    except HingebookError as error:
        _fail(_sentence(error))
    except TyperException as error:
        _fail(error.format_message())
    except typer.Abort:
        _fail("Nothing was done.")
    except SQLAlchemyError as error:
        _fail(f"The database cannot be used: {getattr(error, 'orig', None) or error}")
    except (CommandError, OSError) as error:
        _fail(str(error))


def _sentence(error: HingebookError) -> str:
    if isinstance(error, BadValue) and error.faults:
        return " ".join(f"{fault.message} {fault.right}" for fault in error.faults)
    return error.message


def _fail(why: str) -> None:
    typer.echo(f"hingebook: {' '.join(why.split())}", err=True)
    sys.exit(1)


if __name__ == "__main__":
    main()
