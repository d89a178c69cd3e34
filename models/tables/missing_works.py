"""Which works did a walk not find where the record has them, and are they still away?

A work is found again by a visit of that day or later, or by being moved on record: then it
no longer stays where it was missed. Only for who may see every work, as all that walks tell.
"""

from collections.abc import Collection, Sequence
from typing import Any, NamedTuple

from sqlalchemy import Select, and_
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.tables.base import Record, key, link
from models.tables.kept_statements import WANTED, ask
from models.tables.places import Walk
from models.tables.works import Stay, Work


class MissingWork(Record, table=True):
    """A work that a walk did not find in the place of this stay, and the visit that found it."""

    __tablename__ = "missing_work"

    id: int | None = key()
    walk_id: int = link("walk.id")
    work_id: int = link("work.id")
    stay_id: int = link("stay.id")
    found_visit_id: int | None = link("visit.id", nullable=True)


# To be joined to the work: what nobody has found, and the stay that is still the last on record.
IS_STILL_AWAY = and_(
    col(MissingWork.work_id) == col(Work.id), col(MissingWork.found_visit_id).is_(None)
)
IS_WHERE_IT_WAS_MISSED = and_(
    col(Stay.id) == col(MissingWork.stay_id),
    ~col(Stay.ended),
    col(Stay.withdrawn_reason).is_(None),
)


def current_stays(session: Session, work_ids: Sequence[int]) -> dict[int, int]:
    """Return the key of the stay in which each of these works is now, by work."""
    return {work_id: stay_id for work_id, stay_id in ask(session, _CURRENT, work_ids)}


_CURRENT: Select[*tuple[Any, ...]] = columns(col(Stay.work_id), col(Stay.id)).where(
    col(Stay.work_id).in_(WANTED), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
)


class Missed(NamedTuple):
    """A work that a walk missed and nobody has found, and the day of the walk."""

    key: int
    work_id: int
    missed_on: int | None


def missed_and_not_found(session: Session, work_ids: Collection[int]) -> list[Missed]:
    """Return what nobody has found of these works."""
    return [Missed._make(row) for row in ask(session, _NOT_FOUND, work_ids)]


_NOT_FOUND: Select[*tuple[Any, ...]] = (
    columns(col(MissingWork.id), col(MissingWork.work_id), col(Walk.on_first))
    .join(Walk)
    .where(col(MissingWork.work_id).in_(WANTED), col(MissingWork.found_visit_id).is_(None))
)


def found_at(session: Session, visit_id: int) -> list[MissingWork]:
    """Return what a visit found again."""
    return list(session.exec(select(MissingWork).where(MissingWork.found_visit_id == visit_id)))
