"""What forecasts are worked out anew from."""

revision = "2026_11_25_stored_rows"
down_revision = "2026_11_25_remat"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
