"""What may never happen to the change log, whoever asks the database.

An entry may not be deleted, and of an entry only salt and payload may change,
and only to nothing. The list is here and nowhere else.
"""

from sqlalchemy import Connection, inspect

_UNCHANGED = (
    "seq",
    "layout",
    "prev_sha256",
    "at",
    "actor",
    "payload_sha256",
    "sha256",
)
_REFUSAL = "the change log is append-only; only a payload may be blacked out"

_SAME_SQLITE = " AND ".join(f"NEW.{name} IS OLD.{name}" for name in _UNCHANGED)
_SAME_POSTGRESQL = " AND ".join(
    f"NEW.{name} IS NOT DISTINCT FROM OLD.{name}" for name in _UNCHANGED
)

SQLITE = (
    "DROP TRIGGER IF EXISTS log_entry_keeps_entries",
    "CREATE TRIGGER log_entry_keeps_entries BEFORE DELETE ON log_entry"
    f" BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END",
    "DROP TRIGGER IF EXISTS log_entry_keeps_words",
    "CREATE TRIGGER log_entry_keeps_words BEFORE UPDATE ON log_entry"
    f" WHEN NOT ({_SAME_SQLITE} AND NEW.salt IS NULL AND NEW.payload IS NULL)"
    f" BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END",
)
POSTGRESQL = (
    "CREATE OR REPLACE FUNCTION log_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS"
    f" $$ BEGIN RAISE EXCEPTION '{_REFUSAL}'; END $$",
    "DROP TRIGGER IF EXISTS log_entry_keeps_entries ON log_entry",
    "CREATE TRIGGER log_entry_keeps_entries BEFORE DELETE ON log_entry"
    " FOR EACH ROW EXECUTE FUNCTION log_entry_refuse()",
    "DROP TRIGGER IF EXISTS log_entry_keeps_table ON log_entry",
    "CREATE TRIGGER log_entry_keeps_table BEFORE TRUNCATE ON log_entry"
    " FOR EACH STATEMENT EXECUTE FUNCTION log_entry_refuse()",
    "DROP TRIGGER IF EXISTS log_entry_keeps_words ON log_entry",
    "CREATE TRIGGER log_entry_keeps_words BEFORE UPDATE ON log_entry FOR EACH ROW"
    f" WHEN (NOT ({_SAME_POSTGRESQL} AND NEW.salt IS NULL AND NEW.payload IS NULL))"
    " EXECUTE FUNCTION log_entry_refuse()",
)


def install_triggers(connection: Connection) -> None:
    """Put every trigger in its place; nothing to do where there is no log yet."""
    if not inspect(connection).has_table("log_entry"):
        return
    statements = SQLITE if connection.dialect.name == "sqlite" else POSTGRESQL
    for statement in statements:
        connection.exec_driver_sql(statement)
