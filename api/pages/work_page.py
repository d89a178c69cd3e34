"""What is on record of one work, what is to be expected of it, and what is done next?

Everything is read in twelve statements, however long the record: the work's rows,
its stays, the tree of places, the notes of its visits, and who asks. The forecast
is worked out live. The newest visits stand in full, those before in a line each. A
label's code leads here too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.causes import CausesShown, causes_shown
from api.pages.dates_said import date_said, span_said
from api.pages.findings_shown import FindingShown, findings_shown
from api.pages.forecast_shown import ForecastShown, forecast_shown
from api.pages.light_shown import LightShown, light_shown
from api.pages.missing_works import missed_at
from api.pages.package_shown import PackageShown, package_shown
from api.pages.path_ids import PathId
from api.pages.photographs_shown import PhotographShown, first_of_front, photographs_noted
from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from api.pages.visits_shown import (
    EarlierVisit,
    MountShown,
    VisitShown,
    earlier_visits,
    mounts_shown,
    newest_visits,
    visit_of,
)
from api.pages.years_drawing import YearsDrawing, years_drawing
from api.pages.years_told import YearsTold
from api.routes import Route
from api.template_filters import day, height_by_width
from api.templating import show
from models.actions.forecasts import forecast_now
from models.actions.in_force import in_force
from models.actions.light_ledgers import light_of_place, work_ledger
from models.actions.suggested_causes import causes_of
from models.actions.work_records import WorkRecords, load_records
from models.errors import BadValue, NotFound
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.rules.place_tree import PlaceTree
from models.rules.work_code import read_code
from models.tables.case_rows import StayRow, stay_rows
from models.tables.register import find_work_by_code
from models.tables.visible import Viewer
from models.tables.visit_notes import MISSING, ON_BENCH, VisitNoteRow, visit_note_rows
from models.vocabulary import PlaceUse, VisitKind

router = APIRouter(route_class=Route)

SEE_OTHER = 303
# So many photographs stand on the page itself.
MOST_PHOTOGRAPHS = 6


@dataclass(frozen=True)
class WorkShown:
    """The work itself in words."""

    id: int
    number: str
    code: str
    title: str
    maker: str
    made: str
    technique: str
    support: str
    sheet: str
    replaceability: str
    owner: str
    note: str


@dataclass(frozen=True)
class StayShown:
    """A place where the work is or was, and from when to when."""

    path: str
    lasted: str
    is_now: bool


@dataclass(frozen=True)
class LiesOnBench:
    """A visit to this work that whoever looks has begun and not finished."""

    key: str
    kind: str


@dataclass(frozen=True)
class WorkPage:
    """What templates/works/work.html is given; `recorded` is the visit just recorded."""

    work: WorkShown
    sheet: SheetDrawing
    first_photograph: PhotographShown | None
    photographs: tuple[PhotographShown, ...]
    photograph_count: int
    stays: tuple[StayShown, ...]
    years: YearsDrawing
    forecast: ForecastShown
    package: PackageShown
    light: LightShown
    findings: tuple[FindingShown, ...]
    causes: CausesShown
    mounts: tuple[MountShown, ...]
    visits: tuple[VisitShown, ...]
    earlier: tuple[EarlierVisit, ...]
    may_compare: bool
    may_visit: bool
    may_move: bool
    may_keep: bool
    may_keep_builds: bool
    is_in_box: bool
    printed_on: str
    recorded: VisitShown | None
    on_bench: tuple[LiesOnBench, ...] = ()
    missed: str = ""


@router.get("/works/{work_id:int}", dependencies=[requires(Deed.READ)])
def work_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    visit: str = "",
) -> Response:
    """Show one work. `visit` is the visit that was recorded a moment ago."""
    page = read_work_page(session, viewer, work_id, today=day_number(today), recorded=visit)
    return show(request, "works/work.html", page)


@router.get("/w/{code}", dependencies=[requires(Deed.READ)])
def work_by_code(session: ReadSession, viewer: SignedIn, code: str) -> Response:
    """Lead from the code on a label, scanned or typed, to its work."""
    try:
        read = read_code(code)
    except BadValue as error:
        raise NotFound("work with the code", code) from error
    work = find_work_by_code(session, viewer, read)
    if work is None:
        raise NotFound("work with the code", read)
    return RedirectResponse(f"/works/{work.id}", SEE_OTHER)


def read_work_page(
    session: Session, viewer: Viewer, work_id: int, *, today: int, recorded: str = ""
) -> WorkPage:
    """Return what the page of a work shows. Raises NotFound."""
    records = records_of(session, viewer, work_id)
    notes = visit_note_rows(session, viewer, [work_id])
    force = in_force(session)
    tree = force.tree
    stays = records.stays or tuple(stay_rows(session, viewer, [work_id]))
    forecast = forecast_now(session, records, today=today, force=force)
    photographs = photographs_noted(notes)
    ledger = work_ledger(records, stays, force, today=today)
    return WorkPage(
        work=work_shown(records),
        sheet=sheet_drawing(records.work.height_um, records.work.width_um),
        first_photograph=first_of_front(photographs),
        photographs=photographs[:MOST_PHOTOGRAPHS],
        photograph_count=len(photographs),
        stays=_stays(tree, stays),
        years=years_drawing(
            YearsTold(
                records=records,
                stays=stays,
                forecast=forecast,
                ledger=ledger,
                paths=[tree.path(stay.place_id) for stay in stays],
                lights=[light_of_place(force, stay.place_id) for stay in stays],
                today=today,
            )
        ),
        forecast=forecast_shown(forecast, today=today, path_of=tree.path),
        package=package_shown(records, forecast.verdict),
        light=light_shown(ledger, today=today),
        findings=findings_shown(records, notes),
        causes=causes_shown(viewer, causes_of(records, force, today=today)),
        mounts=mounts_shown(records),
        visits=newest_visits(records, notes),
        earlier=earlier_visits(records),
        may_compare=len(records.visits) > 1,
        may_visit=may(viewer.role, Deed.RECORD_VISIT),
        may_move=may(viewer.role, Deed.MOVE_WORK),
        may_keep=may(viewer.role, Deed.KEEP_REGISTER),
        may_keep_builds=may(viewer.role, Deed.KEEP_HOUSE_PACKAGES),
        is_in_box=tree.effective(records.work.place_id).use is PlaceUse.BOX,
        printed_on=day(today),
        recorded=visit_of(recorded, records, notes),
        on_bench=_on_bench(notes),
        missed=_missed(notes) if may(viewer.role, Deed.WALK_ROUND) else "",
    )


def _missed(notes: Sequence[VisitNoteRow]) -> str:
    """Return at which walk the work was missed first, empty where nobody misses it."""
    walks = [note for note in notes if note.kind == MISSING]
    if not walks:
        return ""
    first = min(walks, key=lambda walk: (walk.on_first or 0, walk.id))
    return missed_at(VisitKind(first.what), first.on_edtf or "")


def _on_bench(notes: Sequence[VisitNoteRow]) -> tuple[LiesOnBench, ...]:
    return tuple(LiesOnBench(n.text, n.what) for n in notes if n.kind == ON_BENCH)


def records_of(session: Session, viewer: Viewer, work_id: int) -> WorkRecords:
    """Return the records of one work. Raises NotFound when it is not this person's to see."""
    records = load_records(session, viewer, [work_id])
    if work_id not in records:
        raise NotFound("work", work_id)
    return records[work_id]


def work_shown(records: WorkRecords) -> WorkShown:
    """Return the work itself in words."""
    work = records.work
    return WorkShown(
        id=work.id,
        number=work.number,
        code=work.code,
        title=work.title,
        maker=work.maker,
        made=date_said(work.made_edtf),
        technique=work.technique or "",
        support=work.support,
        sheet=height_by_width(work.height_um, work.width_um),
        replaceability=work.replaceability,
        owner=work.owner or "",
        note=work.note,
    )


def _stays(tree: PlaceTree, stays: Sequence[StayRow]) -> tuple[StayShown, ...]:
    """Return where the work is and was, newest first."""
    return tuple(
        StayShown(
            path=tree.path(stay.place_id),
            lasted=span_said(stay.since_edtf, stay.ended_edtf, ended=stay.ended),
            is_now=not stay.ended,
        )
        for stay in reversed(stays)
    )
