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
        sa.CheckConstraint(
            "mechanism IN ('acid migration', 'adhesive ageing', 'hold failure', 'photo-activity', 'alkali contact', 'sticking to the glazing', 'restraint', 'fogging of the glazing', 'mould', 'accident', 'foxing', 'insects and dust', 'the paper''s own ageing', 'tarnish or ozone', 'face mount')",
            name=op.f("ck_experience_factor_mechanism"),
        ),
        sa.CheckConstraint(
            "length(grade) BETWEEN 1 AND 200", name=op.f("ck_experience_factor_grade")
        ),
        sa.CheckConstraint(
            "factor BETWEEN 0 AND 1000000", name=op.f("ck_experience_factor_factor")
        ),
        sa.CheckConstraint("low BETWEEN 0 AND 1000000", name=op.f("ck_experience_factor_low")),
        sa.CheckConstraint("high BETWEEN 0 AND 1000000", name=op.f("ck_experience_factor_high")),
        sa.CheckConstraint(
            "mounts BETWEEN 0 AND 100000000", name=op.f("ck_experience_factor_mounts")
        ),
        sa.CheckConstraint(
            "harmed BETWEEN 0 AND 100000000", name=op.f("ck_experience_factor_harmed")
        ),
        sa.CheckConstraint(
            "expected BETWEEN 0 AND 200000000", name=op.f("ck_experience_factor_expected")
        ),
        sa.CheckConstraint(
            "computed_on BETWEEN -719162 AND 2932896", name=op.f("ck_experience_factor_computed_on")
        ),
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
        sa.CheckConstraint(
            "mechanism IN ('acid migration', 'adhesive ageing', 'hold failure', 'photo-activity', 'alkali contact', 'sticking to the glazing', 'restraint', 'fogging of the glazing', 'mould', 'accident', 'foxing', 'insects and dust', 'the paper''s own ageing', 'tarnish or ozone', 'face mount')",
            name=op.f("ck_experience_mount_mechanism"),
        ),
        sa.CheckConstraint(
            "length(grade) BETWEEN 1 AND 200", name=op.f("ck_experience_mount_grade")
        ),
        sa.CheckConstraint(
            "place IN ('front', 'back of frame', 'margins', 'verso', 'under hinges')",
            name=op.f("ck_experience_mount_place"),
        ),
        sa.CheckConstraint("hazard BETWEEN 0 AND 2", name=op.f("ck_experience_mount_hazard")),
        sa.CheckConstraint(
            "found IN ('clear', 'new or grown', 'found, age unknown', 'of an earlier mount')",
            name=op.f("ck_experience_mount_found"),
        ),
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
        sa.CheckConstraint(
            "length(scope) BETWEEN 1 AND 500", name=op.f("ck_experience_switch_scope")
        ),
        sa.CheckConstraint(
            "length(reason) BETWEEN 1 AND 500", name=op.f("ck_experience_switch_reason")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_experience_switch")),
        sqlite_strict=True,
    )
    op.create_index("uq_experience_switch_scope", "experience_switch", ["scope"], unique=True)
    op.create_table(
        "grade_decision",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("layer_id", WHOLE, nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("likely", NUMBER, nullable=False),
        sa.Column("tests", sa.Text(), nullable=False),
        sa.Column("grade_before", sa.Text(), nullable=True),
        sa.Column("known_by_before", sa.Text(), nullable=True),
        sa.Column("decided_on", WHOLE, nullable=True),
        sa.Column("decided_by_id", WHOLE, nullable=True),
        sa.Column("taken_back_on", WHOLE, nullable=True),
        sa.Column("taken_back_by_id", WHOLE, nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(grade) BETWEEN 1 AND 100", name=op.f("ck_grade_decision_grade")),
        sa.CheckConstraint("likely BETWEEN 0 AND 1", name=op.f("ck_grade_decision_likely")),
        sa.CheckConstraint("length(tests) <= 20000", name=op.f("ck_grade_decision_tests")),
        sa.CheckConstraint(
            "length(grade_before) BETWEEN 0 AND 100", name=op.f("ck_grade_decision_grade_before")
        ),
        sa.CheckConstraint(
            "known_by_before IN ('seen', 'label or invoice', 'tested', 'told', 'guessed')",
            name=op.f("ck_grade_decision_known_by_before"),
        ),
        sa.CheckConstraint(
            "decided_on BETWEEN -719162 AND 2932896", name=op.f("ck_grade_decision_decided_on")
        ),
        sa.CheckConstraint(
            "taken_back_on BETWEEN -719162 AND 2932896",
            name=op.f("ck_grade_decision_taken_back_on"),
        ),
        sa.ForeignKeyConstraint(
            ["decided_by_id"], ["person.id"], name=op.f("fk_grade_decision_decided_by_id")
        ),
        sa.ForeignKeyConstraint(
            ["layer_id"], ["layer.id"], name=op.f("fk_grade_decision_layer_id")
        ),
        sa.ForeignKeyConstraint(
            ["taken_back_by_id"], ["person.id"], name=op.f("fk_grade_decision_taken_back_by_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_grade_decision")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_grade_decision_decided_by_id"), "grade_decision", ["decided_by_id"], unique=False
    )
    op.create_index(
        op.f("ix_grade_decision_layer_id"), "grade_decision", ["layer_id"], unique=False
    )
    op.create_index(
        op.f("ix_grade_decision_taken_back_by_id"),
        "grade_decision",
        ["taken_back_by_id"],
        unique=False,
    )
    op.create_index(
        "uq_grade_decision_standing_layer_id",
        "grade_decision",
        ["layer_id"],
        unique=True,
        sqlite_where=sa.text("taken_back_on IS NULL"),
        postgresql_where=sa.text("taken_back_on IS NULL"),
    )


def downgrade() -> None:
    """Take them away."""
    op.drop_index("uq_grade_decision_standing_layer_id", table_name="grade_decision")
    op.drop_index(op.f("ix_grade_decision_taken_back_by_id"), table_name="grade_decision")
    op.drop_index(op.f("ix_grade_decision_layer_id"), table_name="grade_decision")
    op.drop_index(op.f("ix_grade_decision_decided_by_id"), table_name="grade_decision")
    op.drop_table("grade_decision")
    op.drop_index(op.f("uq_experience_switch_scope"), table_name="experience_switch")
    op.drop_table("experience_switch")
    op.drop_index(op.f("ix_experience_mount_mechanism_grade"), table_name="experience_mount")
    op.drop_index(op.f("ix_experience_mount_mount_id"), table_name="experience_mount")
    op.drop_index(op.f("ix_experience_mount_work_id"), table_name="experience_mount")
    op.drop_table("experience_mount")
    op.drop_index(op.f("uq_experience_factor_mechanism_grade"), table_name="experience_factor")
    op.drop_table("experience_factor")
