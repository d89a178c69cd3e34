"""Where reminders go, and which have not arrived."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_reminders"
down_revision = "2026_11_25_stored_rows"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make the tables of reminders."""
    op.create_table(
        "reminder_target",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("signing_secret", sa.Text(), nullable=True),
        sa.Column("every_days", WHOLE, nullable=False),
        sa.Column("person_id", WHOLE, nullable=False),
        sa.Column("ended", FLAG, nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "every_days BETWEEN 1 AND 31", name=op.f("ck_reminder_target_every_days")
        ),
        sa.CheckConstraint("way IN ('webhook', 'e-mail')", name=op.f("ck_reminder_target_way")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_reminder_target_person_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminder_target")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_reminder_target_person_id"), "reminder_target", ["person_id"], unique=False
    )
    op.create_table(
        "reminder_sent",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("target_id", WHOLE, nullable=False),
        sa.Column("for_day", WHOLE, nullable=True),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("tries", WHOLE, nullable=False),
        sa.Column("next_at", sa.Text(), nullable=True),
        sa.Column("arrived", FLAG, nullable=False),
        sa.Column("fault", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "for_day BETWEEN -719162 AND 2932896", name=op.f("ck_reminder_sent_for_day")
        ),
        sa.CheckConstraint("length(fault) <= 20000", name=op.f("ck_reminder_sent_fault")),
        sa.CheckConstraint("length(subject) <= 20000", name=op.f("ck_reminder_sent_subject")),
        sa.CheckConstraint("length(text) <= 20000", name=op.f("ck_reminder_sent_text")),
        sa.CheckConstraint("tries BETWEEN 0 AND 100", name=op.f("ck_reminder_sent_tries")),
        sa.ForeignKeyConstraint(
            ["target_id"], ["reminder_target.id"], name=op.f("fk_reminder_sent_target_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reminder_sent")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_reminder_sent_next_at"), "reminder_sent", ["next_at"], unique=False)
    op.create_index(
        "uq_reminder_sent_target_id_for_day",
        "reminder_sent",
        ["target_id", "for_day"],
        unique=True,
    )


def downgrade() -> None:
    """Take them away."""
    op.drop_index("uq_reminder_sent_target_id_for_day", table_name="reminder_sent")
    op.drop_index(op.f("ix_reminder_sent_next_at"), table_name="reminder_sent")
    op.drop_table("reminder_sent")
    op.drop_index(op.f("ix_reminder_target_person_id"), table_name="reminder_target")
    op.drop_table("reminder_target")
