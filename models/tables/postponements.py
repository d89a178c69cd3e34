"""Which dates somebody put off, or moved earlier to level the load?"""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import ColumnElement, Index, Select
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Session, col, select

from models.tables.base import (
    LONGEST_NOTE,
    Record,
    day,
    flag,
    key,
    link,
    strict,
    text,
    version,
    whole,
    word,
)
from models.tables.kept_statements import WANTED, send
from models.tables.visible import Viewer, visible_works
from models.tables.works import Work
from models.vocabulary import DueKind


class Postponement(Record, table=True):
    """The day to which one date of a work was moved, and why.

    It counts until a visit after number `after_visit_no` does what was to be done.
    """

    __tablename__ = "postponement"
    __table_args__ = strict(
        Index("ix_postponement_work_id", "work_id"),
        Index(
            "uq_postponement_work_id_kind",
            "work_id",
            "kind",
            unique=True,
            sqlite_where=sql("withdrawn_reason IS NULL"),
            postgresql_where=sql("withdrawn_reason IS NULL"),
        ),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    kind: DueKind = word("kind", DueKind)
    until_on: int | None = day("until_on")
    reason: str = text("reason", longest=LONGEST_NOTE)
    made_on: int | None = day("made_on")
    by_id: int | None = link("person.id", nullable=True)
    after_visit_no: int = whole("after_visit_no", 0, 2**31, nullable=False, default=0)
    is_levelled: bool = flag()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class PostponementRow(NamedTuple):
    """A postponement that was not withdrawn."""

    id: int
    work_id: int
    kind: DueKind
    until_on: int
    reason: str
    made_on: int
    after_visit_no: int
    is_levelled: bool
    version: int


def postponement_rows(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> list[PostponementRow]:
    """Return what was put off of these works."""
    return [PostponementRow(*row) for row in send(session, viewer, _postponed, work_ids)]


def _postponed(visible: ColumnElement[bool]) -> Select[*tuple[object, ...]]:
    found = columns(*(getattr(Postponement, name) for name in PostponementRow._fields))
    found = found.select_from(Postponement).join(Work)
    found = found.where(visible, col(Postponement.work_id).in_(WANTED))
    return found.where(col(Postponement.withdrawn_reason).is_(None)).order_by(col(Postponement.id))


def is_put_off() -> ColumnElement[bool]:
    """Return the condition on `work` that something of it was put off."""
    its = columns(col(Postponement.id)).where(
        col(Postponement.work_id) == col(Work.id), col(Postponement.withdrawn_reason).is_(None)
    )
    return its.exists()


def get_postponement(session: Session, viewer: Viewer, postponement_id: int) -> Postponement | None:
    """Return one of a work that this person may see, held to be changed; None for no such."""
    found = select(Postponement).join(Work)
    found = found.where(visible_works(viewer), Postponement.id == postponement_id)
    found = found.where(col(Postponement.withdrawn_reason).is_(None)).with_for_update()
    return session.exec(found.execution_options(populate_existing=True)).first()


def levelled_postponements(session: Session) -> list[Postponement]:
    """Return what levelling the load has moved and nobody has moved since."""
    found = select(Postponement).where(
        col(Postponement.is_levelled), col(Postponement.withdrawn_reason).is_(None)
    )
    return list(session.exec(found.order_by(col(Postponement.work_id), col(Postponement.id))))
