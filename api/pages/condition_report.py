"""What does one visit say on paper, to be signed and sent with the work?

The work, what was seen and what was not, each finding with what it was the time before,
the photographs of the visit with the findings drawn on them, what was done, the package
as it was closed, and the verdict and next dates as they stood on that day.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.findings_on_photograph import FindingsOn, contrast_said, findings_on
from api.pages.findings_shown import FindingShown, SightingShown, findings_shown
from api.pages.forecast_shown import ForecastShown, forecast_shown
from api.pages.inside_sheet import cautions_of
from api.pages.package_shown import PackageShown, package_shown
from api.pages.path_ids import PathId
from api.pages.visits_shown import VisitShown, visit_shown
from api.pages.work_page import WorkShown, work_shown
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.findings_placed import WorkPlaced, findings_placed_of
from models.actions.forecasts import forecast_now
from models.actions.in_force import in_force
from models.actions.records_then import records_after_visit
from models.actions.work_records import WorkRecords, load_records_of_visit
from models.errors import NotFound
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.case_rows import SightingRow
from models.tables.visible import Viewer
from models.tables.visit_notes import visit_note_rows
from models.vocabulary import Change, Shown

router = APIRouter(route_class=Route)

BY_INSTRUMENT = "by instrument"


@dataclass(frozen=True)
class ReportedFinding:
    """One finding at this visit; `before` is what it was when it was last seen before."""

    finding: FindingShown
    now: SightingShown
    before: str
    readings: tuple[str, ...]


@dataclass(frozen=True)
class ConditionReportPage:
    """What templates/reports/condition_report.html is given."""

    work: WorkShown
    visit: VisitShown
    not_seen: tuple[str, ...]
    findings: tuple[ReportedFinding, ...]
    not_looked_at: tuple[FindingShown, ...]
    pictures: tuple[FindingsOn, ...]
    forecast: ForecastShown
    package: PackageShown
    is_new_package: bool
    cautions: tuple[str, ...]
    printed_on: str


@router.get("/visits/{visit_id:int}/report", dependencies=[requires(Deed.READ)])
def condition_report(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, visit_id: PathId
) -> Response:
    """Show the condition report of one visit, to print."""
    now = day_number(today)
    records = load_records_of_visit(session, viewer, visit_id)
    if records is None:
        raise NotFound("visit", visit_id)
    row = next(visit for visit in records.visits if visit.id == visit_id)
    then = records_after_visit(records, visit_id, today=now)
    on = now if row.on_first is None else min(row.on_first, now)
    forecast = forecast_now(session, then, today=on, force=in_force(session))
    notes = visit_note_rows(session, viewer, [records.work.id])
    visit = visit_shown(row, records, notes)
    placed = findings_placed_of(session, viewer, then)
    known = findings_shown(then, notes)
    package = package_shown(then, forecast.verdict)
    page = ConditionReportPage(
        work=work_shown(records),
        visit=visit,
        not_seen=tuple(place for place in Shown if place not in visit.seen),
        findings=tuple(
            _reported(one, visit_id, then, placed)
            for one in known
            if any(seen.visit_id == visit_id for seen in one.sightings)
        ),
        not_looked_at=tuple(
            one
            for one in known
            if one.is_still_there and all(seen.visit_id != visit_id for seen in one.sightings)
        ),
        pictures=_pictures(placed, visit_id, viewer),
        forecast=forecast_shown(forecast, today=on),
        package=package,
        is_new_package=any(mount.mounted_visit_id == visit_id for mount in then.mounts),
        cautions=cautions_of(then, package, forecast.verdict.freeing),
        printed_on=day(today),
    )
    return show(request, "reports/condition_report.html", page)


def _reported(
    finding: FindingShown, visit_id: int, then: WorkRecords, placed: WorkPlaced
) -> ReportedFinding:
    now = next(seen for seen in finding.sightings if seen.visit_id == visit_id)
    rows = [row for row in then.sightings if row.finding_id == finding.id]
    return ReportedFinding(
        finding, now, _before(finding.sightings, now), _readings(now, rows, visit_id, placed)
    )


def _before(sightings: Sequence[SightingShown], now: SightingShown) -> str:
    """Return what the finding was when somebody last saw it: "9 mm, slight (20 May 2019)"."""
    earlier = [s for s in sightings[: sightings.index(now)] if s.change != Change.NOT_SEEN]
    if not earlier:
        return ""
    last = earlier[-1]
    state = ", ".join(part for part in (last.severity, last.reach, last.extent) if part)
    return f"{state or last.change} ({last.on})"


def _readings(
    now: SightingShown, rows: Sequence[SightingRow], visit_id: int, placed: WorkPlaced
) -> tuple[str, ...]:
    """Return colours that an instrument read, then what a photograph shows: never as one."""
    measured = tuple(f"{colour} ({BY_INSTRUMENT})" for colour in now.colours)
    row = next(row for row in rows if row.visit_id == visit_id)
    contrast = placed.contrasts.get(row.id)
    return measured if contrast is None else (*measured, contrast_said(contrast))


def _pictures(placed: WorkPlaced, visit_id: int, viewer: Viewer) -> tuple[FindingsOn, ...]:
    """Return the photographs of the visit; without any a plain sheet, where it was measured."""
    taken = [one.photograph for one in placed.photographs if one.photograph.visit_id == visit_id]
    if not taken:
        plain = findings_on(placed, None, viewer)
        return (plain,) if plain is not None and plain.rows else ()
    found = [findings_on(placed, photograph, viewer) for photograph in taken]
    return tuple(one for one in found if one is not None)
