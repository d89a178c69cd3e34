"""At which visit a hold came off, or was tried and left."""

import sqlalchemy as sa
from alembic import op

revision = "2026_11_26_hold_outcome_visit"
down_revision = "2026_11_26_works_of_owner"
branch_labels = None
depends_on = None

INDEX = "ix_hold_outcome_visit_id"


def upgrade() -> None:
    """Add the visit; what came off with its mount came off when the mount was undone."""
    whole = "INTEGER" if op.get_bind().dialect.name == "sqlite" else "BIGINT"
    op.execute(
        f"ALTER TABLE hold ADD COLUMN outcome_visit_id {whole}"
        " CONSTRAINT fk_hold_outcome_visit_id REFERENCES visit (id)"
    )
    op.create_index(INDEX, "hold", ["outcome_visit_id"], unique=False)
    hold = sa.table(
        "hold", sa.column("mount_id"), sa.column("outcome"), sa.column("outcome_visit_id")
    )
    mount = sa.table("mount", sa.column("id"), sa.column("dismounted_visit_id"))
    undone_at = sa.select(mount.c.dismounted_visit_id).where(mount.c.id == hold.c.mount_id)
    op.execute(
        hold.update()
        .where(hold.c.outcome.is_not(None))
        .values(outcome_visit_id=undone_at.scalar_subquery())
    )


def downgrade() -> None:
    """Take it away."""
    op.drop_index(INDEX, table_name="hold")
    if op.get_bind().dialect.name == "sqlite":
        # SQLite drops no column that refers to another table, but for one made anew.
        with op.batch_alter_table("hold") as hold:
            hold.drop_column("outcome_visit_id")
    else:
        op.drop_column("hold", "outcome_visit_id")
