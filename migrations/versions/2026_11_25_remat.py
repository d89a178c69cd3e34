"""What is to become of each remat."""

revision = "2026_11_25_remat"
down_revision = "2026_11_25_schedule"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
