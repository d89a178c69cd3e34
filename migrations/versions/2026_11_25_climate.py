"""Climate and light records of places."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_climate"
down_revision = "2026_11_25_policy"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")


def upgrade() -> None:
    """Make its tables."""
    op.create_table(
        "climate_days",
        sa.Column("place_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("first_day", WHOLE, nullable=False),
        sa.Column("last_day", WHOLE, nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=False),
        sa.CheckConstraint(
            "first_day BETWEEN -719162 AND 2932896", name=op.f("ck_climate_days_first_day")
        ),
        sa.CheckConstraint(
            "last_day BETWEEN -719162 AND 2932896", name=op.f("ck_climate_days_last_day")
        ),
        sa.CheckConstraint("first_day <= last_day", name=op.f("ck_climate_days_span")),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_climate_days_place_id")),
        sa.PrimaryKeyConstraint("place_id", name=op.f("pk_climate_days")),
        sqlite_strict=True,
    )
    op.create_table(
        "reading_import",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("file_digest", sa.Text(), nullable=False),
        sa.Column("file_name", sa.Text(), nullable=False),
        sa.Column("file_bytes", WHOLE, nullable=False),
        sa.Column("read_as", sa.Text(), nullable=False),
        sa.Column("time_zone", sa.Text(), nullable=False),
        sa.Column("logger_clock", sa.Text(), nullable=False),
        sa.Column("date_order", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=False),
        sa.Column("decimal_sign", sa.Text(), nullable=False),
        sa.Column("rows", WHOLE, nullable=False),
        sa.Column("new_rows", WHOLE, nullable=False),
        sa.Column("same_rows", WHOLE, nullable=False),
        sa.Column("differing_rows", WHOLE, nullable=False),
        sa.Column("refused_rows", WHOLE, nullable=False),
        sa.Column("refused_why", sa.Text(), nullable=False),
        sa.Column("first_second", WHOLE, nullable=False),
        sa.Column("last_second", WHOLE, nullable=False),
        sa.Column("rows_digest", sa.Text(), nullable=False),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("withdrawn_reason", sa.Text(), nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "length(date_order) BETWEEN 1 AND 50", name=op.f("ck_reading_import_date_order")
        ),
        sa.CheckConstraint(
            "length(decimal_sign) BETWEEN 1 AND 10", name=op.f("ck_reading_import_decimal_sign")
        ),
        sa.CheckConstraint(
            "differing_rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_import_differing_rows")
        ),
        sa.CheckConstraint(
            "file_bytes BETWEEN 0 AND 1099511627776", name=op.f("ck_reading_import_file_bytes")
        ),
        sa.CheckConstraint(
            "length(file_name) BETWEEN 1 AND 300", name=op.f("ck_reading_import_file_name")
        ),
        sa.CheckConstraint(
            "length(file_digest) BETWEEN 1 AND 64", name=op.f("ck_reading_import_file_digest")
        ),
        sa.CheckConstraint(
            "first_second BETWEEN 315532800 AND 253402300799",
            name=op.f("ck_reading_import_first_second"),
        ),
        sa.CheckConstraint(
            "last_second BETWEEN 315532800 AND 253402300799",
            name=op.f("ck_reading_import_last_second"),
        ),
        sa.CheckConstraint(
            "length(logger_clock) BETWEEN 1 AND 50", name=op.f("ck_reading_import_logger_clock")
        ),
        sa.CheckConstraint(
            "new_rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_import_new_rows")
        ),
        sa.CheckConstraint(
            "length(read_as) BETWEEN 1 AND 300", name=op.f("ck_reading_import_read_as")
        ),
        sa.CheckConstraint(
            "refused_rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_import_refused_rows")
        ),
        sa.CheckConstraint(
            "length(refused_why) <= 20000", name=op.f("ck_reading_import_refused_why")
        ),
        sa.CheckConstraint("rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_import_rows")),
        sa.CheckConstraint(
            "length(rows_digest) BETWEEN 1 AND 64", name=op.f("ck_reading_import_rows_digest")
        ),
        sa.CheckConstraint(
            "same_rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_import_same_rows")
        ),
        sa.CheckConstraint("first_second <= last_second", name=op.f("ck_reading_import_span")),
        sa.CheckConstraint(
            "length(time_zone) BETWEEN 1 AND 100", name=op.f("ck_reading_import_time_zone")
        ),
        sa.CheckConstraint("length(unit) BETWEEN 1 AND 10", name=op.f("ck_reading_import_unit")),
        sa.CheckConstraint(
            "length(withdrawn_reason) BETWEEN 0 AND 500",
            name=op.f("ck_reading_import_withdrawn_reason"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_reading_import_by_id")),
        sa.ForeignKeyConstraint(
            ["place_id"], ["place.id"], name=op.f("fk_reading_import_place_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_import")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reading_import_by_id"), "reading_import", ["by_id"], unique=False)
    op.create_index(
        "uq_reading_import_place_id_file_digest",
        "reading_import",
        ["place_id", "file_digest"],
        unique=True,
        sqlite_where=sa.text("withdrawn_reason IS NULL"),
        postgresql_where=sa.text("withdrawn_reason IS NULL"),
    )
    op.create_table(
        "climate_reading",
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("second", WHOLE, nullable=False),
        sa.Column("import_id", WHOLE, nullable=False),
        sa.Column("temperature_c", NUMBER, nullable=True),
        sa.Column("rh_percent", NUMBER, nullable=True),
        sa.CheckConstraint(
            "rh_percent BETWEEN 0 AND 100", name=op.f("ck_climate_reading_rh_percent")
        ),
        sa.CheckConstraint(
            "second BETWEEN 315532800 AND 253402300799", name=op.f("ck_climate_reading_second")
        ),
        sa.CheckConstraint(
            "temperature_c BETWEEN -30 AND 60", name=op.f("ck_climate_reading_temperature_c")
        ),
        sa.ForeignKeyConstraint(
            ["import_id"], ["reading_import.id"], name=op.f("fk_climate_reading_import_id")
        ),
        sa.ForeignKeyConstraint(
            ["place_id"], ["place.id"], name=op.f("fk_climate_reading_place_id")
        ),
        sa.PrimaryKeyConstraint("place_id", "second", name=op.f("pk_climate_reading")),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.create_table(
        "light_reading",
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("second", WHOLE, nullable=False),
        sa.Column("import_id", WHOLE, nullable=False),
        sa.Column("lux", NUMBER, nullable=True),
        sa.Column("uv_uw_per_lm", NUMBER, nullable=True),
        sa.CheckConstraint("lux BETWEEN 0 AND 120000", name=op.f("ck_light_reading_lux")),
        sa.CheckConstraint(
            "second BETWEEN 315532800 AND 253402300799", name=op.f("ck_light_reading_second")
        ),
        sa.CheckConstraint(
            "uv_uw_per_lm BETWEEN 0 AND 2000", name=op.f("ck_light_reading_uv_uw_per_lm")
        ),
        sa.ForeignKeyConstraint(
            ["import_id"], ["reading_import.id"], name=op.f("fk_light_reading_import_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_light_reading_place_id")),
        sa.PrimaryKeyConstraint("place_id", "second", name=op.f("pk_light_reading")),
        sqlite_strict=True,
        sqlite_with_rowid=False,
    )
    op.create_table(
        "reading_job",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("place_id", WHOLE, nullable=False),
        sa.Column("file_digest", sa.Text(), nullable=False),
        sa.Column("file_name", sa.Text(), nullable=False),
        sa.Column("choices", sa.Text(), nullable=False),
        sa.Column("by_id", WHOLE, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("rows", WHOLE, nullable=True),
        sa.Column("message", sa.Text(), nullable=False),
        sa.Column("import_id", WHOLE, nullable=True),
        sa.Column("begun_at", sa.Text(), nullable=False),
        sa.Column("seen_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(choices) BETWEEN 1 AND 2000", name=op.f("ck_reading_job_choices")
        ),
        sa.CheckConstraint(
            "length(file_name) BETWEEN 1 AND 300", name=op.f("ck_reading_job_file_name")
        ),
        sa.CheckConstraint(
            "length(file_digest) BETWEEN 1 AND 64", name=op.f("ck_reading_job_file_digest")
        ),
        sa.CheckConstraint("length(message) <= 20000", name=op.f("ck_reading_job_message")),
        sa.CheckConstraint("rows BETWEEN 0 AND 1000000000", name=op.f("ck_reading_job_rows")),
        sa.CheckConstraint("length(state) BETWEEN 1 AND 30", name=op.f("ck_reading_job_state")),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_reading_job_by_id")),
        sa.ForeignKeyConstraint(
            ["import_id"], ["reading_import.id"], name=op.f("fk_reading_job_import_id")
        ),
        sa.ForeignKeyConstraint(["place_id"], ["place.id"], name=op.f("fk_reading_job_place_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading_job")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reading_job_by_id"), "reading_job", ["by_id"], unique=False)
    op.create_index(op.f("ix_reading_job_import_id"), "reading_job", ["import_id"], unique=False)
    op.create_index(op.f("ix_reading_job_place_id"), "reading_job", ["place_id"], unique=False)


def downgrade() -> None:
    """Take them away."""
    op.drop_index(op.f("ix_reading_job_place_id"), table_name="reading_job")
    op.drop_index(op.f("ix_reading_job_import_id"), table_name="reading_job")
    op.drop_index(op.f("ix_reading_job_by_id"), table_name="reading_job")
    op.drop_table("reading_job")
    op.drop_table("light_reading")
    op.drop_table("climate_reading")
    op.drop_index(
        "uq_reading_import_place_id_file_digest",
        table_name="reading_import",
        sqlite_where=sa.text("withdrawn_reason IS NULL"),
        postgresql_where=sa.text("withdrawn_reason IS NULL"),
    )
    op.drop_index(op.f("ix_reading_import_by_id"), table_name="reading_import")
    op.drop_table("reading_import")
    op.drop_table("climate_days")
