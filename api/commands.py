"""What can be asked for at the command line?

Everything that belongs to the installation and not to a person at a page: serving,
bringing the database up to date, making sign-ins and tokens, proving the change log. The
exit code is 0 only if it did what was asked; an error is one line on stderr.
"""

import os
import socket
import sys
import time
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, BinaryIO, Protocol

import typer
import uvicorn
from alembic.util import CommandError
from sqlalchemy import Engine
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session
from typer.exceptions import TyperException

from api.demo import make_room_for_demo, record_demo_once, refuse_demo, sign_ins_as_told
from api.first_start import (
    bring_up_to_date,
    first_keeper_address,
    make_ready,
    open_existing,
    open_ready,
)
from api.nightly import renewer_of
from api.settings import BadSetting, Settings, read_settings
from api.sign_in import hash_password
from api.template_filters import fault_said
from models.actions.change_log import log_head, recording, verify_log
from models.actions.climate import faults_of_all_readings
from models.actions.forecasts import faults_of_stored, works_to_recompute
from models.actions.mounting_histories import history_of_all, history_of_work
from models.actions.named_records import owner_named
from models.actions.renewal import BATCH, Renewer
from models.actions.sign_in_people import add_sign_in, check_new_sign_in, give_new_password
from models.actions.sign_ins import add_token, end_tokens, person_who_may_sign_in, tokens_of
from models.database import newest_revision, read_session
from models.errors import BadValue, HingebookError, NotFound, UnknownWord
from models.exchange.mounting_history import HistoryRow, csv_bytes
from models.rules.calendar_days import day_number
from models.tables.history import count_without_mount
from models.tables.people import Person
from models.tables.register import find_work_by_number
from models.tables.renewal import count_stale, marked_among
from models.tables.visible import THE_HOUSE
from models.vocabulary import Role

ACTOR = "command"
Port = Annotated[int | None, typer.Option(help="On which port.", min=1, max=65535)]
# Batches of forecasts that take about a second.
LONG = 2
# Until somebody else who works forecasts out is asked again.
WAIT_S = 0.2

cli = typer.Typer(
    help="The book of hinges: mounts, materials, condition and the date of the next look.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
person = typer.Typer(help="People who may sign in.", rich_markup_mode=None)
cli.add_typer(person, name="person")
export = typer.Typer(help="Take the record away in open formats.", rich_markup_mode=None)
cli.add_typer(export, name="export")


class Progress(Protocol):
    """A bar that shows how far something is."""

    def update(self, n_steps: int) -> None:
        """Say that so many more are done."""


class Refused(HingebookError):
    """A command that cannot be done, or a proof that failed."""


@cli.command()
def serve(
    host: Annotated[str | None, typer.Option(help="Where to listen.")] = None,
    port: Port = None,
    workers: Annotated[int | None, typer.Option(help="How many processes.")] = None,
) -> None:
    """Serve the configured database."""
    settings = read_settings(host=host, port=port, workers=workers)
    if settings.workers > 1 and settings.is_sqlite:
        raise BadSetting(
            "SQLite is served by one process. Give HINGEBOOK_DATABASE_URL=postgresql://… for more."
        )
    if settings.is_sqlite:
        refuse_demo(settings.data)
    _refuse_port_in_use(settings)
    make_ready(settings)
    _say(f"Hingebook is at {settings.public_address}")
    link = first_keeper_address(settings)
    if link is not None:
        _say("Nobody can sign in yet. Within an hour, open this once and become the first keeper:")
        _say(f"  {link}")
    _serve(settings)


@cli.command()
def demo(
    port: Port = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="Delete what was tried out.")] = False,
) -> None:
    """Serve an invented collection to try everything out, from a folder of its own."""
    settings = read_settings(port=port, workers=1)
    _refuse_port_in_use(settings)
    make_room_for_demo(settings, fresh=fresh)
    _say("Making the demonstration ready: some seconds at the first start.")
    record_demo_once(settings, _now())
    _say(f"The demonstration is at {settings.public_address}. All of it is invented. Sign in as")
    for line in sign_ins_as_told():
        _say(line)
    _serve(settings)


def _refuse_port_in_use(settings: Settings) -> None:
    """Raise Refused before anything is made ready or promised."""
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    with socket.socket(family) as probe:
        # As the server does: a port that was left a moment ago is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((settings.host, settings.port))
        except OSError as error:
            raise Refused(
                f"Nothing can listen at {settings.host}, port {settings.port}:"
                f" {error.strerror or error}. Give another with --port."
            ) from None


