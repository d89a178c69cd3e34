"""What forecasts are worked out anew from."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_stored_rows"
down_revision = "2026_11_25_remat"
branch_labels = None
depends_on = None

# What a whole number is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table of kept rows."""
    op.create_table(
        "component_rows",
        sa.Column("work_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("form", WHOLE, nullable=False),
        sa.Column("frame", sa.LargeBinary(), nullable=False),
        sa.Column("packed_rows", sa.LargeBinary(), nullable=False),
        sa.Column("names", sa.Text(), nullable=False),
        sa.CheckConstraint("form BETWEEN 1 AND 1000000", name=op.f("ck_component_rows_form")),
        sa.CheckConstraint("length(names) <= 200000", name=op.f("ck_component_rows_names")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_component_rows_work_id")),
        sa.PrimaryKeyConstraint("work_id", name=op.f("pk_component_rows")),
        sqlite_strict=True,
    )


def downgrade() -> None:
    """Take it away."""
    op.drop_table("component_rows")
