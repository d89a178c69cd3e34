"""Which works are rematted together, and what has become of each within its job?

A job names works and puts them in an order; what is to be done to each is read from its
remat and never copied, so that a job is as true as the record. All of it is logged.
"""

from collections.abc import Collection, Sequence
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Index, Integer, Select, bindparam, func
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.errors import NotFound
from models.tables.base import Record, day, key, link, note, strict, text, version, whole, word
from models.tables.kept_statements import WANTED, send
from models.tables.people import Person
from models.tables.remats import RematScore
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import RematJobOutcome, RematJobState

LONGEST_JOB_NAME = 200
MOST_WORKS = 200


class RematJob(Record, table=True):
    """Works that are rematted together: by what name, since when, at whose word."""

    __tablename__ = "remat_job"

    id: int | None = key()
    name: str = text("name", longest=LONGEST_JOB_NAME)
    state: RematJobState = word("state", RematJobState, default=RematJobState.OPEN)
    made_on: int | None = day("made_on")
    person_id: int | None = link("person.id", nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class RematJobWork(Record, table=True):
    """One work of a job, at its place in the order, and what became of it."""

    __tablename__ = "remat_job_work"
    __table_args__ = strict(
        Index("uq_remat_job_work_job_id_work_id", "job_id", "work_id", unique=True)
    )

    id: int | None = key()
    job_id: int = link("remat_job.id", index=False)
    work_id: int = link("work.id")
    position: int = whole("position", 1, MOST_WORKS, nullable=False)
    outcome: RematJobOutcome = word("outcome", RematJobOutcome, default=RematJobOutcome.TO_DO)
    done_on: int | None = day("done_on")
    version: int = version()


class ListedJob(NamedTuple):
    """A job as the list shows it; hours and cost are those of what is still to do."""

    id: int
    name: str
    state: RematJobState
    made_on: int | None
    by: str | None
    version: int
    works: int
    remounted: int
    hours: float | None
    cost: float | None


def remat_jobs(session: Session, *, limit: int, after: int | None = None) -> list[ListedJob]:
    """Return the jobs that nobody withdrew, the newest first, after the one with this key."""
    given = {"limit": limit, "after": after}
    rows = session.connection().execute(_listed(is_further=after is not None), given)
    return [ListedJob(*row) for row in rows]


@cache
def _listed(*, is_further: bool) -> Select[*tuple[Any, ...]]:
    to_do = col(RematJobWork.outcome) == RematJobOutcome.TO_DO
    found: Select[*tuple[Any, ...]] = columns(
        col(RematJob.id),
        col(RematJob.name),
        col(RematJob.state),
        col(RematJob.made_on),
        col(Person.name),
        col(RematJob.version),
        func.count(col(Work.id)),
        func.count(col(Work.id)).filter(
            col(RematJobWork.outcome) == RematJobOutcome.REMOUNTED, _IS_KEPT
        ),
        func.sum(col(RematScore.hours)).filter(to_do, _IS_KEPT),
        func.sum(col(RematScore.cost)).filter(to_do, _IS_KEPT),
    )
    found = found.select_from(RematJob)
    found = found.outerjoin(Person, col(Person.id) == col(RematJob.person_id))
    found = found.outerjoin(RematJobWork, col(RematJobWork.job_id) == col(RematJob.id))
    found = found.outerjoin(Work, (col(Work.id) == col(RematJobWork.work_id)) & _IS_KEPT)
    found = found.outerjoin(RematScore, col(RematScore.work_id) == col(Work.id))
    found = found.where(col(RematJob.withdrawn_reason).is_(None))
    if is_further:
        found = found.where(col(RematJob.id) < bindparam("after"))
    found = found.group_by(col(RematJob.id), col(Person.name))
    return found.order_by(col(RematJob.id).desc()).limit(bindparam("limit", type_=Integer()))


def get_remat_job(session: Session, job_id: int, *, to_change: bool = False) -> RematJob:
    """Return a job that nobody withdrew, held if it is to be changed. Raises NotFound."""
    found = select(RematJob).where(RematJob.id == job_id, col(RematJob.withdrawn_reason).is_(None))
    if to_change:
        found = found.with_for_update()
    job = session.exec(found.execution_options(populate_existing=True)).first()
    if job is None:
        raise NotFound("remat job", job_id)
    return job


def works_of_job(session: Session, job_id: int) -> list[RematJobWork]:
    """Return the works of a job in their order."""
    found = select(RematJobWork).where(RematJobWork.job_id == job_id)
    return list(session.exec(found.order_by(col(RematJobWork.position), col(RematJobWork.id))))


def waiting_in_jobs(session: Session, work_ids: Collection[int]) -> list[RematJobWork]:
    """Return what open jobs have still to do on these works, held until this change is kept."""
    return list(session.exec(_WAITING, params={"wanted": list(work_ids)}))


_WAITING = (
    select(RematJobWork)
    .join(RematJob, col(RematJob.id) == col(RematJobWork.job_id))
    .where(
        col(RematJobWork.work_id).in_(WANTED),
        col(RematJobWork.outcome) == RematJobOutcome.TO_DO,
        col(RematJob.state) == RematJobState.OPEN,
        col(RematJob.withdrawn_reason).is_(None),
    )
    .with_for_update(of=RematJobWork)
)


def remounted_in_jobs(session: Session, work_id: int, done_on: int) -> list[RematJobWork]:
    """Return the places of a work in jobs that a remount ticked on this day, held."""
    found = select(RematJobWork).join(RematJob, col(RematJob.id) == col(RematJobWork.job_id))
    found = found.where(
        RematJobWork.work_id == work_id,
        RematJobWork.outcome == RematJobOutcome.REMOUNTED,
        RematJobWork.done_on == done_on,
        col(RematJob.withdrawn_reason).is_(None),
    )
    return list(session.exec(found.with_for_update(of=RematJobWork)))


class JobOfWork(NamedTuple):
    """An open job in which a work waits."""

    work_id: int
    job_id: int
    name: str


def open_jobs_of(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[JobOfWork]:
    """Return in which open jobs these works wait; one statement."""
    return [JobOfWork._make(row) for row in send(session, viewer, _open_jobs, work_ids)]


def _open_jobs(is_visible: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    found: Select[*tuple[Any, ...]] = columns(
        col(RematJobWork.work_id), col(RematJob.id), col(RematJob.name)
    )
    found = found.select_from(RematJobWork)
    found = found.join(RematJob, col(RematJob.id) == col(RematJobWork.job_id))
    found = found.join(Work, col(Work.id) == col(RematJobWork.work_id))
    found = found.where(
        is_visible,
        col(RematJobWork.work_id).in_(WANTED),
        col(RematJobWork.outcome) == RematJobOutcome.TO_DO,
        col(RematJob.state) == RematJobState.OPEN,
        col(RematJob.withdrawn_reason).is_(None),
    )
    return found.order_by(col(RematJob.id))


_IS_KEPT = col(Work.withdrawn_reason).is_(None)
