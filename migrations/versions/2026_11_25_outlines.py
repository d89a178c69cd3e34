"""Where on a photograph and on the sheet a finding lies."""

revision = "2026_11_25_outlines"
down_revision = "2026_11_25_drafts"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
