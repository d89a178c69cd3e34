"""The windows of a mat, where it has several or somebody measured them."""

from alembic import op

revision = "2026_11_26_mat_windows"
down_revision = "2026_11_26_window_edge"
branch_labels = None
depends_on = None

CHECK = "CONSTRAINT ck_layer_windows CHECK (length(windows) BETWEEN 0 AND 12000)"


def upgrade() -> None:
    """Add the column."""
    op.execute(f"ALTER TABLE layer ADD COLUMN windows TEXT {CHECK}")


def downgrade() -> None:
    """Take it away, and its CHECK with it: that belongs to the column alone."""
    op.execute("ALTER TABLE layer DROP COLUMN windows")
