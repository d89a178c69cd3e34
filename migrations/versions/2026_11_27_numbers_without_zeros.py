"""A work is found by its number without the zeros before its figures: "H 014" by "h14"."""

import re

import sqlalchemy as sa
from alembic import op

revision = "2026_11_27_numbers_without_zeros"
down_revision = "2026_11_27_missing_works"
branch_labels = None
depends_on = None

ZEROS_BEFORE = re.compile(r"(?<![\d.])0+(?=\d)")
WORDS = sa.table("work_word", sa.column("work_id", sa.BigInteger), sa.column("word", sa.Text))
WITH_ZEROS = sa.text(
    "SELECT w.work_id, w.word, work.number FROM work_word w JOIN work ON work.id = w.work_id"
    " WHERE w.word LIKE '%0%'"
)


def upgrade() -> None:
    """Add the words of the works that are on record."""
    connection = op.get_bind()
    rows = {
        (work_id, ZEROS_BEFORE.sub("", word))
        for work_id, word, number in connection.execute(WITH_ZEROS)
        if ZEROS_BEFORE.search(word) and word in re.sub(r"\s", "", number).casefold()
    }
    known = sa.select(WORDS.c.work_id, WORDS.c.word)
    rows -= {(work_id, word) for work_id, word in connection.execute(known)}
    if rows:
        added = [{"work_id": work_id, "word": word} for work_id, word in sorted(rows)]
        connection.execute(sa.insert(WORDS), added)


def downgrade() -> None:
    """Leave the words: they are made anew with each change of a work."""
