"""How is the database opened, and how do people take turns at it?

The only file that tells SQLite from PostgreSQL. SQLite is opened in WAL mode
with full synchronisation: an answer is given only when the change is on disk.
Its own busy handler lets a quick writer starve the others, so every writer, in
the server or at the command line, first takes one lock on a file beside the
database and then begins at once for writing. SQLite before 3.51.3 can lose a
WAL that is reset while another connection writes; so pages go back into the
database only while that turn is held.
"""

import fcntl
import threading
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, closing, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool
from sqlmodel import Session

from models.errors import Busy

# A request that would be the ninth to wait is told to come back: measured, see DEVELOPERS.md.
MOST_WAITING = 8
# After so many turns, or when the WAL has grown by so much, its pages are moved into the
# database: a visit writes about a dozen pages of 4 KiB.
CHECKPOINT_TURNS = 80
CHECKPOINT_BYTES = 1000 * 4096
ON_CONNECT_SQLITE = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA busy_timeout = 30000",
    "PRAGMA recursive_triggers = ON",
    "PRAGMA wal_autocheckpoint = 0",
    "PRAGMA mmap_size = 0",
    "PRAGMA cache_size = -16000",
)
# A query that runs longer than a minute, or a transaction left open for one, is a fault of ours.
ON_CONNECT_POSTGRESQL = (
    "SET jit = off",
    "SET statement_timeout = '60s'",
    "SET idle_in_transaction_session_timeout = '60s'",
    "SET TIME ZONE 'UTC'",
)
# PostgreSQL: serialization failure, deadlock detected, lock not available.
CONFLICTS = frozenset({"40001", "40P01", "55P03"})
MIGRATIONS = Path(__file__).resolve().parent.parent / "migrations"

_waiting = threading.BoundedSemaphore(MOST_WAITING + 1)


def is_sqlite(engine: Engine) -> bool:
    """Say whether the engine is the embedded database."""
    return engine.dialect.name == "sqlite"


def is_conflict(error: DBAPIError) -> bool:
    """Say whether a statement failed only because others were writing: it may be tried again."""
    state = getattr(error.orig, "sqlstate", None)
    return state in CONFLICTS or "database is locked" in str(error.orig)


def open_database(url: str) -> Engine:
    """Return an engine for `sqlite:///file` or `postgresql://…` (read by psycopg 3)."""
    address = make_url(url)
    if address.drivername == "postgresql":
        address = address.set(drivername="postgresql+psycopg")
    if address.get_backend_name() == "sqlite":
        engine = create_engine(
            address,
            poolclass=QueuePool,
            pool_size=20,
            max_overflow=40,
            connect_args={"isolation_level": None, "check_same_thread": False},
        )
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        engine = create_engine(address, pool_size=10, max_overflow=20, pool_pre_ping=True)
        event.listen(engine, "connect", _prepare_postgresql)
    return engine


def _prepare_sqlite(connection: Any, _record: object) -> None:
    cursor = connection.cursor()
    for statement in ON_CONNECT_SQLITE:
        cursor.execute(statement)
    cursor.close()


def _prepare_postgresql(connection: Any, _record: object) -> None:
    connection.autocommit = True
    with connection.cursor() as cursor:
        for statement in ON_CONNECT_POSTGRESQL:
            cursor.execute(statement)
    connection.autocommit = False


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("hingebook_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def write_session(engine: Engine) -> Iterator[Session]:
    """Open a session for writing, kept only if nothing is raised.

    Waits for its turn. Raises Busy at once when `MOST_WAITING` others wait already.
    """
    with (
        _turn(engine),
        Session(engine, close_resets_only=False, expire_on_commit=False) as session,
        session.begin(),
    ):
        # Said to the connection and not to an engine of its own, whose statements would each
        # look for listeners in two places.
        session.connection(execution_options={"hingebook_writes": True})
        yield session


@contextmanager
def read_session(engine: Engine) -> Iterator[Session]:
    """Open a session that sees one moment of the database and never waits for a writer."""
    if is_sqlite(engine):
        bound = engine
    else:
        bound = engine.execution_options(
            isolation_level="REPEATABLE READ", postgresql_readonly=True
        )
    # Nothing is to be kept: closing ends the transaction, and costs half of a commit.
    with Session(bound, close_resets_only=False, autoflush=False) as session:
        yield session


def insert_rows(
    connection: Connection, table: str, columns: Sequence[str], rows: Iterable[Sequence[Any]]
) -> None:
    """Add many plain rows at once, as fast as the database takes them.

    `table` and `columns` are our own names. Nothing is noted in the change log.
    """
    names = ", ".join(columns)
    driver: Any = connection.connection
    with closing(driver.cursor()) as cursor:
        if connection.dialect.name == "sqlite":
            marks = ", ".join("?" * len(columns))
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", rows)
            return
        with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)


