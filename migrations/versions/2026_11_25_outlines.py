"""Where on a photograph and on the sheet a finding lies."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_25_outlines"
down_revision = "2026_11_25_drafts"
branch_labels = None
depends_on = None

# What each kind of column is on PostgreSQL and on a STRICT table of SQLite.
WHOLE = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
NUMBER: sa.types.TypeEngine[float] = sa.Double().with_variant(sa.REAL(), "sqlite")
FLAG = sa.Boolean().with_variant(sa.Integer(), "sqlite")

CORNERS = ("upper_left", "upper_right", "lower_right", "lower_left")


def upgrade() -> None:
    """Make the tables of corners, outlines and contrasts."""
    corners = [f"{corner}_{axis}_ppm" for corner in CORNERS for axis in "xy"]
    op.create_table(
        "photograph_corners",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("photograph_id", WHOLE, nullable=False),
        *(sa.Column(name, WHOLE, nullable=False) for name in corners),
        sa.Column("version", WHOLE, nullable=False),
        *(_ppm("photograph_corners", name) for name in corners),
        _link("photograph_corners", "photograph"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photograph_corners")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_photograph_corners_photograph_id",
        "photograph_corners",
        ["photograph_id"],
        unique=True,
    )
    op.create_table(
        "finding_outline",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("sighting_id", WHOLE, nullable=False),
        sa.Column("photograph_id", WHOLE, nullable=True),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("on_sheet", FLAG, nullable=False),
        sa.Column("points", sa.Text(), nullable=False),
        sa.Column("from_um", WHOLE, nullable=True),
        sa.Column("to_um", WHOLE, nullable=True),
        sa.Column("version", WHOLE, nullable=False),
        sa.CheckConstraint(
            "shape IN ('point', 'outline', 'band')", name=op.f("ck_finding_outline_shape")
        ),
        sa.CheckConstraint(
            "length(points) BETWEEN 1 AND 12000", name=op.f("ck_finding_outline_points")
        ),
        sa.CheckConstraint(
            "from_um BETWEEN 0 AND 20000000", name=op.f("ck_finding_outline_from_um")
        ),
        sa.CheckConstraint("to_um BETWEEN 0 AND 20000000", name=op.f("ck_finding_outline_to_um")),
        sa.CheckConstraint(
            "(from_um IS NULL) = (to_um IS NULL)", name=op.f("ck_finding_outline_part_whole")
        ),
        _link("finding_outline", "photograph"),
        _link("finding_outline", "sighting"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding_outline")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_finding_outline_photograph_id"),
        "finding_outline",
        ["photograph_id"],
        unique=False,
    )
    op.create_index(
        "uq_finding_outline_sighting_id", "finding_outline", ["sighting_id"], unique=True
    )
    places = [f"{spot}_{axis}_ppm" for spot in ("stain", "clean") for axis in "xy"]
    lab = [f"{spot}_{axis}" for spot in ("stain", "clean") for axis in "lab"]
    op.create_table(
        "photograph_contrast",
        sa.Column("id", WHOLE, nullable=False),
        sa.Column("sighting_id", WHOLE, nullable=False),
        sa.Column("photograph_id", WHOLE, nullable=False),
        *(sa.Column(name, WHOLE, nullable=False) for name in places),
        *(sa.Column(name, NUMBER, nullable=False) for name in lab),
        sa.Column("version", WHOLE, nullable=False),
        *(_ppm("photograph_contrast", name) for name in places),
        *(_axis(name) for name in lab),
        _link("photograph_contrast", "photograph"),
        _link("photograph_contrast", "sighting"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photograph_contrast")),
        sqlite_strict=True,
    )
    op.create_index(
        op.f("ix_photograph_contrast_photograph_id"),
        "photograph_contrast",
        ["photograph_id"],
        unique=False,
    )
    op.create_index(
        "uq_photograph_contrast_sighting_id", "photograph_contrast", ["sighting_id"], unique=True
    )


def _ppm(table: str, name: str) -> sa.CheckConstraint:
    """As far as a picture's own size beyond its edges."""
    return sa.CheckConstraint(
        f"{name} BETWEEN -1000000 AND 2000000", name=op.f(f"ck_{table}_{name}")
    )


def _axis(name: str) -> sa.CheckConstraint:
    lowest, highest = (0, 100) if name.endswith("_l") else (-200, 200)
    return sa.CheckConstraint(
        f"{name} BETWEEN {lowest} AND {highest}", name=op.f(f"ck_photograph_contrast_{name}")
    )


def _link(table: str, to: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([f"{to}_id"], [f"{to}.id"], name=op.f(f"fk_{table}_{to}_id"))


def downgrade() -> None:
    """Take them away."""
    op.drop_index("uq_photograph_contrast_sighting_id", table_name="photograph_contrast")
    op.drop_index(op.f("ix_photograph_contrast_photograph_id"), table_name="photograph_contrast")
    op.drop_table("photograph_contrast")
    op.drop_index("uq_finding_outline_sighting_id", table_name="finding_outline")
    op.drop_index(op.f("ix_finding_outline_photograph_id"), table_name="finding_outline")
    op.drop_table("finding_outline")
    op.drop_index("uq_photograph_corners_photograph_id", table_name="photograph_corners")
    op.drop_table("photograph_corners")
