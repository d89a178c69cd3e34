"""Before which treatments three questions are asked: water, solvent or heat comes near the work."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_asked_before"
down_revision = "2026_11_26_remat_before"
branch_labels = None
depends_on = None

WAYS = "'lifted', 'already loose', 'water', 'solvent', 'heat', 'scalpel or spatula', 'cut'"
# The words as they shipped until now; a word of the house is asked about when the house says so.
SHIPPED = {
    "water": (
        "bleaching",
        "deacidification",
        "hinge removal, with water",
        "humidification",
        "lining",
        "unblocking from the glazing",
        "washing",
    ),
    "solvent": (
        "consolidation",
        "residue reduction, with solvent",
        "residue removed",
        "tape removal, with solvent",
    ),
    "heat": ("taken off a dry mount", "tape removal, with heat"),
}


def upgrade() -> None:
    """Add the column, and say it of the words that shipped."""
    op.execute(
        "ALTER TABLE treatment_term ADD COLUMN asked_before TEXT"
        f" CONSTRAINT ck_treatment_term_asked_before CHECK (asked_before IN ({WAYS}))"
    )
    term = sa.table("treatment_term", sa.column("term"), sa.column("asked_before"))
    for way, terms in SHIPPED.items():
        op.execute(term.update().where(term.c.term.in_(terms)).values(asked_before=way))


def downgrade() -> None:
    """Take it away."""
    op.drop_column("treatment_term", "asked_before")