def _turn(engine: Engine) -> AbstractContextManager[None]:
    file = engine.url.database
    if not is_sqlite(engine) or file in (None, "", ":memory:"):
        return nullcontext()
    return _file_turn(engine, str(file))


@contextmanager
def _file_turn(engine: Engine, file: str) -> Iterator[None]:
    if not _waiting.acquire(blocking=False):
        raise Busy("Too many are writing at this moment; nothing was lost, try again in a second.")
    try:
        # A fresh descriptor each time: flock is fair among descriptors, not among threads of one.
        with Path(f"{file}.turn").open("a") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield
            _move_pages_back(engine, file)
    finally:
        _waiting.release()


def _move_pages_back(engine: Engine, file: str) -> None:
    if not _wals[file].is_long_after_turn(_size_bytes(f"{file}-wal")):
        return
    with engine.connect() as connection:
        cursor = connection.connection.cursor()
        cursor.execute("PRAGMA wal_checkpoint(PASSIVE)")
        cursor.close()


@dataclass
class _Wal:
    """What this process has seen of the WAL of a database since it last moved its pages back.

    The index beside the WAL says how many pages there are, but only SQLite may open that file:
    to close it would drop every lock that this process has on it, and another process would
    then make the index anew beneath us. So turns are counted, and the size of the WAL is asked
    of its folder.
    """

    turns: int = 0
    size_bytes: int = 0

    def is_long_after_turn(self, size_bytes: int) -> bool:
        """Count a turn; say whether the pages should be moved now, and begin anew if so."""
        self.turns += 1
        grown = size_bytes - self.size_bytes
        long = self.turns >= CHECKPOINT_TURNS or grown >= CHECKPOINT_BYTES
        if long or grown < 0:
            self.turns, self.size_bytes = 0, size_bytes
        return long


# Changed only by who has the turn.
_wals: defaultdict[str, _Wal] = defaultdict(_Wal)


def _size_bytes(file: str) -> int:
    try:
        return Path(file).stat().st_size
    except FileNotFoundError:
        return 0


def _alembic(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.attributes["connection"] = connection
    return config


def migrate(url: str, revision: str = "head") -> None:
    """Bring the database at `url` up to `revision`, or down to it if it is older.

    All of it or nothing. On SQLite foreign keys are off while tables are
    rebuilt and are checked before the change is kept.
    """
    engine = open_database(url)
    try:
        with _turn(engine), engine.connect() as plain:
            connection = plain.execution_options(hingebook_writes=True)
            if is_sqlite(engine):
                _set_foreign_keys(connection, "OFF")
            with connection.begin():
                _run_migrations(connection, revision)
                _refuse_broken_links(connection)
            if is_sqlite(engine):
                _set_foreign_keys(connection, "ON")
    finally:
        engine.dispose()


def _set_foreign_keys(connection: Connection, state: str) -> None:
    # Through the DBAPI: inside a transaction SQLite ignores this setting without a word.
    cursor = connection.connection.cursor()
    cursor.execute(f"PRAGMA foreign_keys = {state}")
    cursor.close()


def _run_migrations(connection: Connection, revision: str) -> None:
    config = _alembic(connection)
    now = schema_revision(connection)
    older = now is not None and revision not in ("head", now) and _is_older(config, revision, now)
    (command.downgrade if older else command.upgrade)(config, revision)


def _is_older(config: Config, revision: str, now: str) -> bool:
    if revision == "base":
        return True
    script = ScriptDirectory.from_config(config)
    return any(step.revision == revision for step in script.iterate_revisions(now, "base"))


def _refuse_broken_links(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise RuntimeError(f"This migration would break links: {broken[:5]}")


def schema_revision(connection: Connection) -> str | None:
    """Return the revision that the database is at, None for an empty one."""
    return MigrationContext.configure(connection).get_current_revision()


def newest_revision() -> str:
    """Return the revision that this program needs."""
    head = ScriptDirectory.from_config(_alembic()).get_current_head()
    if head is None:
        raise RuntimeError("There are no migrations.")
    return head
