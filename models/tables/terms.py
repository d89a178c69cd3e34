"""The words that a keeper may add to: finding terms, mount methods, treatments."""

from typing import NamedTuple

from sqlalchemy import Index
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.tables.base import Record, flag, key, note, strict, text, whole, word
from models.vocabulary import FreedBy, Freeing, Mechanism


class FindingTerm(Record, table=True):
    """A word for a damage: what it is, what usually causes it, whether it waits."""

    __tablename__ = "finding_term"
    __table_args__ = strict(Index("uq_finding_term_term", "term", unique=True))

    id: int | None = key()
    term: str = text("term", longest=100)
    definition: str = note("definition")
    usual_cause: str = note("usual_cause")
    suggests_mechanism: Mechanism | None = word("suggests_mechanism", Mechanism, nullable=True)
    shows_through_glazing: str = text("shows_through_glazing", longest=10)
    urgency: str = text("urgency", longest=20)
    urgent_sign: str = note("urgent_sign")
    applies_to: str = text("applies_to", longest=20)
    aat_id: int | None = whole("aat_id", 300_000_000, 399_999_999)
    caution: str = note("caution")


class TermToChoose(NamedTuple):
    """A finding term in a form; `urgent_sign` is blank for one that waits."""

    term: str
    urgent_sign: str
    caution: str


class MountMethod(Record, table=True):
    """A way to hold a work in its package."""

    __tablename__ = "mount_method"
    __table_args__ = strict(Index("uq_mount_method_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name", longest=100)
    definition: str = note("definition")
    needs_adhesive: str = text("needs_adhesive", longest=20)
    default_hold_grade: str = note("default_hold_grade")
    frees_by: Freeing | None = word("frees_by", Freeing, nullable=True)
    floats: bool = flag()
    covers_all: bool = flag()
    hazard: str = note("hazard")
    caution: str = note("caution")


class TreatmentTerm(Record, table=True):
    """A word for what was done to a work; some remove what an old mount left on it."""

    __tablename__ = "treatment_term"
    __table_args__ = strict(Index("uq_treatment_term_term", "term", unique=True))

    id: int | None = key()
    term: str = text("term", longest=100)
    definition: str = note("definition")
    removes_remains: bool = flag()
    # Water, solvent or heat that comes near the work: three questions are asked before it.
    asked_before: FreedBy | None = word("asked_before", FreedBy, nullable=True)
    caution: str = note("caution")


def finding_terms(session: Session) -> list[FindingTerm]:
    """Return all finding terms, by name."""
    return list(session.exec(select(FindingTerm).order_by(col(FindingTerm.term))))


def terms_to_choose(session: Session) -> list[TermToChoose]:
    """Return of all finding terms what a form shows of them, by name."""
    found = columns(col(FindingTerm.term), col(FindingTerm.urgent_sign), col(FindingTerm.caution))
    rows = session.execute(found.order_by(col(FindingTerm.term)))
    return [TermToChoose._make(row) for row in rows]


def mount_methods(session: Session) -> list[MountMethod]:
    """Return all mount methods, by name."""
    return list(session.exec(select(MountMethod).order_by(col(MountMethod.name))))


def near_the_work(session: Session) -> dict[str, FreedBy]:
    """Return of each treatment that brings water, solvent or heat near a work which it is."""
    near = columns(col(TreatmentTerm.term), col(TreatmentTerm.asked_before))
    rows = session.execute(near.where(col(TreatmentTerm.asked_before).is_not(None)))
    return {term: way for term, way in rows if way is not None}


def treatment_terms(session: Session) -> list[TreatmentTerm]:
    """Return all treatment terms, by name."""
    return list(session.exec(select(TreatmentTerm).order_by(col(TreatmentTerm.term))))
