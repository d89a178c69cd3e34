"""Works that are rematted together."""

revision = "2026_11_25_remat_jobs"
down_revision = "2026_11_25_outlines"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
