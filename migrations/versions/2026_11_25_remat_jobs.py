"""Works that are rematted together."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_remat_jobs"
down_revision = "2026_11_25_outlines"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables of remat jobs and of their works."""
    op.create_table(
        "remat_job",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("made_on", WHOLE, nullable=True),
        sa.Column("person_id", WHOLE, nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("length(name) BETWEEN 1 AND 200", name=op.f("ck_remat_job_name")),
        sa.CheckConstraint("state IN ('open', 'done', 'dropped')", name=op.f("ck_remat_job_state")),
        sa.CheckConstraint(
            "made_on BETWEEN -719162 AND 2932896", name=op.f("ck_remat_job_made_on")
        ),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_remat_job_note")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_remat_job_withdrawn_reason"),
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_remat_job_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remat_job")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_remat_job_person_id"), "remat_job", ["person_id"], unique=False)
    op.create_table(
        "remat_job_work",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("job_id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("position", WHOLE, nullable=False),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("done_on", WHOLE, nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint("position BETWEEN 1 AND 200", name=op.f("ck_remat_job_work_position")),
        sa.CheckConstraint(
            "outcome IN ('to do', 'remounted', 'left out')",
            name=op.f("ck_remat_job_work_outcome"),
        ),
        sa.CheckConstraint(
            "done_on BETWEEN -719162 AND 2932896", name=op.f("ck_remat_job_work_done_on")
        ),
        sa.ForeignKeyConstraint(
            ["job_id"], ["remat_job.id"], name=op.f("fk_remat_job_work_job_id")
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_remat_job_work_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remat_job_work")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_remat_job_work_work_id"), "remat_job_work", ["work_id"], unique=False)
    op.create_index(
        "uq_remat_job_work_job_id_work_id", "remat_job_work", ["job_id", "work_id"], unique=True
    )


def downgrade() -> None:
    """Take them away."""
    op.drop_index("uq_remat_job_work_job_id_work_id", table_name="remat_job_work")
    op.drop_index(op.f("ix_remat_job_work_work_id"), table_name="remat_job_work")
    op.drop_table("remat_job_work")
    op.drop_index(op.f("ix_remat_job_person_id"), table_name="remat_job")
    op.drop_table("remat_job")
