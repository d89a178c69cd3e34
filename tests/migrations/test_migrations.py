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
