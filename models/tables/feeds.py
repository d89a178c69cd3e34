"""Which keys open the calendar of what is due, and for whom?"""

from collections.abc import Sequence

from sqlalchemy import Column, ForeignKey, Select, bindparam
from sqlalchemy import select as columns
from sqlmodel import Field, Session, col, select

from models.tables.base import (
    LONG_INTEGER,
    Derived,
    Record,
    day,
    flag,
    key,
    link,
    secret,
    text,
    whole,
)
from models.tables.kept_statements import WANTED
from models.tables.people import Person
from models.vocabulary import Role


class FeedKey(Record, table=True):
    """A key to one person's calendar feed and to nothing else; kept as a digest, shown once."""

    __tablename__ = "feed_key"

    id: int | None = key()
    person_id: int = link("person.id")
    name: str = text("name", longest=200)
    key_sha256: str = secret(unique=True)
    made_on: int | None = day("made_on")
    ended: bool = flag()


class MovedDate(Derived, table=True):
    """How often a date of a work has moved; the database itself counts."""

    __tablename__ = "moved_date"

    work_id: int = Field(
        sa_column=Column(LONG_INTEGER, ForeignKey("work.id"), primary_key=True, autoincrement=False)
    )
    moves: int = whole("moves", 1, 2**31, nullable=False, default=1)


def feed_keys_of(session: Session, person_id: int) -> Sequence[FeedKey]:
    """Return the keys of a person that still open something, the oldest first."""
    found = select(FeedKey).where(FeedKey.person_id == person_id, ~col(FeedKey.ended))
    return session.exec(found.order_by(col(FeedKey.id))).all()


def holder_of(session: Session, key_sha256: str) -> tuple[int, Role, int | None] | None:
    """Return person, role and owner for whom this key opens the feed; None for no key in force."""
    row = session.execute(_HOLDER, {"digest": key_sha256}).first()
    if row is None or row[0] is None or row[1] is None:
        return None
    return row[0], row[1], row[2]


def _holder() -> Select[int | None, Role | None, int | None]:
    found = columns(col(Person.id), col(Person.role), col(Person.owner_id)).join_from(
        FeedKey, Person, col(Person.id) == col(FeedKey.person_id)
    )
    found = found.where(col(FeedKey.key_sha256) == bindparam("digest"), ~col(FeedKey.ended))
    return found.where(col(Person.may_sign_in), col(Person.role).is_not(None))


_HOLDER = _holder()


def moves_of(session: Session, work_ids: Sequence[int]) -> dict[int, int]:
    """Return how often a date of each of these works has moved; a work that is missing: never."""
    found = columns(col(MovedDate.work_id), col(MovedDate.moves))
    rows = session.connection().execute(
        found.where(col(MovedDate.work_id).in_(WANTED)), {"wanted": list(work_ids)}
    )
    return {work_id: moves for work_id, moves in rows}
