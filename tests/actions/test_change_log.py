import json
from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session, select

from models.actions.change_log import (
    is_secret,
    log_head,
    recording,
    records,
    verify_log,
)
from models.database import read_session
from models.errors import RuleBroken
from models.tables.log import LogEntry
from models.tables.people import Owner, Person
from models.vocabulary import Role

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def write(engine: Engine, *names: str) -> None:
    for name in names:
        with recording(engine, actor="command", now=NOON) as session:
            session.add(Owner(name=name))


def faults(engine: Engine, expect: str | None = None) -> list[str]:
    with read_session(engine) as session:
        return verify_log(session, expect=expect)


def behind_its_back(engine: Engine, statement: str) -> None:
    with engine.begin() as connection:
        connection.execute(text(statement))


def payloads(session: Session) -> list[dict[str, object]]:
    entries = session.exec(select(LogEntry)).all()
    return [change for e in entries for change in json.loads(e.payload or "{}")["changes"]]


def test_one_transaction_is_one_entry_with_before_and_after(engine: Engine) -> None:
    write(engine, "The Gannet House")
    with recording(engine, actor="person:3", now=NOON) as session:
        owner = session.exec(select(Owner)).one()
        owner.name = "The Tern House"
        session.add(owner)
    with read_session(engine) as session:
        assert payloads(session) == [
            {
                "table": "owner",
                "id": 1,
                "before": None,
                "after": {"id": 1, "name": "The Gannet House", "version": 1},
            },
            {
                "table": "owner",
                "id": 1,
                "before": {"name": "The Gannet House", "version": 1},
                "after": {"id": 1, "name": "The Tern House", "version": 2},
            },
        ]
        actors = session.exec(select(LogEntry.actor).order_by(text("seq"))).all()
        assert list(actors) == ["command", "person:3"]
    assert faults(engine) == []


def test_a_transaction_that_changes_nothing_leaves_no_entry(engine: Engine) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        session.exec(select(Owner)).all()
    with read_session(engine) as session:
        assert session.exec(select(LogEntry)).all() == []


def test_a_secret_never_reaches_the_log(engine: Engine) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        session.add(Person(name="R. Imaginary", role=Role.FRAMER, password_hash="$argon2id$x"))
    with read_session(engine) as session:
        assert "argon2id" not in str(payloads(session))
    assert faults(engine) == []


def test_every_column_that_sounds_secret_is_secret() -> None:
    sounds = ("password", "sha256", "token_", "secret")
    told = [
        f"{record.__tablename__}.{column.name}"
        for record in records()
        for column in record.__table__.columns  # type: ignore[attr-defined]
        if column.name.startswith(sounds) or column.name.endswith(sounds)
        if not is_secret(column)
    ]
    # A photograph's digest proves its bytes and opens nothing: the log must hold it.
    assert told == ["photograph.sha256"]


def test_a_record_is_never_deleted(engine: Engine) -> None:
    write(engine, "The Gannet House")
    with read_session(engine) as session:
        owner = session.exec(select(Owner)).one()
    door = recording(engine, actor="command", now=NOON)
    session = door.__enter__()
    session.delete(session.merge(owner))
    with pytest.raises(RuleBroken, match="never deleted"):
        door.__exit__(None, None, None)
    assert faults(engine) == []


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        ("UPDATE owner SET name = 'Somebody else' WHERE id = 2", "owner 2 was changed"),
        ("DELETE FROM owner WHERE id = 2", "owner 2 was deleted"),
        ("INSERT INTO owner (id, name, version) VALUES (9, 'x', 1)", "owner 9 was added"),
        ("UPDATE log_head SET seq = 2", "entries were cut off"),
    ],
)
def test_the_log_accuses_the_tables(engine: Engine, statement: str, fault: str) -> None:
    write(engine, "one", "two", "three")
    behind_its_back(engine, statement)
    assert [fault in found for found in faults(engine)] == [True]


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM log_entry WHERE seq = 2",
        "UPDATE log_entry SET actor = 'person:7' WHERE seq = 2",
        "UPDATE log_entry SET payload = '{}' WHERE seq = 2",
    ],
)
def test_the_database_itself_refuses_to_change_the_log(engine: Engine, statement: str) -> None:
    write(engine, "one", "two")
    with pytest.raises(DatabaseError, match="append-only"):
        behind_its_back(engine, statement)
    assert faults(engine) == []


def test_a_payload_blacked_out_leaves_the_chain_whole(engine: Engine) -> None:
    write(engine, "one", "two")
    behind_its_back(engine, "UPDATE log_entry SET payload = NULL, salt = NULL WHERE seq = 1")
    assert faults(engine) == []


def test_a_chain_broken_with_the_triggers_off_is_found(engine: Engine) -> None:
    write(engine, "one", "two", "three")
    on_table = "" if engine.dialect.name == "sqlite" else " ON log_entry"
    behind_its_back(engine, f"DROP TRIGGER log_entry_keeps_words{on_table}")
    behind_its_back(engine, "UPDATE log_entry SET actor = 'person:7' WHERE seq = 2")
    assert faults(engine) == ["Entry 2 was changed."]


def test_a_head_noted_earlier_must_still_be_in_the_chain(engine: Engine) -> None:
    write(engine, "one")
    with read_session(engine) as session:
        noted = log_head(session)
    write(engine, "two")
    assert faults(engine, expect=noted) == []
    assert len(faults(engine, expect="1:" + "f" * 64)) == 1
