"""What does the database itself see to, whoever writes?

An entry of the change log may not be deleted, and of an entry only salt and payload may
change, and only to nothing. Each change of what all forecasts rest on draws a new
random token for it in `house_state`. And each time a date of a work moves it is counted,
so that a calendar that has the old one takes the new one. The list is here and nowhere else.
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

# Each change of a table draws a new token in this column of `house_state`.
TOKENS = {
    "place": "places",
    "policy_setting": "policy",
    "figure_setting": "figures",
    "experience_factor": "experience",
    "climate_days": "climates",
}
_CHANGES = ("INSERT", "UPDATE", "DELETE")


def _name(table: str, change: str) -> str:
    return f"house_state_{table}_{change.lower()}"


_LOG_SQLITE = (
    "DROP TRIGGER IF EXISTS log_entry_keeps_entries",
    "CREATE TRIGGER log_entry_keeps_entries BEFORE DELETE ON log_entry"
    f" BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END",
    "DROP TRIGGER IF EXISTS log_entry_keeps_words",
    "CREATE TRIGGER log_entry_keeps_words BEFORE UPDATE ON log_entry"
    f" WHEN NOT ({_SAME_SQLITE} AND NEW.salt IS NULL AND NEW.payload IS NULL)"
    f" BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END",
)
_LOG_POSTGRESQL = (
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


def _tokens_sqlite(table: str) -> tuple[str, ...]:
    drawn = f"UPDATE house_state SET {TOKENS[table]} = lower(hex(randomblob(16)))"
    return tuple(
        statement
        for change in _CHANGES
        for statement in (
            f"DROP TRIGGER IF EXISTS {_name(table, change)}",
            f"CREATE TRIGGER {_name(table, change)} AFTER {change} ON {table} BEGIN {drawn}; END",
        )
    )


_DRAW_POSTGRESQL = (
    "CREATE OR REPLACE FUNCTION house_state_draw() RETURNS trigger LANGUAGE plpgsql AS"
    " $$ BEGIN EXECUTE 'UPDATE house_state SET ' || quote_ident(TG_ARGV[0])"
    " || ' = gen_random_uuid()::text'; RETURN NULL; END $$"
)


def _tokens_postgresql(table: str) -> tuple[str, ...]:
    name = f"house_state_{table}"
    return (
        f"DROP TRIGGER IF EXISTS {name} ON {table}",
        f"CREATE TRIGGER {name} AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE ON {table}"
        f" FOR EACH STATEMENT EXECUTE FUNCTION house_state_draw('{TOKENS[table]}')",
    )


_DATES = ("due_on", "look_on", "unframing_on", "box_check_on", "remat_by")
_COUNTED = (
    "INSERT INTO moved_date (work_id, moves) VALUES (NEW.work_id, 1)"
    " ON CONFLICT (work_id) DO UPDATE SET moves = moved_date.moves + 1"
)


def _any_differs(differs: str) -> str:
    return " OR ".join(f"OLD.{name} {differs} NEW.{name}" for name in _DATES)


_MOVES_SQLITE = (
    "DROP TRIGGER IF EXISTS forecast_counts_moves",
    f"CREATE TRIGGER forecast_counts_moves AFTER UPDATE OF {', '.join(_DATES)} ON forecast"
    f" WHEN {_any_differs('IS NOT')} BEGIN {_COUNTED}; END",
)
_MOVES_POSTGRESQL = (
    "CREATE OR REPLACE FUNCTION forecast_count_move() RETURNS trigger LANGUAGE plpgsql AS"
    f" $$ BEGIN {_COUNTED}; RETURN NULL; END $$",
    "DROP TRIGGER IF EXISTS forecast_counts_moves ON forecast",
    f"CREATE TRIGGER forecast_counts_moves AFTER UPDATE OF {', '.join(_DATES)} ON forecast"
    f" FOR EACH ROW WHEN ({_any_differs('IS DISTINCT FROM')})"
    " EXECUTE FUNCTION forecast_count_move()",
)

SQLITE = (*_LOG_SQLITE, *_MOVES_SQLITE, *(one for table in TOKENS for one in _tokens_sqlite(table)))
POSTGRESQL = (
    *_LOG_POSTGRESQL,
    *_MOVES_POSTGRESQL,
    _DRAW_POSTGRESQL,
    *(one for table in TOKENS for one in _tokens_postgresql(table)),
)


def install_triggers(connection: Connection) -> None:
    """Put every trigger in its place whose tables are there."""
    is_sqlite = connection.dialect.name == "sqlite"
    there = set(inspect(connection).get_table_names())
    statements: list[str] = []
    if "log_entry" in there:
        statements += _LOG_SQLITE if is_sqlite else _LOG_POSTGRESQL
    if "moved_date" in there:
        statements += _MOVES_SQLITE if is_sqlite else _MOVES_POSTGRESQL
    if "house_state" in there:
        statements += () if is_sqlite else (_DRAW_POSTGRESQL,)
        for table in TOKENS.keys() & there:
            statements += _tokens_sqlite(table) if is_sqlite else _tokens_postgresql(table)
    for statement in statements:
        connection.exec_driver_sql(statement)


def remove_token_triggers(connection: Connection) -> None:
    """Take away what draws tokens, before `house_state` goes."""
    is_sqlite = connection.dialect.name == "sqlite"
    there = set(inspect(connection).get_table_names())
    for table in TOKENS.keys() & there:
        for statement in _tokens_sqlite(table) if is_sqlite else _tokens_postgresql(table):
            if statement.startswith("DROP"):
                connection.exec_driver_sql(statement)


def remove_move_triggers(connection: Connection) -> None:
    """Take away what counts the moves of dates, before `moved_date` goes."""
    for statement in _MOVES_SQLITE if connection.dialect.name == "sqlite" else _MOVES_POSTGRESQL:
        if statement.startswith("DROP"):
            connection.exec_driver_sql(statement)
