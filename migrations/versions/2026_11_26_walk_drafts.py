"""Walks that are not finished yet."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_walk_drafts"
down_revision = "2026_11_26_mat_windows"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
OPEN = sa.text("walk_id IS NULL AND put_away IS NULL")


def upgrade() -> None:
    """Make the table of drafts."""
    op.create_table(
        "walk_draft",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("draft_key", sa.Text(), nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("answered", WHOLE, nullable=False),
        sa.Column("last_walk_id", WHOLE, nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.Column("begun", sa.Text(), nullable=False),
        sa.Column("saved", sa.Text(), nullable=False),
        sa.Column("put_away", sa.Text(), nullable=True),
        sa.Column("walk_id", WHOLE, nullable=True),
        sa.CheckConstraint(
            "length(draft_key) BETWEEN 1 AND 100", name=op.f("ck_walk_draft_draft_key")
        ),
        sa.CheckConstraint(
            "answered BETWEEN 0 AND 2147483647", name=op.f("ck_walk_draft_answered")
        ),
        sa.CheckConstraint(
            "last_walk_id BETWEEN 0 AND 9007199254740992",
            name=op.f("ck_walk_draft_last_walk_id"),
        ),
        sa.CheckConstraint("version BETWEEN 1 AND 2147483647", name=op.f("ck_walk_draft_version")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_walk_draft_person_id")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_walk_draft_place_id")),
        sa.ForeignKeyConstraint(["walk_id"], ["walk.id"], name=op.f("fk_walk_draft_walk_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_walk_draft")),
        sqlite_strict=True,
    )
    for name in ("person_id", "place_id", "saved", "walk_id"):
        op.create_index(op.f(f"ix_walk_draft_{name}"), "walk_draft", [name], unique=False)
    op.create_index("uq_walk_draft_draft_key", "walk_draft", ["draft_key"], unique=True)
    op.create_index(
        "uq_walk_draft_open",
        "walk_draft",
        ["person_id", "place_id"],
        unique=True,
        sqlite_where=OPEN,
        postgresql_where=OPEN,
    )


def downgrade() -> None:
    """Take it away."""
    op.drop_index("uq_walk_draft_open", table_name="walk_draft")
    op.drop_index("uq_walk_draft_draft_key", table_name="walk_draft")
    for name in ("walk_id", "saved", "place_id", "person_id"):
        op.drop_index(op.f(f"ix_walk_draft_{name}"), table_name="walk_draft")
    op.drop_table("walk_draft")
