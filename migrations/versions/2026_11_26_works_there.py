"""Which works are in a place now, within one index: rooms are counted without a look at works."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_works_there"
down_revision = "2026_11_26_walk_drafts"
branch_labels = None
depends_on = None

INDEX = "ix_stay_there"


def upgrade() -> None:
    """Add the index."""
    op.create_index(
        INDEX,
        "stay",
        ["place_id", "work_id"],
        unique=False,
        sqlite_where=sa.text("ended = 0 AND withdrawn_reason IS NULL"),
        postgresql_where=sa.text("NOT ended AND withdrawn_reason IS NULL"),
    )


def downgrade() -> None:
    """Take it away."""
    op.drop_index(INDEX, table_name="stay")
