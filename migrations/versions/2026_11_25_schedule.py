"""Postponements and the keys of calendar feeds."""

import sqlalchemy as sa
from alembic import op

from migrations.triggers import remove_move_triggers

revision = "2026_11_25_schedule"
down_revision = "2026_11_25_own_evidence"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables of what was put off and of feeds; count the changes of each date."""
    op.create_table(
        "postponement",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("until_on", WHOLE, nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("made_on", WHOLE, nullable=True),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("after_visit_no", WHOLE, nullable=False),
        sa.Column("is_levelled", FLAG, nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "after_visit_no BETWEEN 0 AND 2147483648", name=op.f("ck_postponement_after_visit_no")
        ),
        sa.CheckConstraint(
            "kind IN ('look', 'unframing', 'box check', 'remat', 'follow-up', 'does not wait', 'first survey')",
            name=op.f("ck_postponement_kind"),
        ),
        sa.CheckConstraint(
            "made_on BETWEEN -719162 AND 2932896", name=op.f("ck_postponement_made_on")
        ),
        sa.CheckConstraint(
            "length(reason) BETWEEN 1 AND 20000", name=op.f("ck_postponement_reason")
        ),
        sa.CheckConstraint(
            "until_on BETWEEN -719162 AND 2932896", name=op.f("ck_postponement_until_on")
        ),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_postponement_withdrawn_reason"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_postponement_by_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_postponement_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_postponement")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_postponement_by_id"), "postponement", ["by_id"], unique=False)
    op.create_index("ix_postponement_work_id", "postponement", ["work_id"], unique=False)
    op.create_index(
        "uq_postponement_work_id_kind",
        "postponement",
        ["work_id", "kind"],
        unique=True,
        sqlite_where=sa.text("withdrawn_reason IS NULL"),
        postgresql_where=sa.text("withdrawn_reason IS NULL"),
    )
    op.create_table(
        "feed_key",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("key_sha256", sa.Text(), nullable=False),
        sa.Column("made_on", WHOLE, nullable=True),
        sa.Column("ended", FLAG, nullable=False),
        sa.CheckConstraint("made_on BETWEEN -719162 AND 2932896", name=op.f("ck_feed_key_made_on")),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_feed_key_name")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_feed_key_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_feed_key")),
        sa.UniqueConstraint("key_sha256", name=op.f("uq_feed_key_key_sha256")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_feed_key_person_id"), "feed_key", ["person_id"], unique=False)
    op.create_table(
        "moved_date",
        sa.Column("work_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("moves", WHOLE, nullable=False),
        sa.CheckConstraint("moves BETWEEN 1 AND 2147483648", name=op.f("ck_moved_date_moves")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_moved_date_work_id")),
        sa.PrimaryKeyConstraint("work_id", name=op.f("pk_moved_date")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    """Take them away."""
    remove_move_triggers(op.get_bind())
    op.drop_table("moved_date")
    op.drop_index(op.f("ix_feed_key_person_id"), table_name="feed_key")
    op.drop_table("feed_key")
    op.drop_index(
        "uq_postponement_work_id_kind",
        table_name="postponement",
        sqlite_where=sa.text("withdrawn_reason IS NULL"),
        postgresql_where=sa.text("withdrawn_reason IS NULL"),
    )
    op.drop_index("ix_postponement_work_id", table_name="postponement")
    op.drop_index(op.f("ix_postponement_by_id"), table_name="postponement")
    op.drop_table("postponement")
