"""Postponements, feeds and reminders."""

revision = "2026_11_25_schedule"
down_revision = "2026_11_25_own_evidence"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
