"""What lies on the bench while a work is opened by hand and pencil?

What does not wait, the four questions, how it is held and freed, the package with room
to write beside each layer, the findings known with boxes to tick, and an empty sheet to
draw new ones on. Numbers only: never owner, value, place, title or free text.
"""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.installation import installation_of
from api.pages.findings_on_photograph import FindingsOn, chosen_photograph, findings_on
from api.pages.findings_shown import FindingShown, findings_shown
from api.pages.forecast_shown import ForecastShown, forecast_shown
from api.pages.inside_sheet import cautions_of
from api.pages.package_shown import PackageShown, package_shown
from api.pages.path_ids import PathId
from api.pages.qr_shown import QrShown, qr_shown
from api.pages.sheet_drawing import SheetDrawing, sheet_drawing
from api.pages.visit_typed import QUESTIONS_BEFORE_WATER
from api.pages.work_page import records_of
from api.routes import Route
from api.template_filters import day, height_by_width
from api.templating import show
from models.actions.findings_placed import findings_placed_of
from models.actions.forecasts import forecast_now
from models.actions.in_force import in_force
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.urgent_signs import FIRST_ACTS, SIGN_OF_QUESTION
from models.vocabulary import Change, FreedBy, Outcome, Shown, StopQuestion

router = APIRouter(route_class=Route)

# What is ticked beside a finding that is known.
BOXES = (Change.UNCHANGED, Change.GROWN, Change.TREATED, "gone", Change.NOT_SEEN)
# So many lines are empty for new findings and for layers that nobody expects.
NEW_FINDINGS, NEW_LAYERS = 4, 2


@dataclass(frozen=True)
class Asked:
    """One of the four questions, with what is done after a yes."""

    question: str
    act: str
    caution: str


@dataclass(frozen=True)
class BenchSheetPage:
    """What templates/reports/bench_sheet.html is given."""

    work_id: int
    number: str
    code: str
    technique: str
    size: str
    address: str
    qr: QrShown
    picture: FindingsOn | None
    sheet: SheetDrawing
    forecast: ForecastShown
    questions: tuple[Asked, ...]
    package: PackageShown
    findings: tuple[FindingShown, ...]
    cautions: tuple[str, ...]
    printed_on: str
    places: tuple[str, ...] = tuple(Shown)
    boxes: tuple[str, ...] = BOXES
    ways_off: tuple[str, ...] = (*FreedBy, Outcome.TRIED_AND_LEFT)
    before_water: tuple[str, ...] = QUESTIONS_BEFORE_WATER
    new_findings: int = NEW_FINDINGS
    new_layers: int = NEW_LAYERS


@router.get("/works/{work_id:int}/bench-sheet", dependencies=[requires(Deed.READ)])
def bench_sheet(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Response:
    """Show the sheet to print and write on at the bench."""
    now = day_number(today)
    records = records_of(session, viewer, work_id)
    forecast = forecast_now(session, records, today=now, force=in_force(session))
    package = package_shown(records, forecast.verdict)
    placed = findings_placed_of(session, viewer, records)
    address = f"{installation_of(request).settings.public_address}/w/{records.work.code}"
    work = records.work
    page = BenchSheetPage(
        work_id=work_id,
        number=work.number,
        code=work.code,
        technique=work.technique or "",
        size=height_by_width(work.height_um, work.width_um),
        address=address,
        qr=qr_shown(address),
        picture=findings_on(placed, chosen_photograph(placed, ""), viewer),
        sheet=sheet_drawing(work.height_um, work.width_um),
        forecast=forecast_shown(forecast, today=now),
        questions=tuple(_asked(question) for question in StopQuestion),
        package=package,
        findings=tuple(one for one in findings_shown(records, ()) if one.is_still_there),
        cautions=cautions_of(records, package, forecast.verdict.freeing),
        printed_on=day(today),
    )
    return show(request, "reports/bench_sheet.html", page)


def _asked(question: StopQuestion) -> Asked:
    act = FIRST_ACTS[SIGN_OF_QUESTION[question]]
    return Asked(question.capitalize(), act.act, act.caution)
