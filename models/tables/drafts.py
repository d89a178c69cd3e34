"""Which visits lie on the bench, not finished yet?

A draft is what somebody has typed of a visit so far. It is nobody's record: it stays
outside the change log, is seen by its own person alone, and goes when it has grown old.
"""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Column, Index, Text
from sqlalchemy import select as columns
from sqlmodel import Field, Session, col, select

from models.tables.base import Derived, key, link, moment, strict, text, whole, word
from models.tables.visible import Viewer, visible_works
from models.tables.works import Work
from models.vocabulary import VisitKind

LONGEST_KEY = 100
MOST_SAVES = 2**31 - 1


class VisitDraft(Derived, table=True):
    """A visit not finished yet; `typed` are the fields of its form as JSON.

    `hand` is the opened page that saved last: the same page may save again although its
    answer was lost on the way. `visit_id` is the visit that it has become.
    """

    __tablename__ = "visit_draft"
    __table_args__ = strict(Index("uq_visit_draft_draft_key", "draft_key", unique=True))

    id: int | None = key()
    draft_key: str = text("draft_key", longest=LONGEST_KEY)
    person_id: int = link("person.id")
    work_id: int = link("work.id")
    kind: VisitKind = word("kind", VisitKind)
    typed: str = Field(sa_column=Column(Text, nullable=False))
    hand: str | None = text("hand", longest=LONGEST_KEY, nullable=True)
    version: int = whole("version", 1, MOST_SAVES, nullable=False, default=1)
    begun: datetime = moment()
    saved: datetime = moment(index=True)
    put_away: datetime | None = moment(nullable=True)
    visit_id: int | None = link("visit.id", nullable=True)


class OnBench(NamedTuple):
    """A visit that lies open, and the work that it is of."""

    key: str
    work_id: int
    number: str
    title: str
    kind: VisitKind
    begun: datetime
    saved: datetime


def open_drafts(session: Session, viewer: Viewer, *, work_id: int | None = None) -> list[OnBench]:
    """Return the visits that this person has on the bench, the last saved first."""
    found = columns(
        col(VisitDraft.draft_key),
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(VisitDraft.kind),
        col(VisitDraft.begun),
        col(VisitDraft.saved),
    )
    found = found.join_from(VisitDraft, Work, col(Work.id) == col(VisitDraft.work_id))
    found = found.where(visible_works(viewer), col(VisitDraft.person_id) == viewer.person_id)
    found = found.where(col(VisitDraft.put_away).is_(None), col(VisitDraft.visit_id).is_(None))
    if work_id is not None:
        found = found.where(col(VisitDraft.work_id) == work_id)
    found = found.order_by(col(VisitDraft.saved).desc(), col(VisitDraft.id))
    return [OnBench(*row) for row in session.execute(found)]


def find_draft(
    session: Session, viewer: Viewer, draft_key: str, *, to_change: bool = False
) -> VisitDraft | None:
    """Return this person's draft of a work they see, held if it is to be changed."""
    found = select(VisitDraft).join(Work, col(Work.id) == col(VisitDraft.work_id))
    found = found.where(visible_works(viewer), VisitDraft.draft_key == draft_key)
    found = found.where(VisitDraft.person_id == viewer.person_id)
    if to_change:
        found = found.with_for_update(of=VisitDraft)
    return session.exec(found.execution_options(populate_existing=True)).first()
