"""The day by which a work is taken down for its light, and two words: take down, reseal.

SQLite changes no CHECK in place: there each table is made anew from its own text, with its
indexes, as SQLite advises; triggers come back at the end of every run.
"""

import re

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_take_down"
down_revision = "2026_11_26_due_kinds"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
INDEX = "ix_forecast_take_down_on_work_id"
DAY = "CONSTRAINT ck_forecast_take_down_on CHECK (take_down_on BETWEEN -719162 AND 2932896)"

DATES = "'look', 'unframing', 'box check', 'remat', 'follow-up', 'does not wait', 'first survey'"
CURES = "'remat', 'rehinge', 'give it a spacer', 'give it room', 'dry or move', 'rest'"
MORE_DATES = f"{DATES}, 'take down'"
MORE_CURES = CURES.replace("'rehinge'", "'rehinge', 'reseal'")
# Which words stand in which column, before and after.
WORDS = {
    ("forecast", "advice"): (CURES, MORE_CURES),
    ("forecast", "due_kind"): (DATES, MORE_DATES),
    ("postponement", "kind"): (DATES, MORE_DATES),
    ("remat_score", "cure"): (CURES, MORE_CURES),
}
# What the text of the table gets besides.
COLUMN = ("kept_years BLOB, ", "kept_years BLOB, take_down_on INTEGER, ")
CHECK = ("CONSTRAINT ck_forecast_remat_by", f"{DAY}, CONSTRAINT ck_forecast_remat_by")


def upgrade() -> None:
    """Add the day, and let both words stand."""
    if op.get_bind().dialect.name == "sqlite":
        words = {key: (_check(key, old), _check(key, new)) for key, (old, new) in WORDS.items()}
        for table in dict.fromkeys(table for table, _ in WORDS):
            changes = [change for key, change in words.items() if key[0] == table]
            _make_anew(table, [*changes, *([COLUMN, CHECK] if table == "forecast" else [])])
    else:
        op.add_column("forecast", sa.Column("take_down_on", WHOLE, nullable=True))
        op.execute(f"ALTER TABLE forecast ADD {DAY}")
        for (table, column), (_, new) in WORDS.items():
            _replace_check(table, column, new)
    op.create_index(INDEX, "forecast", ["take_down_on", "work_id"], unique=False)
    # No day is worked out yet: whoever serves next does it, as after any change.
    op.execute(
        "INSERT INTO stale_work (work_id, marks) SELECT work_id, 1 FROM forecast"
        " WHERE work_id NOT IN (SELECT work_id FROM stale_work)"
    )


def downgrade() -> None:
    """Take the day away, and both words back: what was to be resealed is to be rematted."""
    op.execute("UPDATE forecast SET advice = 'remat' WHERE advice = 'reseal'")
    op.execute("UPDATE remat_score SET cure = 'remat' WHERE cure = 'reseal'")
    op.drop_index(INDEX, table_name="forecast")
    if op.get_bind().dialect.name == "sqlite":
        words = {key: (_check(key, new), _check(key, old)) for key, (old, new) in WORDS.items()}
        for table in dict.fromkeys(table for table, _ in WORDS):
            changes = [change for key, change in words.items() if key[0] == table]
            without = [COLUMN[::-1], CHECK[::-1]] if table == "forecast" else []
            _make_anew(table, [*changes, *without])
    else:
        for (table, column), (old, _) in WORDS.items():
            _replace_check(table, column, old)
        op.drop_column("forecast", "take_down_on")


def _check(key: tuple[str, str], words: str) -> str:
    table, column = key
    return f"CONSTRAINT ck_{table}_{column} CHECK ({column} IN ({words}))"


def _replace_check(table: str, column: str, words: str) -> None:
    op.execute(f"ALTER TABLE {table} DROP CONSTRAINT ck_{table}_{column}")
    op.execute(f"ALTER TABLE {table} ADD {_check((table, column), words)}")


def _make_anew(table: str, changes: list[tuple[str, str]]) -> None:
    """Make a table of SQLite anew, with these pieces of its text changed."""
    bind = op.get_bind()
    made, *indexes = bind.exec_driver_sql(
        "SELECT sql FROM sqlite_master WHERE tbl_name = ? AND sql IS NOT NULL"
        " AND type IN ('table', 'index') ORDER BY type DESC",
        (table,),
    ).scalars()
    for old, new in changes:
        if old not in made:
            raise RuntimeError(f"The table {table} is not as it was made: {old} is missing.")
        made = made.replace(old, new)
    before = [row[1] for row in bind.exec_driver_sql(f"PRAGMA table_info({table})")]
    # What was renamed once has its name in quotes.
    bind.exec_driver_sql(re.sub(rf'^CREATE TABLE "?{table}"?', "CREATE TABLE made_anew", made))
    after = [row[1] for row in bind.exec_driver_sql("PRAGMA table_info(made_anew)")]
    kept = ", ".join(name for name in after if name in before)
    bind.exec_driver_sql(f"INSERT INTO made_anew ({kept}) SELECT {kept} FROM {table}")
    bind.exec_driver_sql(f"DROP TABLE {table}")
    bind.exec_driver_sql(f"ALTER TABLE made_anew RENAME TO {table}")
    for index in indexes:
        bind.exec_driver_sql(index)
