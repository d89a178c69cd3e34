"""What each person chose for their own pages."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_settings"
down_revision = "2026_11_25_remat_jobs"
branch_labels = None
depends_on = None

WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table of what people chose."""
    op.create_table(
        "own_setting",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("scheme", sa.Text(), nullable=False),
        sa.Column("lengths", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "scheme IN ('as the device', 'light', 'dark')", name=op.f("ck_own_setting_scheme")
        ),
        sa.CheckConstraint(
            "lengths IN ('millimetres', 'millimetres and inches')",
            name=op.f("ck_own_setting_lengths"),
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_own_setting_person_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_setting")),
        sqlite_strict=True,
    )
    op.create_index("uq_own_setting_person_id", "own_setting", ["person_id"], unique=True)


def downgrade() -> None:
    """Drop it."""
    op.drop_table("own_setting")
