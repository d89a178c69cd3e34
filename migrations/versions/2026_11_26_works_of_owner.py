"""The works of an owner in the order of their numbers, so that a page of many reads only its own."""

from alembic import op

revision = "2026_11_26_works_of_owner"
down_revision = "2026_11_26_asked_before"
branch_labels = None
depends_on = None

BY_NUMBER, BY_OWNER = "ix_work_owner_id_number", "ix_work_owner_id"


def upgrade() -> None:
    """Put the index with the numbers in the place of the one without."""
    op.create_index(BY_NUMBER, "work", ["owner_id", "number"], unique=False)
    op.drop_index(BY_OWNER, table_name="work")


def downgrade() -> None:
    """Put back the one without."""
    op.create_index(BY_OWNER, "work", ["owner_id"], unique=False)
    op.drop_index(BY_NUMBER, table_name="work")
