"""How do works come to be rematted together, and what must lie ready for them?

Works that were chosen are put in the order in which they are best done, under a name. What
is to be done to each, what it takes and who has agreed is read from its remat each time, so
that a job never says what the record no longer says. A remount that is recorded ticks its
work; somebody may leave a work out, or drop the whole job, which stays on record.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.record_changes import count_up, key_of, merged, refuse_stale, withdraw, write
from models.actions.remats import RematShown, batch_facts, chosen_to_remat
from models.errors import BadValue, RuleBroken
from models.rules.calendar_days import day_in_words
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, a_note, on_one_line
from models.rules.remat_batches import Batches, batches, best_order
from models.rules.remat_materials import (
    MaterialsNeeded,
    RematToSupply,
    materials_needed,
    read_swap,
)
from models.tables.people import names_of_people
from models.tables.remat_jobs import (
    LONGEST_JOB_NAME,
    MOST_WORKS,
    ListedJob,
    RematJob,
    RematJobWork,
    get_remat_job,
    remat_jobs,
    works_of_job,
)
from models.tables.visible import Viewer
from models.vocabulary import RematJobOutcome, RematJobState


@dataclass(frozen=True, kw_only=True)
class JobTold:
    """What somebody says of a job."""

    name: str
    state: RematJobState = RematJobState.OPEN
    note: str = ""


@dataclass(frozen=True)
class JobWork:
    """A work of a job: its remat as it stands now, and what became of it; days are numbers."""

    row: RematShown
    outcome: RematJobOutcome
    done_on: int | None

    @property
    def is_to_do(self) -> bool:
        """Say whether it is still to be rematted within this job."""
        return self.outcome == RematJobOutcome.TO_DO


@dataclass(frozen=True, kw_only=True)
class JobOnRecord:
    """A job with its works in their order, and what those that are to do need together.

    `hours` and `cost` are sums of what is to do; a quote stands above the cost of its work.
    """

    id: int
    version: int
    told: JobTold
    made_on: int | None
    by: str
    works: tuple[JobWork, ...]
    hours: float
    cost: float
    materials: MaterialsNeeded
    together: Batches


def usual_name(today: int) -> str:
    """Return the name of a job that nobody has named."""
    return f"Remats of {day_in_words(today)}"


def planned(
    session: Session, viewer: Viewer, work_ids: Sequence[int], *, today: int
) -> tuple[RematShown, ...]:
    """Return these works in the order in which they are best done; what is not seen is not there.

    Raises BadValue for more works than a job may hold.
    """
    require(viewer.role, Deed.PLAN_REMATS)
    _refuse_too_many(work_ids)
    rows = {row.work_id: row for row in chosen_to_remat(session, viewer, work_ids, today=today)}
    order = best_order([batch_facts(row) for row in rows.values()])
    return tuple(rows[work_id] for work_id in order)


def make_job(
    session: Session, viewer: Viewer, told: JobTold, work_ids: Sequence[int], *, today: int
) -> JobOnRecord:
    """Put a job of these works on record. Raises BadValue, NotAllowed."""
    rows = planned(session, viewer, work_ids, today=today)
    if not rows or len(rows) < len(set(work_ids)):
        message = (
            "A remat job is made of works that are on record." if rows else "No work is in it."
        )
        raise BadValue.at("/work", message, "Choose works in the list of what to remat first.")
    job = RematJob(name=told.name, made_on=today, person_id=viewer.person_id)
    write(job, _columns(told))
    session.add(job)
    session.flush()
    job_id = key_of(job)
    for position, row in enumerate(rows, start=1):
        session.add(RematJobWork(job_id=job_id, work_id=row.work_id, position=position))
    session.flush()
    return read_job(session, viewer, job_id, today=today)


def read_job(session: Session, viewer: Viewer, job_id: int, *, today: int) -> JobOnRecord:
    """Return a job as it stands today. Raises NotFound."""
    require(viewer.role, Deed.PLAN_REMATS)
    job = get_remat_job(session, job_id)
    kept = works_of_job(session, job_id)
    ids = [work.work_id for work in kept]
    rows = {row.work_id: row for row in chosen_to_remat(session, viewer, ids, today=today)}
    works = tuple(
        JobWork(rows[work.work_id], work.outcome, work.done_on)
        for work in kept
        if work.work_id in rows
    )
    to_do = [work.row for work in works if work.is_to_do]
    by = names_of_people(session, [job.person_id] if job.person_id else [])
    return JobOnRecord(
        id=job_id,
        version=job.version,
        told=JobTold(name=job.name, state=job.state, note=job.note),
        made_on=job.made_on,
        by=by.get(job.person_id or 0, ""),
        works=works,
        hours=sum(row.hours or 0.0 for row in to_do),
        cost=sum(price_of(row) for row in to_do),
        materials=materials_of(to_do),
        together=batches([batch_facts(row) for row in to_do]),
    )


def price_of(row: RematShown) -> float:
    """Return what a remat costs: its quote where there is one, else what was worked out."""
    return row.quote if row.quote is not None else row.cost or 0.0


def materials_of(rows: Sequence[RematShown]) -> MaterialsNeeded:
    """Return what must lie ready for these remats."""
    return materials_needed(
        [
            RematToSupply(
                number=row.number,
                swaps=tuple(read_swap(line) for line in row.swaps),
                method=row.method,
                height_mm=row.height_mm,
                width_mm=row.width_mm,
            )
            for row in rows
        ]
    )


def list_jobs(
    session: Session, viewer: Viewer, *, limit: int, after: int | None = None
) -> list[ListedJob]:
    """Return the jobs on record, the newest first."""
    require(viewer.role, Deed.PLAN_REMATS)
    return remat_jobs(session, limit=limit, after=after)


def change_job(
    session: Session,
    viewer: Viewer,
    job_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> JobOnRecord:
    """Change `name`, `state` or `note`. Raises NotFound, Stale, BadValue."""
    require(viewer.role, Deed.PLAN_REMATS)
    job = _to_change(session, viewer, job_id, based_on, today)
    told = merged(JobTold(name=job.name, state=job.state, note=job.note), changes)
    write(job, _columns(told))
    session.flush()
    return read_job(session, viewer, job_id, today=today)


def leave_out(
    session: Session,
    viewer: Viewer,
    job_id: int,
    work_id: int,
    *,
    based_on: int,
    is_left_out: bool,
    today: int,
) -> JobOnRecord:
    """Leave a work out of a job, or take it in again. Raises NotFound, Stale, RuleBroken."""
    require(viewer.role, Deed.PLAN_REMATS)
    job = _to_change(session, viewer, job_id, based_on, today)
    kept = next((one for one in works_of_job(session, job_id) if one.work_id == work_id), None)
    if kept is None or kept.outcome == RematJobOutcome.REMOUNTED:
        raise RuleBroken("Only what is still to do can be left out.", "not_to_do")
    new = RematJobOutcome.LEFT_OUT if is_left_out else RematJobOutcome.TO_DO
    if write(kept, {"outcome": new}):
        count_up(job)
    session.flush()
    return read_job(session, viewer, job_id, today=today)


def withdraw_job(
    session: Session, viewer: Viewer, job_id: int, reason: str, *, based_on: int, today: int
) -> None:
    """Take a job off the list, with a reason. Raises NotFound, Stale, BadValue."""
    require(viewer.role, Deed.WITHDRAW)
    faults = Faults()
    why = faults.read("/reason", on_one_line("reason"), reason)
    faults.refuse()
    withdraw(_to_change(session, viewer, job_id, based_on, today), why or "")
    session.flush()


def _to_change(
    session: Session, viewer: Viewer, job_id: int, based_on: int, today: int
) -> RematJob:
    job = get_remat_job(session, job_id, to_change=True)
    refuse_stale(job, based_on, theirs=read_job(session, viewer, job_id, today=today))
    return job


def _columns(told: JobTold) -> dict[str, object]:
    faults = Faults()
    name = faults.read("/name", on_one_line("name of a job", LONGEST_JOB_NAME), told.name)
    note = faults.read("/note", a_note, told.note)
    faults.refuse()
    return {"name": name, "state": RematJobState(told.state), "note": note}


def _refuse_too_many(work_ids: Sequence[int]) -> None:
    if len(set(work_ids)) > MOST_WORKS:
        message = f"A remat job holds at most {MOST_WORKS} works."
        raise BadValue.at("/work", message, "Make two of them.")