def _serve(settings: Settings) -> None:
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


def _tell_the_processes(settings: Settings) -> None:
    # The server's processes read the environment, and start with nothing else.
    for name in ("host", "port", "workers"):
        os.environ[f"HINGEBOOK_{name.upper()}"] = str(getattr(settings, name))


@cli.command("migrate")
def migrate_database() -> None:
    """Bring the database to the newest schema."""
    bring_up_to_date(read_settings())
    _say(f"The database is at {newest_revision()}.")


@person.command("add")
def add_person(
    name: Annotated[str, typer.Argument(help="As it stands, or shall stand, in the record.")],
    role: Annotated[Role, typer.Option(help="What they are here for.")],
    owner: Annotated[str | None, typer.Option(help="For owners: whose works they see.")] = None,
    new_owner: Annotated[
        bool, typer.Option("--new-owner", help="That owner is not on record yet: add them.")
    ] = False,
) -> None:
    """Let somebody sign in; the password is asked for, or read from stdin."""
    with open_ready(read_settings()) as engine:
        if owner is not None and not new_owner:
            _refuse_unknown_owner(engine, owner)
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
                make_owner=new_owner,
            )
    _say(f"{kept} can sign in as {role}.")


def _refuse_unknown_owner(engine: Engine, name: str) -> None:
    try:
        with read_session(engine) as session:
            owner_named(session, name)
    except UnknownWord as error:
        near = f" Perhaps {', '.join(error.near)}." if error.near else ""
        raise Refused(f"{error.message}{near} With --new-owner they are added.") from None


@person.command("password")
def new_password(
    name: Annotated[str, typer.Argument(help="Who has forgotten it.")],
) -> None:
    """Give somebody a new password, asked for or read from stdin; it signs them out everywhere."""
    with open_existing(read_settings()) as engine:
        password = _password()
        kept = check_new_sign_in(name, password)
        password_hash = hash_password(password)
        with recording(engine, actor=ACTOR, now=_now()) as session:
            give_new_password(session, name=kept, password_hash=password_hash)
    _say(f"{kept} has a new password.")


@cli.command()
def token(
    name: Annotated[str, typer.Argument(help="For whom it acts.")],
    label: Annotated[str, typer.Option(help="What it is for.")] = "command line",
    end: Annotated[str | None, typer.Option(help="End the token of this label instead.")] = None,
) -> None:
    """Make a token for a program, and print it this once; or end one."""
    with open_existing(read_settings()) as engine:
        with recording(engine, actor=ACTOR, now=_now()) as session:
            whom = _who_may_sign_in(session, name)
            if end is None:
                told = add_token(session, whom, label, _now())
            else:
                count = end_tokens(session, whom, end)
                told = f"{count} {'token was' if count == 1 else 'tokens were'} ended."
    _say(told)


@cli.command()
def tokens(name: Annotated[str, typer.Argument(help="For whom they act.")]) -> None:
    """List the tokens that act for somebody: label, day it was made, day it was last used."""
    with open_existing(read_settings()) as engine, read_session(engine) as session:
        for kept, used_at in tokens_of(session, _who_may_sign_in(session, name)):
            used = "never used" if used_at is None else f"last used {used_at:%Y-%m-%d}"
            _say(f"{kept.name}, made {kept.made_at:%Y-%m-%d}, {used}")


def _who_may_sign_in(session: Session, name: str) -> Person:
    whom = person_who_may_sign_in(session, name)
    if whom is None:
        raise NotFound("person who can sign in, named", repr(name))
    return whom


@cli.command("verify-log")
def prove_log(
    expect: Annotated[
        str | None, typer.Option(help="A head SEQ:HASH noted earlier; it must be in the chain.")
    ] = None,
) -> None:
    """Prove that the change log is whole and that the records and readings say what it says."""
    with open_existing(read_settings()) as engine, read_session(engine) as session:
        faults = [*verify_log(session, expect=expect), *faults_of_all_readings(session)]
        head = log_head(session)
    if faults:
        raise Refused(" ".join(faults))
    _say(f"The change log is whole. Its head is {head}")
    if expect is None:
        _say("Keep that: only with --expect can it be seen whether its end was cut off.")


