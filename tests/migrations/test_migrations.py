"""The migrations build exactly the tables that are declared, on both databases."""

import re

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import Connection, Engine, inspect, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import SQLModel

from migrations.triggers import POSTGRESQL, SQLITE
from models.database import migrate, newest_revision, open_database, schema_revision


def checks(connection: Connection) -> set[tuple[str, str | None, str]]:
    """Return every CHECK as (table, name, SQL without its spaces)."""
    look = inspect(connection)
    return {
        (table, check["name"], re.sub(r"\s", "", check["sqltext"]))
        for table in look.get_table_names()
        for check in look.get_check_constraints(table)
    }


def index_conditions(connection: Connection) -> set[str]:
    """Return the SQL of every index, conditions included."""
    sqlite = "SELECT sql FROM sqlite_master WHERE type = 'index' AND sql IS NOT NULL"
    postgresql = "SELECT indexdef FROM pg_indexes WHERE schemaname = 'public'"
    found = connection.scalars(text(sqlite if connection.dialect.name == "sqlite" else postgresql))
    return {re.sub(r"\s+", " ", sql) for sql in found if "alembic" not in sql}


def trigger_names(connection: Connection) -> set[str]:
    sqlite = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    postgresql = "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    return set(
        connection.scalars(text(sqlite if connection.dialect.name == "sqlite" else postgresql))
    )


def test_the_migrated_tables_are_the_declared_ones(engine: Engine) -> None:
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, SQLModel.metadata) == []


def test_checks_and_index_conditions_are_the_declared_ones(engine: Engine, fresh_url: str) -> None:
    with engine.connect() as connection:
        migrated = checks(connection), index_conditions(connection)
    engine.dispose()
    migrate(fresh_url, "base")
    declared = open_database(fresh_url)
    SQLModel.metadata.create_all(declared)
    with declared.connect() as connection:
        assert migrated == (checks(connection), index_conditions(connection))
    declared.dispose()


def test_every_table_comes_and_goes(fresh_url: str, engine: Engine) -> None:
    engine.dispose()
    migrate(fresh_url, "base")
    migrate(fresh_url)
    with engine.connect() as connection:
        assert schema_revision(connection) == newest_revision()
        assert set(inspect(connection).get_table_names()) == {
            *SQLModel.metadata.tables,
            "alembic_version",
        }


def test_every_trigger_is_in_its_place_after_a_migration(engine: Engine) -> None:
    statements = SQLITE if engine.dialect.name == "sqlite" else POSTGRESQL
    made = {name for s in statements for name in re.findall(r"CREATE TRIGGER (\w+)", s)}
    with engine.connect() as connection:
        assert trigger_names(connection) == made


def test_sqlite_tables_refuse_a_word_where_a_number_belongs(engine: Engine) -> None:
    with pytest.raises(DatabaseError), engine.begin() as connection:
        connection.execute(
            text("INSERT INTO owner (name, version) VALUES ('The Gannet House', 'many')")
        )


def test_a_link_to_nothing_is_refused(engine: Engine) -> None:
    with pytest.raises(DatabaseError), engine.begin() as connection:
        connection.execute(
            text("INSERT INTO lot (material_id, number, note, version) VALUES (99, 'L-1', '', 1)")
        )


A_WORK: dict[str, object] = {
    "id": 1,
    "code": "A0000001",
    "number": "GH 1",
    "title": "Tern",
    "maker": "",
    "support": "",
    "replaceability": "unique",
    "value_band": "high",
    "note": "",
    "version": 1,
}
A_FORECAST: dict[str, object] = {
    "work_id": 1,
    "advice": "remat",
    "remat_by": 20900,
    "urgent_sign": "",
    "first_survey": False,
    "weak_layer": "",
}


def _insertion(table: str, row: dict[str, object]) -> str:
    marks = ", ".join(f":{name}" for name in row)
    return f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})"


def test_what_is_stored_outlives_the_new_words_and_their_going(
    engine: Engine, fresh_url: str
) -> None:
    before, after = "2026_11_26_due_kinds", "2026_11_26_take_down"
    engine.dispose()
    migrate(fresh_url, before)
    with engine.begin() as connection:
        connection.execute(text(_insertion("work", A_WORK)), A_WORK)
        connection.execute(text(_insertion("forecast", A_FORECAST)), A_FORECAST)
    migrate(fresh_url, after)
    with engine.begin() as connection:
        # Its day is worked out by whoever serves next.
        assert connection.scalars(text("SELECT work_id FROM stale_work")).all() == [1]
        connection.execute(text("UPDATE forecast SET advice = 'reseal', take_down_on = 20800"))
    migrate(fresh_url, before)
    stored = text("SELECT work_id, advice, remat_by FROM forecast")
    with engine.begin() as connection:
        assert connection.execute(stored).all() == [(1, "remat", 20900)]
        # What counts the moves of dates is there again.
        connection.execute(text("UPDATE forecast SET remat_by = 20901"))
    migrate(fresh_url, after)
    with engine.begin() as connection:
        connection.execute(text("UPDATE forecast SET due_kind = 'take down'"))
        assert connection.execute(stored).all() == [(1, "remat", 20901)]
        assert connection.scalars(text("SELECT moves FROM moved_date")).all() == [1]


def test_works_on_record_are_found_without_the_zeros_of_their_numbers(
    engine: Engine, fresh_url: str
) -> None:
    engine.dispose()
    migrate(fresh_url, "2026_11_27_missing_works")
    work = A_WORK | {"number": "H 014", "title": "Plate 007"}
    with engine.begin() as connection:
        connection.execute(text(_insertion("work", work)), work)
        for word in ("h014", "h", "014", "plate", "007"):
            row: dict[str, object] = {"work_id": 1, "word": word}
            connection.execute(text(_insertion("work_word", row)), row)
    for _ in range(2):
        migrate(fresh_url, "2026_11_27_numbers_without_zeros")
        with engine.begin() as connection:
            found = connection.scalars(text("SELECT word FROM work_word")).all()
            assert sorted(found) == ["007", "014", "14", "h", "h014", "h14", "plate"]
        migrate(fresh_url, "2026_11_27_missing_works")
