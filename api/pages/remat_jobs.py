"""How are works rematted together: what lies ready, what is done, and the sheets for the bench?

The page of a job reads its works in the order in which they are best done, each with what
it is to be put into and whether its remount is on record; then the materials that they
need together. The sheets for the bench are printed at once, a page for each work: what
goes, what comes, what to mind and what to ask before. They never name owner or value.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed
from api.installation import installation_of
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Difference,
    differences,
    faults_beside,
    is_key,
    typed_in,
    version_in,
)
from api.pages.inside_sheet import cautions_of
from api.pages.package_shown import PartShown, package_shown
from api.pages.path_ids import PathId
from api.pages.qr_shown import QrShown, qr_shown
from api.pages.remats import MOST_CHOSEN, BatchShown, RematLine, batches_shown, lines_of
from api.routes import Route
from api.template_filters import day, height_by_width, money_said
from api.templating import show
from models.actions.in_force import in_force
from models.actions.remat_jobs import (
    JobOnRecord,
    JobTold,
    JobWork,
    change_job,
    leave_out,
    list_jobs,
    make_job,
    planned,
    read_job,
    usual_name,
    withdraw_job,
)
from models.actions.remats import RematShown
from models.actions.work_records import load_records, package_now, work_facts
from models.errors import BadValue, Fault, RuleBroken, Stale
from models.rules.calendar_days import day_in_words, day_number
from models.rules.package_verdict import package_verdict
from models.rules.permissions import Deed, may
from models.rules.remat_materials import TIMES, LayerSwap, MaterialsNeeded, piece_mm, read_swap
from models.tables.remat_jobs import ListedJob
from models.tables.visible import Viewer
from models.vocabulary import RematJobOutcome, RematJobState

router = APIRouter(prefix="/remat/jobs", route_class=Route)

SEE_OTHER = 303
A_PAGE = 50
FIELDS = ("name", "state", "note", "work", "reason")
LABELS = {"name": "what the job is called", "state": "state", "note": "note"}

Chosen = Annotated[list[str] | None, Query(max_length=MOST_CHOSEN)]


@dataclass(frozen=True)
class JobsPage:
    """What templates/remats/jobs.html is given."""

    jobs: tuple[ListedJob, ...]
    goes_on_at: str


@dataclass(frozen=True)
class NewJobPage:
    """What templates/remats/job_new.html is given."""

    lines: tuple[RematLine, ...]
    typed: Mapping[str, str]
    hours: str
    cost: str
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class JobLine:
    """A work of a job: its remat, its proposed package, and what became of it."""

    line: RematLine
    swaps: tuple[LayerSwap, ...]
    outcome: RematJobOutcome
    done_on: str


@dataclass(frozen=True)
class JobPage:
    """What templates/remats/job.html is given."""

    job: JobOnRecord
    lines: tuple[JobLine, ...]
    hours: str
    cost: str
    materials: MaterialsNeeded
    together: tuple[BatchShown, ...]
    states: tuple[str, ...]
    works: str
    person: str
    may_withdraw: bool
    typed: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class BenchSheet:
    """One page for the bench: what a work is in, and what it is to be put into."""

    line: RematLine
    code: str
    qr: QrShown
    address: str
    sheet: str
    piece: str
    goes: tuple[PartShown, ...]
    holds: tuple[PartShown, ...]
    comes: tuple[LayerSwap, ...]
    freeing: str
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class JobSheetsPage:
    """What templates/remats/job_sheets.html is given."""

    job_id: int
    name: str
    sheets: tuple[BenchSheet, ...]
    printed: str


@router.get("", dependencies=[requires(Deed.PLAN_REMATS)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    after: Annotated[str, Query(max_length=20)] = "",
) -> Response:
    """Show the remat jobs, the newest first."""
    key = int(after) if is_key(after) else None
    found = list_jobs(session, viewer, limit=A_PAGE + 1, after=key)
    more = f"/remat/jobs?after={found[A_PAGE - 1].id}" if len(found) > A_PAGE else ""
    return show(request, "remats/jobs.html", JobsPage(tuple(found[:A_PAGE]), more))


@router.get("/new", dependencies=[requires(Deed.PLAN_REMATS)])
def new(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work: Chosen = None
) -> Response:
    """Show what a job of these works would be, and ask for its name."""
    now = day_number(today)
    typed = {"name": usual_name(now), "note": ""}
    return show(request, "remats/job_new.html", _new_page(session, viewer, work or (), typed, now))


@router.post("", dependencies=[requires(Deed.PLAN_REMATS)])
def make(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Put a job on record."""
    now, works = day_number(today), form.all("work")
    told = JobTold(name=form["name"], note=form["note"])
    try:
        form.require_clean()
        job = make_job(session, viewer, told, _keys(works), today=now)
    except BadValue as error:
        page = _new_page(
            session, viewer, works, typed_in(form, FIELDS), now, faults_beside(error, FIELDS)
        )
        return show(request, "remats/job_new.html", page, REFUSED)
    return RedirectResponse(f"/remat/jobs/{job.id}", SEE_OTHER)


@router.get("/{job_id:int}", dependencies=[requires(Deed.PLAN_REMATS)])
def one(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, job_id: PathId
) -> Response:
    """Show a job."""
    job = read_job(session, viewer, job_id, today=day_number(today))
    return show(request, "remats/job.html", _page(session, viewer, job))