@cli.command()
def recompute(
    check: Annotated[bool, typer.Option("--check", help="Write nothing; only compare.")] = False,
    rest: Annotated[
        bool, typer.Option("--rest", help="Only what is marked: go on with what was stopped.")
    ] = False,
) -> None:
    """Work out all forecasts anew, or prove that those stored are what the rules say."""
    settings = read_settings()
    with open_existing(settings) as engine:
        if check:
            _prove_forecasts(engine)
            return
        renewer = renewer_of(settings, engine, _now)
        if not rest:
            renewer.mark_all()
        count = _work_off(engine, renewer)
    _say(f"{count} forecasts were worked out anew.")


def _prove_forecasts(engine: Engine) -> None:
    with read_session(engine) as session:
        batches = list(works_to_recompute(session))
    compared, differing = 0, list[str]()
    with _progress(len(batches)) as shown:
        for work_ids in batches:
            with read_session(engine) as session:
                # What is marked is known not to hold; whoever serves works it out.
                kept = sorted(set(work_ids) - marked_among(session, work_ids))
                differing += faults_of_stored(session, kept) if kept else []
            compared += len(kept)
            shown.update(1)
    for fault in differing:
        _say(fault)
    if differing:
        raise Refused(f"{len(differing)} stored forecasts are not what the rules say.")
    _say(f"{compared} forecasts are what the rules say.")
    if left := sum(map(len, batches)) - compared:
        _say(f"{left} more are marked to be worked out anew: hingebook recompute --rest.")


def _work_off(engine: Engine, renewer: Renewer) -> int:
    """Work marks off until there are none, with others who do the same; return how many."""
    count = left = _marked(engine)
    with _progress(count, long=BATCH + 1) as shown:
        while left:
            # A server that runs may hold the lease: it works off the same marks.
            if not renewer.work_off():
                time.sleep(WAIT_S)
            before, left = left, _marked(engine)
            shown.update(before - left)
    renewer.stop()
    return count


def _marked(engine: Engine) -> int:
    with read_session(engine) as session:
        return count_stale(session)


def _progress(length: int, *, long: int = LONG) -> AbstractContextManager[Progress]:
    # Only for somebody who watches: a file of errors holds errors.
    hidden = length < long or not sys.stderr.isatty()
    return typer.progressbar(length=length, label="Forecasts", file=sys.stderr, hidden=hidden)


@export.command("history")
def export_history(
    number: Annotated[str | None, typer.Argument(help="The number of a work.")] = None,
    every: Annotated[bool, typer.Option("--all", help="All works.")] = False,
    out: Annotated[Path | None, typer.Option("-o", help="A file; else stdout.")] = None,
) -> None:
    """Write the mounting history of one work, or of all, as CSV."""
    if (number is None) != every:
        raise Refused("Name one work by its number, or ask for --all.")
    if out is not None and not out.parent.is_dir():
        raise Refused(f"There is no folder {out.parent}; make it first.")
    settings = read_settings()
    today = day_number(settings.day_at(_now()))
    with open_existing(settings) as engine:
        if number is None:
            _write(history_of_all(engine, THE_HOUSE, today=today), out)
            with read_session(engine) as session:
                works, without = count_without_mount(session, THE_HOUSE)
            if without:
                # Beside the file, which may go to stdout.
                said = f"No row for {without} of {works} works: no mount of theirs is on record."
                typer.echo(said, err=True)
            return
        with read_session(engine) as session:
            work = find_work_by_number(session, THE_HOUSE, number)
            if work is None or work.id is None:
                raise NotFound("work", repr(number))
            rows = history_of_work(session, THE_HOUSE, work.id, today=today)
            _write(rows, out)


def _write(rows: Iterable[HistoryRow], out: Path | None) -> None:
    with _file_or_stdout(out) as file:
        for piece in csv_bytes(rows):
            file.write(piece)


@contextmanager
def _file_or_stdout(out: Path | None) -> Iterator[BinaryIO]:
    if out is None:
        yield sys.stdout.buffer
        sys.stdout.buffer.flush()
        return
    # Under its own name only once it is whole.
    unfinished = out.with_name(f"{out.name}.unfinished")
    with unfinished.open("wb") as file:
        yield file
    unfinished.replace(out)


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
    except OSError as error:
        told = error.strerror or str(error)
        _fail(f"{error.filename}: {told}." if error.filename else told)
    except CommandError as error:
        _fail(str(error))


def _sentence(error: HingebookError) -> str:
    if isinstance(error, BadValue) and error.faults:
        return " ".join(map(fault_said, error.faults))
    return error.message


def _fail(why: str) -> None:
    typer.echo(f"hingebook: {' '.join(why.split())}", err=True)
    sys.exit(1)


if __name__ == "__main__":
    main()
