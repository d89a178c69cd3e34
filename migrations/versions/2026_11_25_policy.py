"""What a keeper sets, and what is in force: policy, figures, own experience."""

revision = "2026_11_25_policy"
down_revision = "2026_11_25"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make its tables."""


def downgrade() -> None:
    """Take them away."""
