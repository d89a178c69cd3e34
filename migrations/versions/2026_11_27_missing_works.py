"""Works that a walk did not find."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_27_missing_works"
down_revision = "2026_11_26_hold_outcome_visit"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
LINKS = ("walk_id", "work_id", "stay_id", "found_visit_id")
TABLES = {"found_visit_id": "visit"}


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "missing_work",
        sa.Column("id", WHOLE, nullable=False),
        *(sa.Column(name, WHOLE, nullable=name in TABLES) for name in LINKS),
        *(
            sa.ForeignKeyConstraint(
                [name],
                [f"{TABLES.get(name, name.removesuffix('_id'))}.id"],
                name=op.f(f"fk_missing_work_{name}"),
            )
            for name in LINKS
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_missing_work")),
        sqlite_strict=True,
    )
    for name in LINKS:
        op.create_index(op.f(f"ix_missing_work_{name}"), "missing_work", [name], unique=False)


def downgrade() -> None:
    """Take it away."""
    for name in reversed(LINKS):
        op.drop_index(op.f(f"ix_missing_work_{name}"), table_name="missing_work")
    op.drop_table("missing_work")
