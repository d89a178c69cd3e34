"""What is kept of a search for dates, so that it need not be made again."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_kept_dates"
down_revision = "2026_11_25_reminders"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the years that a search found."""
    op.add_column("forecast", sa.Column("kept_years", sa.LargeBinary(), nullable=True))


def downgrade() -> None:
    """Take them away."""
    op.drop_column("forecast", "kept_years")
