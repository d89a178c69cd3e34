"""Which unknown boards did somebody take as a grade by bench tests, and what was said before?

A decision that was taken back stays on record.
"""

from sqlalchemy import Index
from sqlalchemy import text as sql
from sqlmodel import Session, col, select

from models.tables.base import Record, day, key, link, note, number, strict, text, version, word
from models.vocabulary import KnownBy


class GradeDecision(Record, table=True):
    """Who took a layer as which grade, when, by which tests; and what the layer said before.

    `likely` is a share of 1. At most one decision of a layer stands.
    """

    __tablename__ = "grade_decision"
    __table_args__ = strict(
        Index(
            "uq_grade_decision_standing_layer_id",
            "layer_id",
            unique=True,
            sqlite_where=sql("taken_back_on IS NULL"),
            postgresql_where=sql("taken_back_on IS NULL"),
        ),
    )

    id: int | None = key()
    layer_id: int = link("layer.id")
    grade: str = text("grade", longest=100)
    likely: float = number("likely", 0, 1, nullable=False)
    tests: str = note("tests")
    grade_before: str | None = text("grade_before", longest=100, nullable=True)
    known_by_before: KnownBy | None = word("known_by_before", KnownBy, nullable=True)
    decided_on: int | None = day("decided_on")
    decided_by_id: int | None = link("person.id", nullable=True)
    taken_back_on: int | None = day("taken_back_on")
    taken_back_by_id: int | None = link("person.id", nullable=True)
    version: int = version()


def standing_decision(session: Session, layer_id: int) -> GradeDecision | None:
    """Return the decision of a layer that stands, None where there is none."""
    of_layer = select(GradeDecision).where(GradeDecision.layer_id == layer_id)
    return session.exec(of_layer.where(col(GradeDecision.taken_back_on).is_(None))).first()
