"""The dates of each kind within one index, and the works off the register within another."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_due_kinds"
down_revision = "2026_11_25_settings"
branch_labels = None
depends_on = None

OFF_REGISTER = sa.text("withdrawn_reason IS NOT NULL")


def upgrade() -> None:
    """Count what is due without a look at the works: the kind stands beside the day."""
    op.create_index(
        "ix_forecast_due_kind_due_on_work_id",
        "forecast",
        ["due_kind", "due_on", "work_id"],
        unique=False,
    )
    op.drop_index("ix_forecast_due_on_work_id", table_name="forecast")
    op.create_index(
        "ix_work_off_register",
        "work",
        ["id"],
        unique=False,
        sqlite_where=OFF_REGISTER,
        postgresql_where=OFF_REGISTER,
    )


def downgrade() -> None:
    """Take the kinds out again."""
    op.drop_index("ix_work_off_register", table_name="work")
    op.create_index("ix_forecast_due_on_work_id", "forecast", ["due_on", "work_id"], unique=False)
    op.drop_index("ix_forecast_due_kind_due_on_work_id", table_name="forecast")
