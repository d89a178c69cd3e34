"""What a keeper sets, what is in force by which token, and which forecasts are to be renewed."""

import secrets

import sqlalchemy as sa
from alembic import op

from migrations.triggers import remove_token_triggers

revision = "2026_11_25_policy"
down_revision = "2026_11_25"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
TOKENS = ("places", "policy", "figures", "experience", "climates")


def upgrade() -> None:
    """Make its tables, and draw the first tokens."""
    op.create_table(
        "figure_setting",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("mechanism", sa.Text(), nullable=False),
        sa.Column("grade", sa.Text(), nullable=False),
        sa.Column("median", NUMBER, nullable=True),
        sa.Column("shape", NUMBER, nullable=True),
        sa.Column("severity", NUMBER, nullable=True),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "length(basis) <= 20000",
            name=op.f("ck_figure_setting_basis"),
        ),
        sa.CheckConstraint(
            "length(grade) BETWEEN 1 AND 200",
            name=op.f("ck_figure_setting_grade"),
        ),
        sa.CheckConstraint(
            "mechanism IN ('acid migration', 'adhesive ageing', 'hold failure', 'photo-activity', 'alkali contact', 'sticking to the glazing', 'restraint', 'fogging of the glazing', 'mould', 'accident', 'foxing', 'insects and dust', 'the paper''s own ageing', 'tarnish or ozone', 'face mount')",
            name=op.f("ck_figure_setting_mechanism"),
        ),
        sa.CheckConstraint(
            "median BETWEEN 0 AND 1000000000",
            name=op.f("ck_figure_setting_median"),
        ),
        sa.CheckConstraint(
            "length(reason) BETWEEN 1 AND 500",
            name=op.f("ck_figure_setting_reason"),
        ),
        sa.CheckConstraint(
            "severity BETWEEN 0 AND 1",
            name=op.f("ck_figure_setting_severity"),
        ),
        sa.CheckConstraint(
            "shape BETWEEN 0 AND 100",
            name=op.f("ck_figure_setting_shape"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_figure_setting_by_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_figure_setting")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_figure_setting_by_id"), "figure_setting", ["by_id"], unique=False)
    op.create_index(
        "uq_figure_setting_mechanism_grade", "figure_setting", ["mechanism", "grade"], unique=True
    )
    op.create_table(
        "house_state",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("places", sa.Text(), nullable=False),
        sa.Column("policy", sa.Text(), nullable=False),
        sa.Column("figures", sa.Text(), nullable=False),
        sa.Column("experience", sa.Text(), nullable=False),
        sa.Column("climates", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(climates) BETWEEN 1 AND 64",
            name=op.f("ck_house_state_climates"),
        ),
        sa.CheckConstraint(
            "length(experience) BETWEEN 1 AND 64",
            name=op.f("ck_house_state_experience"),
        ),
        sa.CheckConstraint(
            "length(figures) BETWEEN 1 AND 64",
            name=op.f("ck_house_state_figures"),
        ),
        sa.CheckConstraint(
            "id = 1",
            name=op.f("ck_house_state_one_row"),
        ),
        sa.CheckConstraint(
            "length(places) BETWEEN 1 AND 64",
            name=op.f("ck_house_state_places"),
        ),
        sa.CheckConstraint(
            "length(policy) BETWEEN 1 AND 64",
            name=op.f("ck_house_state_policy"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_house_state")),
        sqlite_strict=True,
    )
    op.create_table(
        "lease",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("holder", sa.Text(), nullable=False),
        sa.Column("until", sa.Text(), nullable=False),
        sa.Column("done_day", WHOLE, nullable=True),
        sa.CheckConstraint(
            "done_day BETWEEN -719162 AND 2932896",
            name=op.f("ck_lease_done_day"),
        ),
        sa.CheckConstraint(
            "length(holder) <= 20000",
            name=op.f("ck_lease_holder"),
        ),
        sa.CheckConstraint(
            "length(name) BETWEEN 1 AND 100",
            name=op.f("ck_lease_name"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lease")),
        sqlite_strict=True,
    )
    op.create_index("uq_lease_name", "lease", ["name"], unique=True)
    op.create_table(
        "policy_setting",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", NUMBER, nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by_id", WHOLE, nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "length(name) BETWEEN 1 AND 100",
            name=op.f("ck_policy_setting_name"),
        ),
        sa.CheckConstraint(
            "length(reason) BETWEEN 1 AND 500",
            name=op.f("ck_policy_setting_reason"),
        ),
        sa.CheckConstraint(
            "value BETWEEN 0 AND 1000000000",
            name=op.f("ck_policy_setting_value"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_policy_setting_by_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_policy_setting")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_policy_setting_by_id"), "policy_setting", ["by_id"], unique=False)
    op.create_index("uq_policy_setting_name", "policy_setting", ["name"], unique=True)
    op.create_table(
        "stale_work",
        sa.Column("work_id", WHOLE, autoincrement=False, nullable=False),
        sa.Column("marks", WHOLE, nullable=False),
        sa.CheckConstraint(
            "marks BETWEEN 1 AND 9007199254740992",
            name=op.f("ck_stale_work_marks"),
        ),
        sa.ForeignKeyConstraint(["work_id"], ["work.id"], name=op.f("fk_stale_work_work_id")),
        sa.PrimaryKeyConstraint("work_id", name=op.f("pk_stale_work")),
        sqlite_strict=True,
    )
    state = sa.table("house_state", sa.column("id"), *(sa.column(name) for name in TOKENS))
    drawn = {name: secrets.token_hex(16) for name in TOKENS}
    op.execute(sa.insert(state).values(id=1, **drawn))


def downgrade() -> None:
    """Take them away, and what draws tokens before all."""
    remove_token_triggers(op.get_bind())
    op.drop_table("stale_work")
    op.drop_index(op.f("uq_policy_setting_name"), table_name="policy_setting")
    op.drop_index(op.f("ix_policy_setting_by_id"), table_name="policy_setting")
    op.drop_table("policy_setting")
    op.drop_index(op.f("uq_lease_name"), table_name="lease")
    op.drop_table("lease")
    op.drop_table("house_state")
    op.drop_index(op.f("uq_figure_setting_mechanism_grade"), table_name="figure_setting")
    op.drop_index(op.f("ix_figure_setting_by_id"), table_name="figure_setting")
    op.drop_table("figure_setting")
