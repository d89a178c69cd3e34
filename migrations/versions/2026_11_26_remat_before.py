"""What had become of a remat before a remount made it done."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_remat_before"
down_revision = "2026_11_26_works_there"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
STATES = "'proposed', 'asked', 'agreed', 'declined until', 'with conservator', 'cannot', 'done'"
DAYS = ("done_on", "said_on", "until_on")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "remat_before",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("done_on", WHOLE, nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("said_on", WHOLE, nullable=True),
        sa.Column("until_on", WHOLE, nullable=True),
        sa.Column("quote", NUMBER, nullable=True),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        *(
            sa.CheckConstraint(
                f"{name} BETWEEN -719162 AND 2932896", name=op.f(f"ck_remat_before_{name}")
            )
            for name in DAYS
        ),
        sa.CheckConstraint("quote BETWEEN 0 AND 10000000", name=op.f("ck_remat_before_quote")),
        sa.CheckConstraint(f"state IN ({STATES})", name=op.f("ck_remat_before_state")),
        sa.CheckConstraint("length(why) <= 20000", name=op.f("ck_remat_before_why")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_remat_before_by_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_remat_before_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remat_before")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_remat_before_by_id"), "remat_before", ["by_id"], unique=False)
    op.create_index("uq_remat_before_work_id", "remat_before", ["work_id"], unique=True)


def downgrade() -> None:
    """Take it away."""
    op.drop_index("uq_remat_before_work_id", table_name="remat_before")
    op.drop_index(op.f("ix_remat_before_by_id"), table_name="remat_before")
    op.drop_table("remat_before")
