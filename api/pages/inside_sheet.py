"""What lies on paper inside the frame, for whoever opens it next?

Layers front to back, what holds the work and how it is freed, when somebody must look
again, what to mind, and the work's code. Never owner, value or place, and no free text:
a frame travels, and its sheet with it.
"""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.installation import installation_of
from api.pages.forecast_shown import DateShown, forecast_shown
from api.pages.package_shown import THE_WORK, PackageShown, PartShown, package_shown
from api.pages.path_ids import PathId
from api.pages.qr_shown import QrShown, qr_shown
from api.pages.work_page import records_of
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.forecasts import finding_facts, forecast_now
from models.actions.in_force import in_force
from models.actions.work_records import WorkRecords, work_facts
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.vocabulary import Freeing, Surface

router = APIRouter(route_class=Route)

NOT_KNOWN = "not known"
# Common practice, no source.
SURFACE_CAUTIONS = {
    Surface.FRIABLE: "The surface is loose: nothing may touch it; keep it flat, face up.",
    Surface.GELATIN: "The surface sticks: never pull glass and print apart, no water near it.",
}
FREEING_CAUTIONS = {
    Freeing.SOLVENT_OR_HEAT: "It is freed by solvent or heat only: work for a conservator.",
    Freeing.NOT_WITHOUT_HARM: "It is not freed without harm: leave it, and ask a conservator.",
}


@dataclass(frozen=True)
class SheetLine:
    """A layer or hold as it stands on the sheet."""

    what: str
    material: str
    known_by: str
    is_the_work: bool = False
    lot: str = ""


@dataclass(frozen=True)
class InsideSheetPage:
    """What templates/works/inside_sheet.html is given."""

    work_id: int
    number: str
    title: str
    code: str
    address: str
    qr: QrShown
    method: str
    mounted: str
    layers: tuple[SheetLine, ...]
    holds: tuple[SheetLine, ...]
    remains: tuple[SheetLine, ...]
    is_on_record: bool
    held: str
    freeing: str
    dates: tuple[DateShown, ...]
    remat: DateShown | None
    cautions: tuple[str, ...]
    printed: str


@router.get("/works/{work_id:int}/inside-sheet", dependencies=[requires(Deed.READ)])
def inside_sheet(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Response:
    """Show the sheet to print and lay inside the frame."""
    now = day_number(today)
    records = records_of(session, viewer, work_id)
    forecast = forecast_now(session, records, today=now, force=in_force(session))
    shown = forecast_shown(forecast, today=now)
    package = package_shown(records, forecast.verdict)
    address = f"{installation_of(request).settings.public_address}/w/{records.work.code}"
    page = InsideSheetPage(
        work_id=work_id,
        number=records.work.number,
        title=records.work.title,
        code=records.work.code,
        address=address,
        qr=qr_shown(address),
        method=package.method,
        mounted=package.since,
        layers=tuple(_line(part) for part in package.layers),
        holds=tuple(_line(part) for part in package.holds),
        remains=tuple(_line(part) for part in package.remains),
        is_on_record=package.is_on_record,
        held=package.held,
        freeing=shown.freeing,
        dates=shown.dates,
        remat=shown.remat,
        cautions=cautions_of(records, package, forecast.verdict.freeing),
        printed=day(today),
    )
    return show(request, "works/inside_sheet.html", page)


def _line(part: PartShown) -> SheetLine:
    if part.role == THE_WORK:
        return SheetLine(part.role, "", "", is_the_work=True)
    material = part.material or part.grade or NOT_KNOWN
    kind = f" ({part.grade})" if part.grade and part.grade != material else ""
    known_by = part.known_by or NOT_KNOWN
    return SheetLine(part.role, f"{material}{kind}", known_by, lot=part.lot)


def cautions_of(records: WorkRecords, package: PackageShown, freeing: Freeing) -> tuple[str, ...]:
    """Return what whoever opens the frame must mind, each once."""
    there = {finding.term for finding in finding_facts(records) if finding.is_still_there}
    said = [
        SURFACE_CAUTIONS.get(work_facts(records).surface, ""),
        FREEING_CAUTIONS.get(freeing, ""),
        *(f"{row.term}: {row.caution}" for row in records.sightings if row.term in there),
        *(
            f"The {part.role} was recalled: do not use it again."
            for part in package.layers
            if part.is_recalled
        ),
    ]
    return tuple(dict.fromkeys(one for one in said if one and not one.endswith(": ")))
