"""Photographs of works: what each shows, and under which digest its picture is kept."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_photographs"
down_revision = "2026_11_25_kept_dates"
branch_labels = None
depends_on = None

# What a whole number is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the table of photographs."""
    op.create_table(
        "photograph",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("work_id", WHOLE, nullable=False),
        sa.Column("visit_id", WHOLE, nullable=True),
        sa.Column("draft_key", sa.Text(), nullable=True),
        sa.Column("view", sa.Text(), nullable=False),
        sa.Column("stage", sa.Text(), nullable=True),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("media_type", sa.Text(), nullable=False),
        sa.Column("byte_count", WHOLE, nullable=False),
        sa.Column("file_name", sa.Text(), nullable=True),
        sa.Column("width_px", WHOLE, nullable=False),
        sa.Column("height_px", WHOLE, nullable=False),
        sa.Column("taken_on_edtf", sa.Text(), nullable=True),
        sa.Column("taken_on_first", WHOLE, nullable=True),
        sa.Column("taken_on_last", WHOLE, nullable=True),
        sa.Column("person_id", WHOLE, nullable=True),
        sa.Column("recorded_on", WHOLE, nullable=True),
        sa.Column("upload_key", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "byte_count BETWEEN 1 AND 1099511627776", name=op.f("ck_photograph_byte_count")
        ),
        sa.CheckConstraint(
            "length(draft_key) BETWEEN 0 AND 200", name=op.f("ck_photograph_draft_key")
        ),
        sa.CheckConstraint(
            "length(file_name) BETWEEN 0 AND 300", name=op.f("ck_photograph_file_name")
        ),
        sa.CheckConstraint("height_px BETWEEN 1 AND 1000000", name=op.f("ck_photograph_height_px")),
        sa.CheckConstraint(
            "length(media_type) BETWEEN 1 AND 100", name=op.f("ck_photograph_media_type")
        ),
        sa.CheckConstraint("length(note) <= 20000", name=op.f("ck_photograph_note")),
        sa.CheckConstraint(
            "recorded_on BETWEEN -719162 AND 2932896", name=op.f("ck_photograph_recorded_on")
        ),
        sa.CheckConstraint("length(sha256) BETWEEN 1 AND 64", name=op.f("ck_photograph_sha256")),
        sa.CheckConstraint(
            "stage IN ('in frame', 'back off', 'mat lifted', 'verso', 'closed')",
            name=op.f("ck_photograph_stage"),
        ),
        sa.CheckConstraint(
            "length(taken_on_edtf) BETWEEN 0 AND 100", name=op.f("ck_photograph_taken_on_edtf")
        ),
        sa.CheckConstraint(
            "taken_on_first BETWEEN -719162 AND 2932896", name=op.f("ck_photograph_taken_on_first")
        ),
        sa.CheckConstraint(
            "taken_on_last BETWEEN -719162 AND 2932896", name=op.f("ck_photograph_taken_on_last")
        ),
        sa.CheckConstraint(
            "length(upload_key) BETWEEN 0 AND 200", name=op.f("ck_photograph_upload_key")
        ),
        sa.CheckConstraint(
            "view IN ('recto', 'verso', 'raking light', 'transmitted light', 'ultraviolet')",
            name=op.f("ck_photograph_view"),
        ),
        sa.CheckConstraint("width_px BETWEEN 1 AND 1000000", name=op.f("ck_photograph_width_px")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_photograph_withdrawn_reason"),
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_photograph_person_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_photograph_visit_id")),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_photograph_work_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photograph")),
        sqlite_strict=True,
    )
    op.create_index("ix_photograph_draft_key", "photograph", ["draft_key"], unique=False)
    op.create_index(op.f("ix_photograph_person_id"), "photograph", ["person_id"], unique=False)
    op.create_index(op.f("ix_photograph_visit_id"), "photograph", ["visit_id"], unique=False)
    op.create_index("ix_photograph_work_id", "photograph", ["work_id"], unique=False)
    op.create_index("uq_photograph_upload_key", "photograph", ["upload_key"], unique=True)


def downgrade() -> None:
    """Take it away."""
    op.drop_index(op.f("uq_photograph_upload_key"), table_name="photograph")
    op.drop_index(op.f("ix_photograph_work_id"), table_name="photograph")
    op.drop_index(op.f("ix_photograph_visit_id"), table_name="photograph")
    op.drop_index(op.f("ix_photograph_person_id"), table_name="photograph")
    op.drop_index(op.f("ix_photograph_draft_key"), table_name="photograph")
    op.drop_table("photograph")
