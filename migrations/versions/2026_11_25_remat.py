"""What is to become of each remat, and what each would gain."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_remat"
down_revision = "2026_11_25_schedule"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables of remats."""
    op.create_table(
        "remat",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("said_on", WHOLE, nullable=True),
        sa.Column("until_on", WHOLE, nullable=True),
        sa.Column("quote", NUMBER, nullable=True),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("quote BETWEEN 0 AND 10000000", name=op.f("ck_remat_quote")),
        sa.CheckConstraint("said_on BETWEEN -719162 AND 2932896", name=op.f("ck_remat_said_on")),
        sa.CheckConstraint(
            "state IN ('proposed', 'asked', 'agreed', 'declined until', 'with conservator', 'cannot', 'done')",
            name=op.f("ck_remat_state"),
        ),
        sa.CheckConstraint("until_on BETWEEN -719162 AND 2932896", name=op.f("ck_remat_until_on")),
        sa.CheckConstraint("length(why) <= 20000", name=op.f("ck_remat_why")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_remat_by_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_remat_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remat")),
        sqlite_strict=True,
    )
    op.create_table(
        "remat_score",
        sa.Column("work_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("score_day", WHOLE, nullable=True),
        sa.Column("owner_id", WHOLE, nullable=True),
        sa.Column("is_listed", FLAG, nullable=False),
        sa.Column("reduced", NUMBER, nullable=False),
        sa.Column("lost_now", NUMBER, nullable=False),
        sa.Column("lost_then", NUMBER, nullable=False),
        sa.Column("risk_of_remat", NUMBER, nullable=False),
        sa.Column("chance_now", NUMBER, nullable=False),
        sa.Column("chance_then", NUMBER, nullable=False),
        sa.Column("hours", NUMBER, nullable=False),
        sa.Column("cost", NUMBER, nullable=False),
        sa.Column("cure", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("weak_layer", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("board", sa.Text(), nullable=False),
        sa.Column("swaps", sa.Text(), nullable=False),
        sa.Column("kept_because", sa.Text(), nullable=False),
        sa.Column("ask_before", sa.Text(), nullable=False),
        sa.Column("leave_it", FLAG, nullable=False),
        sa.Column("may_reprint", FLAG, nullable=False),
        sa.Column("stock", sa.Text(), nullable=False),
        sa.CheckConstraint("length(ask_before) <= 20000", name=op.f("ck_remat_score_ask_before")),
        sa.CheckConstraint("length(board) <= 20000", name=op.f("ck_remat_score_board")),
        sa.CheckConstraint("chance_now BETWEEN 0 AND 1", name=op.f("ck_remat_score_chance_now")),
        sa.CheckConstraint("chance_then BETWEEN 0 AND 1", name=op.f("ck_remat_score_chance_then")),
        sa.CheckConstraint("cost BETWEEN 0 AND 10000000", name=op.f("ck_remat_score_cost")),
        sa.CheckConstraint(
            "cure IN ('remat', 'rehinge', 'give it a spacer', 'give it room', 'dry or move', 'rest')",
            name=op.f("ck_remat_score_cure"),
        ),
        sa.CheckConstraint("hours BETWEEN 0 AND 10000", name=op.f("ck_remat_score_hours")),
        sa.CheckConstraint(
            "length(kept_because) <= 20000", name=op.f("ck_remat_score_kept_because")
        ),
        sa.CheckConstraint("lost_now BETWEEN 0 AND 100", name=op.f("ck_remat_score_lost_now")),
        sa.CheckConstraint("lost_then BETWEEN 0 AND 100", name=op.f("ck_remat_score_lost_then")),
        sa.CheckConstraint("length(method) <= 20000", name=op.f("ck_remat_score_method")),
        sa.CheckConstraint("length(reason) <= 20000", name=op.f("ck_remat_score_reason")),
        sa.CheckConstraint("reduced BETWEEN -100 AND 100", name=op.f("ck_remat_score_reduced")),
        sa.CheckConstraint(
            "risk_of_remat BETWEEN 0 AND 100", name=op.f("ck_remat_score_risk_of_remat")
        ),
        sa.CheckConstraint(
            "score_day BETWEEN -719162 AND 2932896", name=op.f("ck_remat_score_score_day")
        ),
        sa.CheckConstraint("length(stock) <= 20000", name=op.f("ck_remat_score_stock")),
        sa.CheckConstraint("length(swaps) <= 20000", name=op.f("ck_remat_score_swaps")),
        sa.CheckConstraint("length(weak_layer) <= 20000", name=op.f("ck_remat_score_weak_layer")),
        sa.ForeignKeyConstraint(["owner_id"], ["owner.id"], name=op.f("fk_remat_score_owner_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_remat_score_work_id")),
        sa.PrimaryKeyConstraint("work_id", name=op.f("pk_remat_score")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_remat_by_id"), "remat", ["by_id"], unique=False)
    op.create_index("uq_remat_work_id", "remat", ["work_id"], unique=True)
    for name, leading in LISTS.items():
        op.create_index(
            name,
            "remat_score",
            [*leading, "reduced", "work_id"],
            unique=False,
            sqlite_where=sa.text("is_listed = 1"),
            postgresql_where=sa.text("is_listed"),
        )


def downgrade() -> None:
    """Take them away."""
    for name in LISTS:
        op.drop_index(name, table_name="remat_score")
    op.drop_table("remat_score")
    op.drop_index("uq_remat_work_id", table_name="remat")
    op.drop_index(op.f("ix_remat_by_id"), table_name="remat")
    op.drop_table("remat")


# The list is read in its order from one of these: of the house, and of one owner.
LISTS = {"ix_remat_score_reduced": (), "ix_remat_score_owner_id_reduced": ("owner_id",)}
