"""Climate and light records of places."""

revision = "2026_11_25_climate"
down_revision = "2026_11_25_policy"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
