"""Attributions and bench decisions."""

revision = "2026_11_25_own_evidence"
down_revision = "2026_11_25_climate"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
