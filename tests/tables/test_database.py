"""Turns at the database: nobody reads half a change, nobody loses one."""

import subprocess
import sys
import threading
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, text
from sqlmodel import Session, select

import models.database
from models.database import MOST_WAITING, is_sqlite, open_database, read_session, write_session
from models.errors import Busy
from models.tables.people import Owner, owners
from tests.with_database import on_sqlite


def names(engine: Engine) -> list[str]:
    with read_session(engine) as session:
        return [owner.name for owner in owners(session)]


def test_what_was_written_is_there_for_the_next_reader(engine: Engine) -> None:
    with write_session(engine) as session:
        session.add(Owner(name="The Gannet House"))
    assert names(engine) == ["The Gannet House"]


def write_and_break_off(engine: Engine) -> None:
    with write_session(engine) as session:
        session.add(Owner(name="Half done"))
        session.flush()
        raise ZeroDivisionError


def test_a_change_that_breaks_off_leaves_nothing(engine: Engine) -> None:
    with pytest.raises(ZeroDivisionError):
        write_and_break_off(engine)
    assert names(engine) == []


def test_a_reader_sees_one_moment_while_others_write(engine: Engine) -> None:
    with read_session(engine) as reader:
        assert owners(reader) == []
        with write_session(engine) as session:
            session.add(Owner(name="Later"))
        assert reader.exec(select(func.count()).select_from(Owner)).one() == 0


def test_a_reader_cannot_write_on_postgresql_and_keeps_nothing_on_sqlite(engine: Engine) -> None:
    if is_sqlite(engine):
        with read_session(engine) as session:
            assert session.autoflush is False
    else:
        with (
            pytest.raises(Exception, match="read-only transaction"),
            read_session(engine) as session,
        ):
            session.execute(text("INSERT INTO owner (name, version) VALUES ('x', 1)"))


def test_many_writers_at_once_lose_nothing(engine: Engine) -> None:
    def write(name: str) -> None:
        with write_session(engine) as session:
            session.add(Owner(name=name))

    writers = [threading.Thread(target=write, args=(f"owner {n}",)) for n in range(MOST_WAITING)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert names(engine) == [f"owner {n}" for n in range(MOST_WAITING)]


def test_one_too_many_is_told_to_come_back(
    migrated_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    nobody_more = threading.BoundedSemaphore(1)
    nobody_more.acquire()
    monkeypatch.setattr(models.database, "_waiting", nobody_more)
    turn = write_session(open_database(f"sqlite:///{migrated_file}"))
    with pytest.raises(Busy, match="nothing was lost"):
        turn.__enter__()


def test_a_closed_session_stays_closed(engine: Engine) -> None:
    with write_session(engine) as session:
        kept: Session = session
    with pytest.raises(Exception, match="closed"):
        owners(kept)


@on_sqlite
def test_pages_go_back_into_the_database_after_many_turns_or_much_growth(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = Path(str(engine.url.database))

    def moved(*names: str) -> bool:
        before = file.stat().st_mtime_ns
        with write_session(engine) as session:
            session.add_all(Owner(name=name) for name in names)
        return file.stat().st_mtime_ns > before

    assert [moved(name) for name in ("one", "two")] == [False, False]
    monkeypatch.setattr(models.database, "CHECKPOINT_TURNS", 4)
    assert [moved(name) for name in ("three", "four", "five")] == [False, True, False]
    monkeypatch.setattr(models.database, "CHECKPOINT_TURNS", 1000)
    monkeypatch.setattr(models.database, "CHECKPOINT_BYTES", 50_000)
    assert [moved(*(f"of many, {n}" for n in range(2000))), moved("six")] == [True, False]
    assert len(names(engine)) == 2006


# SQLite's own lock by which others know that the index of a WAL is in use: one byte, read-locked
# by every process that has it open (os_unix.c, UNIX_SHM_DMS, 128; from memory).
IN_USE = """import fcntl, sys
with open(sys.argv[1], "r+b") as index:
    try:
        fcntl.lockf(index, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, 128)
    except OSError:
        print("in use")
"""


@on_sqlite
def test_who_has_written_still_holds_the_index_against_other_processes(engine: Engine) -> None:
    file = Path(str(engine.url.database))
    for name in ("one", "two"):
        with write_session(engine) as session:
            session.add(Owner(name=name))
    asked = [sys.executable, "-c", IN_USE, f"{file}-shm"]
    said = subprocess.run(asked, capture_output=True, text=True, check=True).stdout
    assert said == "in use\n"
