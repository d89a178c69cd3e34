"""Turns at the database: nobody reads half a change, nobody loses one."""

import threading
from pathlib import Path

import pytest
from sqlalchemy import Engine, func, text
from sqlmodel import Session, select

import models.database
from models.database import MOST_WAITING, is_sqlite, open_database, read_session, write_session
from models.errors import Busy
from models.tables.people import Owner, owners


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


def test_pages_go_back_into_the_database_when_many_have_gathered(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(models.database, "CHECKPOINT_PAGES", 1)
    for name in ("one", "two"):
        with write_session(engine) as session:
            session.add(Owner(name=name))
    assert names(engine) == ["one", "two"]