@router.post("/{job_id:int}", dependencies=[requires(Deed.PLAN_REMATS)])
def change(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    job_id: PathId,
    form: Typed,
) -> Response:
    """Rename a job, say what has become of it, leave a work out or take it in, withdraw it."""
    now, seen = day_number(today), version_in(form)
    try:
        form.require_clean()
        if form["withdraw"]:
            withdraw_job(session, viewer, job_id, form["reason"], based_on=seen, today=now)
            return RedirectResponse("/remat/jobs", SEE_OTHER)
        if is_key(work := form["leave_out"] or form["take_in"]):
            leave_out(
                session,
                viewer,
                job_id,
                int(work),
                based_on=seen,
                is_left_out=bool(form["leave_out"]),
                today=now,
            )
        else:
            changes = {name: form[name] for name in ("name", "note", "state")}
            change_job(session, viewer, job_id, changes, based_on=seen, today=now)
    except (BadValue, RuleBroken, Stale) as error:
        job = read_job(session, viewer, job_id, today=now)
        page = replace(_page(session, viewer, job), faults=faults_beside(error, FIELDS))
        status = STALE if isinstance(error, Stale) else REFUSED
        if form["withdraw"]:
            page = replace(page, typed={**page.typed, "reason": form["reason"]})
        elif "name" in form.fields:
            typed = typed_in(form, LABELS)
            differs = differences(LABELS, typed, page.typed) if status == STALE else ()
            page = replace(page, typed={**page.typed, **typed}, differences=differs)
        return show(request, "remats/job.html", page, status)
    return RedirectResponse(f"/remat/jobs/{job_id}", SEE_OTHER)


@router.get("/{job_id:int}/sheets", dependencies=[requires(Deed.PLAN_REMATS)])
def sheets(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, job_id: PathId
) -> Response:
    """Show the sheets for the bench, a page for each work that is still to do."""
    now = day_number(today)
    job = read_job(session, viewer, job_id, today=now)
    to_do = [work.row for work in job.works if work.is_to_do]
    page = JobSheetsPage(
        job_id=job_id,
        name=job.told.name,
        sheets=_sheets(
            session, viewer, to_do, installation_of(request).settings.public_address, now
        ),
        printed=day(today),
    )
    return show(request, "remats/job_sheets.html", page)


def _keys(work: Sequence[str]) -> list[int]:
    return [int(text) for text in work if is_key(text)]


def _new_page(
    session: Session,
    viewer: Viewer,
    work: Sequence[str],
    typed: Mapping[str, str],
    today: int,
    faults: tuple[Fault, ...] = (),
) -> NewJobPage:
    rows = planned(session, viewer, _keys(work)[:MOST_CHOSEN], today=today)
    return NewJobPage(
        lines=lines_of(session, viewer, rows),
        typed=typed,
        hours=f"{sum(row.hours or 0.0 for row in rows):.1f} h",
        cost=money_said(sum(row.cost or 0.0 for row in rows)),
        faults=faults,
    )


def _page(session: Session, viewer: Viewer, job: JobOnRecord) -> JobPage:
    lines = lines_of(session, viewer, [work.row for work in job.works])
    to_do = [work.row for work in job.works if work.is_to_do]
    return JobPage(
        job=job,
        lines=tuple(map(_job_line, job.works, lines)),
        hours=f"{job.hours:.1f} h",
        cost=money_said(job.cost),
        materials=job.materials,
        together=batches_shown(to_do, job.together),
        states=tuple(RematJobState),
        works=" ".join(str(work.row.work_id) for work in job.works),
        person=str(viewer.person_id),
        may_withdraw=may(viewer.role, Deed.WITHDRAW),
        typed={"name": job.told.name, "state": job.told.state, "note": job.told.note, "reason": ""},
    )


def _job_line(work: JobWork, line: RematLine) -> JobLine:
    return JobLine(
        line=line,
        swaps=tuple(map(read_swap, work.row.swaps)),
        outcome=work.outcome,
        done_on="" if work.done_on is None else day_in_words(work.done_on),
    )


def _sheets(
    session: Session, viewer: Viewer, rows: Sequence[RematShown], address: str, today: int
) -> tuple[BenchSheet, ...]:
    lines = lines_of(session, viewer, rows)
    records = load_records(session, viewer, [row.work_id for row in rows]) if rows else {}
    figures = in_force(session).figures if rows else None
    found = []
    for line in lines:
        of = records[line.row.work_id]
        assert figures is not None, "figures were read for these rows"
        verdict = package_verdict(package_now(of), work_facts(of), figures, today)
        package = package_shown(of, verdict, name=f"package-{of.work.id}")
        swaps = tuple(map(read_swap, line.row.swaps))
        going = {swap.role for swap in swaps}
        link = f"{address}/w/{of.work.code}"
        found.append(
            BenchSheet(
                line=line,
                code=of.work.code,
                qr=qr_shown(link),
                address=link,
                sheet=height_by_width(of.work.height_um, of.work.width_um),
                piece=_piece(line.row),
                goes=tuple(part for part in package.layers if part.role in going),
                holds=package.holds if line.row.method else (),
                comes=swaps,
                freeing=verdict.freeing,
                cautions=cautions_of(of, package, verdict.freeing),
            )
        )
    return tuple(found)


def _piece(row: RematShown) -> str:
    size = piece_mm(row.height_mm, row.width_mm)
    return "" if size is None else f"{size[0]} {TIMES} {size[1]} mm"
