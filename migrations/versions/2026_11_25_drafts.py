"""Visits that are not finished yet."""

revision = "2026_11_25_drafts"
down_revision = "2026_11_25_photographs"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
