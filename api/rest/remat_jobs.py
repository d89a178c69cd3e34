"""Works that are rematted together, as programs see them."""

from typing import Annotated

from fastapi import APIRouter, Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import page_of
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import BadCursor, Id, In, Name, Note, Out, Page, Paging, PagingAsked, PathId
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.remat_jobs import (
    JobOnRecord,
    JobTold,
    change_job,
    list_jobs,
    make_job,
    read_job,
)
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.tables.remat_jobs import MOST_WORKS
from models.vocabulary import RematJobOutcome, RematJobState

router = APIRouter(prefix="/api/remat/jobs", tags=["remat"], route_class=Route)


class ListedJobOut(Out):
    """A job in the list; hours and cost are those of what is still to do."""

    id: int
    name: str
    state: RematJobState
    made_on: str | None
    by: str | None
    works: int
    remounted: int
    hours: float
    cost: float
    version: int


class JobWorkOut(Out):
    """A work of a job and what became of it. A quote stands above the cost worked out."""

    id: int
    number: str
    title: str
    outcome: RematJobOutcome
    done_on: str | None
    swaps: list[str]
    method: str
    hours: float | None
    cost: float | None
    quote: float | None


class PiecesOut(Out):
    """So many pieces of one size, mm."""

    height_mm: int
    width_mm: int
    count: int
    numbers: list[str]


class MaterialNeededOut(Out):
    """A material that must lie ready; `unmeasured` names works whose sheet nobody measured."""

    material: str
    roles: list[str]
    pieces: list[PiecesOut]
    area_m2: float
    length_m: float
    unmeasured: list[str]


class JobOut(Out):
    """A job: its works in the order in which they are best done, and what they need together."""

    id: int
    name: str
    state: RematJobState
    note: str
    made_on: str | None
    by: str
    hours: float
    cost: float
    works: list[JobWorkOut]
    materials: list[MaterialNeededOut]
    version: int


class JobIn(In):
    """A job to be made of works that are on record."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"name": "The stair", "works": [3, 7]}]}
    )

    name: Name
    note: Note = ""
    works: Annotated[list[Id], Field(min_length=1, max_length=MOST_WORKS)]


class JobChange(In):
    """What a job is called, has become, or is said of it, as a merge patch."""

    name: Name | None = None
    state: RematJobState | None = None
    note: Note | None = None


@router.get("", dependencies=[requires(Deed.PLAN_REMATS)])
def listed(session: ReadSession, viewer: SignedIn, paging: PagingAsked) -> Page[ListedJobOut]:
    """List the remat jobs, the newest first."""
    found = list_jobs(session, viewer, limit=paging.one_more, after=_after(paging))
    shown = found[: paging.limit]
    items = [
        ListedJobOut(
            id=job.id,
            name=job.name,
            state=job.state,
            made_on=_day(job.made_on),
            by=job.by,
            works=job.works,
            remounted=job.remounted,
            hours=job.hours or 0.0,
            cost=job.cost or 0.0,
            version=job.version,
        )
        for job in shown
    ]
    return page_of(items, (shown[-1].id,) if len(found) > paging.limit else None)


@router.post("", status_code=201, dependencies=[requires(Deed.PLAN_REMATS)])
def make(
    session: WriteSession, viewer: SignedIn, today: Today, told: JobIn, response: Response
) -> JobOut:
    """Make a job of these works."""
    job = make_job(
        session,
        viewer,
        JobTold(name=told.name, note=told.note),
        told.works,
        today=day_number(today),
    )
    set_etag(response, job.version)
    return job_out(job)


@router.get("/{job_id}", dependencies=[requires(Deed.PLAN_REMATS)])
def one(
    session: ReadSession, viewer: SignedIn, today: Today, job_id: PathId, response: Response
) -> JobOut:
    """Read a job."""
    job = read_job(session, viewer, job_id, today=day_number(today))
    set_etag(response, job.version)
    return job_out(job)


@router.patch("/{job_id}", dependencies=[requires(Deed.PLAN_REMATS)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    job_id: PathId,
    seen: VersionSeen,
    told: JobChange,
    response: Response,
) -> JobOut:
    """Change a job."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(job_out):
        job = change_job(session, viewer, job_id, changes, based_on=seen, today=day_number(today))
    set_etag(response, job.version)
    return job_out(job)


def job_out(job: JobOnRecord) -> JobOut:
    """Return a job as it is sent."""
    return JobOut(
        id=job.id,
        name=job.told.name,
        state=job.told.state,
        note=job.told.note,
        made_on=_day(job.made_on),
        by=job.by,
        hours=job.hours,
        cost=job.cost,
        works=[
            JobWorkOut(
                id=work.row.work_id,
                number=work.row.number,
                title=work.row.title,
                outcome=work.outcome,
                done_on=_day(work.done_on),
                swaps=list(work.row.swaps),
                method=work.row.method,
                hours=work.row.hours,
                cost=work.row.cost,
                quote=work.row.quote,
            )
            for work in job.works
        ],
        materials=[
            MaterialNeededOut(
                material=one.material,
                roles=list(one.roles),
                pieces=[
                    PiecesOut(
                        height_mm=piece.size_mm[0],
                        width_mm=piece.size_mm[1],
                        count=piece.count,
                        numbers=list(piece.numbers),
                    )
                    for piece in one.pieces
                ],
                area_m2=one.area_m2,
                length_m=one.length_m,
                unmeasured=list(one.unmeasured),
            )
            for one in job.materials.sheets
        ],
        version=job.version,
    )


def _after(paging: Paging) -> int | None:
    match paging.after:
        case None:
            return None
        case (int() as job_id,):
            return job_id
        case _:
            raise BadCursor()


def _day(day: int | None) -> str | None:
    return None if day is None else day_date(day).isoformat()
