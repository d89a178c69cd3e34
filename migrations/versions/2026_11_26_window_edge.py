"""Where the edge of the mat's window is on a photograph."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_window_edge"
down_revision = "2026_11_26_take_down"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "window_edge",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("photograph_id", WHOLE, nullable=False),
        sa.Column("on_sheet", FLAG, nullable=False),
        sa.Column("points", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(points) BETWEEN 1 AND 200", name=op.f("ck_window_edge_points")),
        sa.ForeignKeyConstraint(
            ["photograph_id"], ["photograph.id"], name=op.f("fk_window_edge_photograph_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_window_edge")),
        sqlite_strict=True,
    )
    op.create_index("uq_window_edge_photograph_id", "window_edge", ["photograph_id"], unique=True)


def downgrade() -> None:
    """Take it away."""
    op.drop_index("uq_window_edge_photograph_id", table_name="window_edge")
    op.drop_table("window_edge")
