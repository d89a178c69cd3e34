"""What is kept of a search for dates, so that it need not be made again."""

revision = "2026_11_25_kept_dates"
down_revision = "2026_11_25_reminders"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
