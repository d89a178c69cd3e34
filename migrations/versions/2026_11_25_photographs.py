"""Photographs of works, and what was made of them."""

revision = "2026_11_25_photographs"
down_revision = "2026_11_25_kept_dates"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
