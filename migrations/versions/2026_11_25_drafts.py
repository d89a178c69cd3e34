"""Visits that are not finished yet."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_drafts"
down_revision = "2026_11_25_photographs"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table of drafts."""
    op.create_table(
        "visit_draft",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("draft_key", sa.Text(), nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("hand", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.Column("begun", sa.Text(), nullable=False),
        sa.Column("saved", sa.Text(), nullable=False),
        sa.Column("put_away", sa.Text(), nullable=True),
        sa.Column("visit_id", WHOLE, nullable=True),
        sa.CheckConstraint(
            "length(draft_key) BETWEEN 1 AND 100", name=op.f("ck_visit_draft_draft_key")
        ),
        sa.CheckConstraint("length(hand) BETWEEN 0 AND 100", name=op.f("ck_visit_draft_hand")),
        sa.CheckConstraint(
            "kind IN ('look', 'unframing', 'box check')", name=op.f("ck_visit_draft_kind")
        ),
        sa.CheckConstraint("version BETWEEN 1 AND 2147483647", name=op.f("ck_visit_draft_version")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_visit_draft_person_id")
        ),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_visit_draft_visit_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_visit_draft_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit_draft")),
        sqlite_strict=True,
    )
    for name in ("person_id", "work_id", "saved", "visit_id"):
        op.create_index(op.f(f"ix_visit_draft_{name}"), "visit_draft", [name], unique=False)
    op.create_index("uq_visit_draft_draft_key", "visit_draft", ["draft_key"], unique=True)


def downgrade() -> None:
    """Take it away."""
    op.drop_index("uq_visit_draft_draft_key", table_name="visit_draft")
    for name in ("visit_id", "saved", "work_id", "person_id"):
        op.drop_index(op.f(f"ix_visit_draft_{name}"), table_name="visit_draft")
    op.drop_table("visit_draft")
