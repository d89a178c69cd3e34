"""Which walks has somebody begun and not finished yet?

As a draft of a visit: nobody's record, outside the change log, seen by its own person alone,
and gone when it has grown old. Of one place a person has one open walk, on however many
tablets.
"""

from datetime import datetime
from typing import NamedTuple

from sqlalchemy import Column, Index, Text, text
from sqlalchemy import select as columns
from sqlmodel import Field, Session, col, select

from models.tables import base
from models.tables.base import Derived, key, link, moment, strict, whole
from models.tables.drafts import LONGEST_KEY, MOST_SAVES
from models.tables.visible import Viewer, sees_all_works

# Of one place a person walks one walk at a time; of those put away or recorded there are more.
IS_OPEN = "walk_id IS NULL AND put_away IS NULL"


class WalkDraft(Derived, table=True):
    """A walk not finished yet; `answers` are those given so far as JSON, by work.

    `last_walk_id` is the walk recorded last when this one was begun, 0 for none: whoever was
    quicker since is told of. `walk_id` is the walk that it has become.
    """

    __tablename__ = "walk_draft"
    __table_args__ = strict(
        Index("uq_walk_draft_draft_key", "draft_key", unique=True),
        Index(
            "uq_walk_draft_open",
            "person_id",
            "place_id",
            unique=True,
            sqlite_where=text(IS_OPEN),
            postgresql_where=text(IS_OPEN),
        ),
    )

    id: int | None = key()
    draft_key: str = base.text("draft_key", longest=LONGEST_KEY)
    person_id: int = link("person.id")
    place_id: int = link("place.id")
    answers: str = Field(sa_column=Column(Text, nullable=False))
    answered: int = whole("answered", 0, MOST_SAVES, nullable=False, default=0)
    last_walk_id: int = whole("last_walk_id", 0, 2**53, nullable=False, default=0)
    version: int = whole("version", 1, MOST_SAVES, nullable=False, default=1)
    begun: datetime = moment()
    saved: datetime = moment(index=True)
    put_away: datetime | None = moment(nullable=True)
    walk_id: int | None = link("walk.id", nullable=True)


class BegunWalk(NamedTuple):
    """A walk that somebody has begun: of which place, with how many works answered for."""

    place_id: int
    answered: int
    saved: datetime


def begun_walks(session: Session, viewer: Viewer) -> list[BegunWalk]:
    """Return the open walks of this person, one for each place at most."""
    found = columns(col(WalkDraft.place_id), col(WalkDraft.answered), col(WalkDraft.saved))
    found = found.where(col(WalkDraft.person_id) == viewer.person_id, text(IS_OPEN))
    return [BegunWalk._make(row) for row in session.execute(found)]


def find_open_walk(
    session: Session, viewer: Viewer, place_id: int, *, to_change: bool = False
) -> WalkDraft | None:
    """Return this person's open walk of a place, held if it is to be changed."""
    found = select(WalkDraft).where(WalkDraft.person_id == viewer.person_id, text(IS_OPEN))
    found = found.where(WalkDraft.place_id == place_id)
    found = found.with_for_update() if to_change else found
    return session.exec(found.execution_options(populate_existing=True)).first()


def find_walk_draft(
    session: Session, viewer: Viewer, draft_key: str, *, to_change: bool = False
) -> WalkDraft | None:
    """Return this person's walk of this key, open or not, held if it is to be changed."""
    if not sees_all_works(viewer):
        return None
    found = select(WalkDraft).where(WalkDraft.draft_key == draft_key)
    found = found.where(WalkDraft.person_id == viewer.person_id)
    found = found.with_for_update() if to_change else found
    return session.exec(found.execution_options(populate_existing=True)).first()
