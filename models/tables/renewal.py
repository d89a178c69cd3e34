"""Which forecasts must be worked out anew, and who is at it?

A change that touches many works only marks them here, in its own transaction. Whoever
works them out holds a lease: a row with an end, so that a holder that died is followed
by another.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, ForeignKey, Index, delete, func, literal
from sqlalchemy import select as columns
from sqlalchemy.dialects import postgresql, sqlite
from sqlmodel import Field, Session, SQLModel, select

from models.tables.base import (
    FIRST_DAY,
    LONG_INTEGER,
    Derived,
    day,
    key,
    moment,
    note,
    strict,
    text,
    whole,
)
from models.tables.forecasts import Forecast
from models.tables.visible import THE_HOUSE, Viewer, visible_works
from models.tables.works import Work

# Far below the number of values that one statement may carry on SQLite.
_AT_ONCE = 500
_LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


class StaleWork(Derived, table=True):
    """A work whose stored forecast does not hold any more; `marks` counts how often it was said."""

    __tablename__ = "stale_work"

    work_id: int = Field(
        sa_column=Column(LONG_INTEGER, ForeignKey("work.id"), primary_key=True, autoincrement=False)
    )
    marks: int = whole("marks", 1, 2**53, nullable=False, default=1)


class Lease(Derived, table=True):
    """Who alone may do something, until when, and the last day for which all of it was done."""

    __tablename__ = "lease"
    __table_args__ = strict(Index("uq_lease_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name", longest=100)
    holder: str = note("holder")
    until: datetime = moment()
    done_day: int | None = day("done_day")


_STALE, _LEASES, _FORECASTS, _WORKS = (
    SQLModel.metadata.tables[str(table.__tablename__)]
    for table in (StaleWork, Lease, Forecast, Work)
)


def mark_works(session: Session, work_ids: Sequence[int]) -> None:
    """Mark these works, in order of their numbers."""
    rows = [{"work_id": key, "marks": 1} for key in sorted(set(work_ids))]
    if rows:
        session.connection().execute(_marked(session), rows)


def mark_all_works(session: Session) -> int:
    """Mark every work, and return how many there are."""
    works: Any = (
        columns(_WORKS.c.id, literal(1)).where(visible_works(THE_HOUSE)).order_by(_WORKS.c.id)
    )
    session.connection().execute(_marked(session, works))
    return count_stale(session)


def _marked(session: Session, works: Any = None) -> Any:
    # Marking again writes too: so it waits for whoever works out the state before it.
    add = sqlite.insert if session.get_bind().dialect.name == "sqlite" else postgresql.insert
    row: Any = add(_STALE)
    row = row if works is None else row.from_select(["work_id", "marks"], works)
    return row.on_conflict_do_update(index_elements=["work_id"], set_={"marks": _STALE.c.marks + 1})


def take_stale(session: Session, most: int) -> list[int]:
    """Return the works marked first by number and take their marks away, once this is kept."""
    connection = session.connection()
    found = columns(_STALE.c.work_id).order_by(_STALE.c.work_id).limit(most).with_for_update()
    works = list(connection.execute(found).scalars())
    for start in range(0, len(works), _AT_ONCE):
        gone = works[start : start + _AT_ONCE]
        connection.execute(delete(_STALE).where(_STALE.c.work_id.in_(gone)))
    return works


def count_stale(session: Session, viewer: Viewer = THE_HOUSE) -> int:
    """Return how many works are marked, of those this person may see."""
    # Added to nothing, so that SQLite begins with the few that are marked and not with all works.
    marked = _STALE.c.work_id + 0
    found = columns(func.count()).select_from(_STALE.join(_WORKS, _WORKS.c.id == marked))
    return int(session.connection().execute(found.where(visible_works(viewer))).scalar_one())


def marked_among(session: Session, work_ids: Sequence[int]) -> set[int]:
    """Return those of these works, at most a few hundred, that are marked."""
    found = columns(_STALE.c.work_id).where(_STALE.c.work_id.in_(work_ids))
    return set(session.connection().execute(found).scalars())


def any_stale(session: Session) -> bool:
    """Say whether any work is marked."""
    return session.connection().execute(_ANY).first() is not None


_ANY = columns(_STALE.c.work_id).limit(1)


def oldest_forecasts(session: Session, before: int | None, most: int | None) -> list[int]:
    """Return works, those of the oldest forecast first, and before those that have none.

    `before`: only those whose forecast is of an earlier day.
    """
    on = func.coalesce(_FORECASTS.c.score_day, FIRST_DAY)
    joined = _WORKS.outerjoin(_FORECASTS, _WORKS.c.id == _FORECASTS.c.work_id)
    found = columns(_WORKS.c.id).select_from(joined).where(visible_works(THE_HOUSE))
    if before is not None:
        found = found.where(on < before)
    rows = session.connection().execute(found.order_by(on, _WORKS.c.id).limit(most))
    return list(rows.scalars())


def lease_of(session: Session, name: str) -> Lease:
    """Return the row of a lease, held until this is kept or dropped."""
    # Made the first time; two who do so at once get the same row.
    add = sqlite.insert if session.get_bind().dialect.name == "sqlite" else postgresql.insert
    row = add(_LEASES).values(name=name, holder="", until=_LONG_AGO)
    session.connection().execute(row.on_conflict_do_nothing(index_elements=["name"]))
    found = select(Lease).where(Lease.name == name).with_for_update()
    return session.exec(found.execution_options(populate_existing=True)).one()


def done_day_of(session: Session, name: str) -> int | None:
    """Return the last day for which what a lease stands for was done."""
    found = columns(_LEASES.c.done_day).where(_LEASES.c.name == name)
    day_done: int | None = session.connection().execute(found).scalar()
    return day_done
