"""Own evidence: its factors, the mounts that spoke, switches; and bench decisions."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_own_evidence"
down_revision = "2026_11_25_climate"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make its tables."""
    op.create_table(
        "experience_factor",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("mechanism", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("factor", NUMBER, nullable=False),
        sa.Column("low", NUMBER, nullable=False),
        sa.Column("high", NUMBER, nullable=False),
        sa.Column("mounts", WHOLE, nullable=False),
        sa.Column("harmed", WHOLE, nullable=False),
        sa.Column("expected", NUMBER, nullable=False),
        sa.Column("in_use", FLAG, nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.Column("computed_on", WHOLE, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_experience_factor")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_experience_factor_mechanism_grade",
        "experience_factor",
        ["mechanism", "grade"],
        unique=True,
    )
    op.create_table(
        "experience_mount",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("mount_id", WHOLE, nullable=False),
        sa.Column("mechanism", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("hazard", NUMBER, nullable=False),
        sa.Column("found", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["mount_id"], ["mount.id"], name=op.f("fk_experience_mount_mount_id")
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_experience_mount_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_experience_mount")),
        sqlite_strict=True,
    )
    op.create_index(
        "ix_experience_mount_mechanism_grade",
        "experience_mount",
        ["mechanism", "grade"],
        unique=False,
    )
    op.create_index(
        op.f("ix_experience_mount_mount_id"), "experience_mount", ["mount_id"], unique=False
    )
    op.create_index(
        op.f("ix_experience_mount_work_id"), "experience_mount", ["work_id"], unique=False
    )
    op.create_table(
        "experience_switch",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("scope", sa.Text(), nullable=False),
        sa.Column("is_off", FLAG, nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_experience_switch")),
        sqlite_strict=True,
    )
    op.create_index("uq_experience_switch_scope", "experience_switch", ["scope"], unique=True)


def downgrade() -> None:
    """Take them away."""
    op.drop_index(op.f("uq_experience_switch_scope"), table_name="experience_switch")
    op.drop_table("experience_switch")
    op.drop_index(op.f("ix_experience_mount_mechanism_grade"), table_name="experience_mount")
    op.drop_index(op.f("ix_experience_mount_mount_id"), table_name="experience_mount")
    op.drop_index(op.f("ix_experience_mount_work_id"), table_name="experience_mount")
    op.drop_table("experience_mount")
    op.drop_index(op.f("uq_experience_factor_mechanism_grade"), table_name="experience_factor")
    op.drop_table("experience_factor")
