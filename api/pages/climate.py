"""What was the climate of a place, and how does a logger's file come into it?

A file is chosen, kept, and shown as it is understood; what it leaves open is asked. Nothing
is brought in before somebody has looked. Then it goes on by itself, and its page says how far
it is. An import can be taken back.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import RedirectResponse, Response
from starlette.background import BackgroundTask

from api.dependencies import (
    Database,
    Here,
    Now,
    ReadSession,
    SignedIn,
    Today,
    WriteSession,
    requires,
)
from api.forms import Typed
from api.installation import Installation
from api.logger_jobs import JobShown, begin_job, job_shown, run_job
from api.logger_uploads import (
    MOST_FILE_BYTES,
    keep_upload,
    latest_second,
    path_of_kept,
    read_kept,
    time_zone_of,
)
from api.pages.climate_drawing import Panel, panel
from api.pages.form_answers import REFUSED
from api.pages.path_ids import PathId
from api.routes import Route, takes_up_to
from api.template_filters import MONTHS
from api.templating import show
from models.actions.climate import (
    ASKED,
    CHOOSE,
    FileSent,
    ImportOnRecord,
    imports_of_place,
    list_imports,
    withdraw_import,
)
from models.actions.climate_shown import ClimateOfPlace, climate_of_place
from models.actions.places import read_place
from models.database import read_session
from models.errors import BadValue, Fault
from models.exchange.logger_file import (
    Choices,
    DateOrder,
    DecimalSign,
    LoggerClock,
    LoggerFile,
    Quantity,
    Unit,
)
from models.risk.preservation_index import FORM
from models.rules.calendar_days import day_date, day_number
from models.rules.climate_summary import MonthRow
from models.rules.permissions import Deed, may

router = APIRouter(prefix="/places/{place_id:int}/climate", route_class=Route)

SEE_OTHER = 303
LUX_HOURS_PER_MEGA = 1_000_000
AS_FOUND = "as the file says"
NOT_IN_IT = "not in it"
Digest = Annotated[str, Path(pattern="^[0-9a-f]{64}$")]
CHOOSABLE: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("date_order", "Dates", tuple(DateOrder)),
    ("unit", "Temperature in", tuple(Unit)),
    ("decimal", "Decimal sign", tuple(DecimalSign)),
)


@dataclass(frozen=True)
class Line:
    """One figure of a table: what it is, and its value in words."""

    label: str
    value: str


@dataclass(frozen=True)
class MonthLine:
    """One month of the table beside the drawing."""

    month: str
    temperature: str
    humidity: str
    rate: str
    index: str
    damp: str
    light: str


@dataclass(frozen=True)
class ImportLine:
    """One file that was brought in."""

    id: int
    name: str
    first_day: int
    last_day: int
    counts: str
    withdrawn_reason: str | None


@dataclass(frozen=True)
class ClimatePage:
    """What templates/climate/climate.html is given."""

    place_id: int
    path: str
    verdict: str
    rests_on: str
    ahead: str
    since: str
    until: str
    spans: tuple[tuple[str, str], ...]
    panels: tuple[Panel, ...]
    lines: tuple[Line, ...]
    months: tuple[MonthLine, ...]
    imports: tuple[ImportLine, ...]
    may_import: bool
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class ChooseFilePage:
    """What templates/climate/file.html is given."""

    place_id: int
    path: str
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class PreviewPage:
    """What templates/climate/preview.html is given. `read` is None for a file that cannot be."""

    place_id: int
    path: str
    digest: str
    name: str
    read: LoggerFile | None
    chosen: Mapping[str, str]
    columns: tuple[str, ...]
    column_of: Mapping[str, str]
    first_day: int
    last_day: int
    can_import: bool
    faults: tuple[Fault, ...] = ()
    clocks: tuple[str, ...] = tuple(LoggerClock)
    quantities: tuple[str, ...] = tuple(Quantity)
    as_found: str = AS_FOUND
    not_in_it: str = NOT_IN_IT
    choosable: tuple[tuple[str, str, tuple[str, ...]], ...] = CHOOSABLE


@dataclass(frozen=True)
class JobPage:
    """What templates/climate/job.html is given; `done` when the file is in."""

    place_id: int
    path: str
    job: JobShown
    done: ImportOnRecord | None


@router.get("", dependencies=[requires(Deed.READ)])
def climate(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    place_id: PathId,
    since: Annotated[str, Query(max_length=10)] = "",
    until: Annotated[str, Query(max_length=10)] = "",
) -> Response:
    """Show what the loggers of a place read, or what is assumed of it."""
    faults: tuple[Fault, ...] = ()
    try:
        found = climate_of_place(
            session, viewer, place_id, first_day=_a_day(since), last_day=_a_day(until)
        )
    except BadValue as error:
        faults = error.faults
        found = climate_of_place(session, viewer, place_id)
    imports = imports_of_place(session, found.place)
    page = ClimatePage(
        place_id=place_id,
        path=found.place.told.path,
        verdict=_verdict(found),
        rests_on=_rests_on(found),
        ahead=_ahead(found),
        since=day_date(found.first_day).isoformat() if found.climate_record else "",
        until=day_date(found.last_day).isoformat() if found.climate_record else "",
        spans=_spans(found),
        panels=_panels(found),
        lines=_lines(found),
        months=tuple(_month_line(row) for row in found.months),
        imports=tuple(_import_line(one) for one in imports),
        may_import=may(viewer.role, Deed.IMPORT_READINGS),
        faults=faults,
    )
    return show(request, "climate/climate.html", page, REFUSED if faults else 200)


@router.get("/file", dependencies=[requires(Deed.IMPORT_READINGS)])
def choose_file(
    request: Request, session: ReadSession, viewer: SignedIn, place_id: PathId
) -> Response:
    """Ask for the logger's file."""
    place = read_place(session, viewer, place_id)
    return show(request, "climate/file.html", ChooseFilePage(place_id, place.told.path))


@router.post("/file", dependencies=[requires(Deed.IMPORT_READINGS), takes_up_to(MOST_FILE_BYTES)])
def file_sent(
    request: Request,
    here: Here,
    engine: Database,
    viewer: SignedIn,
    place_id: PathId,
    form: Typed,
) -> Response:
    """Keep the file and lead to how it is understood; nothing is brought in yet."""
    with read_session(engine) as session:
        path = read_place(session, viewer, place_id).told.path
    try:
        form.require_clean()
        uploads = form.files.get("file", ())
        if not uploads:
            raise BadValue.at("/file", "No file was sent.", "Choose the logger's file.")
        sent = keep_upload(here, uploads[0])
    except BadValue as error:
        return show(
            request, "climate/file.html", ChooseFilePage(place_id, path, error.faults), REFUSED
        )
    query = urlencode({"name": sent.name})
    return RedirectResponse(f"/places/{place_id}/climate/file/{sent.digest}?{query}", SEE_OTHER)


@router.get("/file/{digest}", dependencies=[requires(Deed.IMPORT_READINGS)])
def preview(
    request: Request,
    here: Here,
    engine: Database,
    now: Now,
    viewer: SignedIn,
    place_id: PathId,
    digest: Digest,
) -> Response:
    """Show how the file is understood with these choices."""
    with read_session(engine) as session:
        path = read_place(session, viewer, place_id).told.path
    path_of_kept(here, digest)
    told = {name: value[:300] for name, value in request.query_params.items()}
    read, faults = _read(here, digest, told, now)
    page = _preview_page(place_id, path, digest, told, read, faults, here)
    return show(request, "climate/preview.html", page, REFUSED if read is None else 200)


@router.post("/file/{digest}", dependencies=[requires(Deed.IMPORT_READINGS)])
def begin(
    session: WriteSession,
    here: Here,
    viewer: SignedIn,
    now: Now,
    place_id: PathId,
    digest: Digest,
    form: Typed,
) -> Response:
    """Begin to bring the file in, and lead to the page that says how far it is."""
    form.require_clean()
    told = {name: form[name] for name in form.fields}
    file = path_of_kept(here, digest)
    sent = FileSent(name=told.get("name", ""), digest=digest, byte_count=file.stat().st_size)
    choices = _choices(here, told, now)
    job = begin_job(session, viewer, place_id, sent, choices, now)
    answer = RedirectResponse(f"/places/{place_id}/climate/imports/{job}", SEE_OTHER)
    answer.background = BackgroundTask(run_job, here, viewer, job, sent)
    return answer


@router.get("/imports/{job_id:int}", dependencies=[requires(Deed.IMPORT_READINGS)])
def progress(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    now: Now,
    place_id: PathId,
    job_id: PathId,
) -> Response:
    """Show how far an import is, and at last what became of it."""
    job = job_shown(session, viewer, place_id, job_id, now)
    path = read_place(session, viewer, place_id).told.path
    imports = list_imports(session, viewer, place_id) if job.import_id else []
    done = next((one for one in imports if one.id == job.import_id), None)
    return show(request, "climate/job.html", JobPage(place_id, path, job, done))


@router.post("/withdraw/{import_id:int}", dependencies=[requires(Deed.IMPORT_READINGS)])
def take_back(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    place_id: PathId,
    import_id: PathId,
    form: Typed,
) -> Response:
    """Take an import back, with a reason."""
    form.require_clean()
    withdraw_import(session, viewer, place_id, import_id, form["reason"], today=day_number(today))
    return RedirectResponse(f"/places/{place_id}/climate", SEE_OTHER)


def _read(
    here: Installation, digest: str, told: Mapping[str, str], now: datetime
) -> tuple[LoggerFile | None, tuple[Fault, ...]]:
    try:
        read = read_kept(here, digest, _choices(here, told, now))
    except BadValue as error:
        return None, error.faults
    return read, tuple(Fault(f"/{name}", ASKED[name], CHOOSE[name]) for name in read.how.open)


def _choices(here: Installation, told: Mapping[str, str], now: datetime) -> Choices:
    """Return what was chosen. Raises BadValue for what cannot be."""
    try:
        return Choices(
            time_zone=told.get("time_zone", "").strip() or time_zone_of(here.settings),
            clock=LoggerClock(told.get("clock") or LoggerClock.AS_ON_THE_WALL),
            date_order=DateOrder(told["date_order"]) if told.get("date_order") else None,
            unit=Unit(told["unit"]) if told.get("unit") else None,
            decimal=DecimalSign(told["decimal"]) if told.get("decimal") else None,
            columns=_columns_chosen(told),
            not_after=latest_second(now),
        )
    except ValueError as error:
        raise BadValue.at("", "This cannot be chosen.", "Choose one of what is offered.") from error


def _columns_chosen(told: Mapping[str, str]) -> tuple[tuple[Quantity, int], ...] | None:
    """Return which column, counted from 0, was said to hold what; None where nothing was said.

    Each is chosen by its number and its heading: `2: Temp`.
    """
    said = {q: told.get(f"column-{q.lower()}", "") for q in Quantity}
    if not any(said.values()):
        return None
    numbers = ((q, text.partition(":")[0]) for q, text in said.items() if text != NOT_IN_IT)
    return tuple((q, int(number) - 1) for q, number in numbers if number)


def _preview_page(
    place_id: int,
    path: str,
    digest: str,
    told: Mapping[str, str],
    read: LoggerFile | None,
    faults: tuple[Fault, ...],
    here: Installation,
) -> PreviewPage:
    names = () if read is None else read.how.headings
    columns = tuple(f"{n}: {name}" for n, name in enumerate(names, start=1))
    at = {} if read is None else dict(read.how.columns)
    has_rows = read is not None and len(read.seconds) > 0
    chosen = {name: told.get(name, "") for name in ("date_order", "unit", "decimal", "clock")}
    zone = told.get("time_zone", "").strip() or time_zone_of(here.settings)
    return PreviewPage(
        place_id=place_id,
        path=path,
        digest=digest,
        name=told.get("name", ""),
        read=read,
        chosen={**chosen, "time_zone": zone},
        columns=columns,
        column_of={q: columns[at[q]] if q in at else NOT_IN_IT for q in Quantity},
        first_day=_day_of(int(read.seconds[0])) if read and has_rows else 0,
        last_day=_day_of(int(read.seconds[-1])) if read and has_rows else 0,
        can_import=has_rows,
        faults=faults,
    )


def _a_day(text: str) -> int | None:
    if not text:
        return None
    try:
        return day_number(date.fromisoformat(text))
    except ValueError:
        raise BadValue.at("/since", f"{text!r} is no day.", "Write 2026-01-31.") from None


def _day_of(second: int) -> int:
    return day_number(datetime.fromtimestamp(second, UTC).date())


def _verdict(found: ClimateOfPlace) -> str:
    if found.air is None:
        rate, said = found.assumed_paper_rate, "In the climate that is assumed here"
    else:
        rate, said = found.air.paper_rate, "In the time that was read"
    if 0.97 <= rate <= 1.03:
        return f"{said} paper ages as fast as at 20 °C and 50 %."
    return f"{said} paper ages {rate:.2f} times as fast as at 20 °C and 50 %."


def _rests_on(found: ClimateOfPlace) -> str:
    record, held = found.climate_record, found.place.effective
    assumed = f"{held.temperature_c:g} °C and {held.rh_percent:g} %"
    if record is None:
        return f"No logger has read here: {assumed} are assumed, all through the year."
    whose = "" if record.place_id == found.place.id else f" in {record.path}"
    span = f"{_said(record.first_day)} to {_said(record.last_day)}"
    unread = record.last_day - record.first_day + 1 - record.read_days
    days = "day" if round(unread) == 1 else "days"
    were = "was" if days == "day" else "were"
    filled = f" {unread:.0f} {days} of it {were} not read and count as {assumed}."
    filled = filled if round(unread) else ""
    return f"Read{whose} from {span}.{filled}"


def _ahead(found: ClimateOfPlace) -> str:
    rate, record = f"{found.paper_rate_ahead:.2f}", found.climate_record
    if found.is_ahead_measured and record is not None:
        years = "year" if record.whole_years == 1 else f"{record.whole_years} years"
        until = _said(record.last_day)
        return f"Forecasts reckon with {rate} from now on: measured, over the {years} to {until}."
    why = "" if record is None else " A record of less than a year does not tell a whole year."
    return f"Forecasts reckon with {rate} from now on: assumed.{why}"


def _said(day: int) -> str:
    on = day_date(day)
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def _spans(found: ClimateOfPlace) -> tuple[tuple[str, str], ...]:
    record = found.climate_record or found.light_record
    if record is None:
        return ()
    last = record.last_day
    spans = (("last 30 days", last - 29), ("last year", last - 364), ("all", record.first_day))
    return tuple(
        (name, urlencode({"since": _iso(max(first, record.first_day)), "until": _iso(last)}))
        for name, first in spans
    )


def _iso(day: int) -> str:
    return (date(1970, 1, 1) + timedelta(days=day)).isoformat()


def _panels(found: ClimateOfPlace) -> tuple[Panel, ...]:
    if found.air is None:
        return ()
    days = found.first_day, found.last_day
    return (
        panel("Temperature", "°C", found.air_drawn, 0, found.air.temperature_c, days, 2),
        panel("Humidity", "% RH", found.air_drawn, 1, found.air.rh_percent, days, 5),
    )


def _lines(found: ClimateOfPlace) -> tuple[Line, ...]:
    lines: list[Line] = []
    if (air := found.air) is not None:
        spreads = (
            ("Temperature", air.temperature_c, "°C"),
            ("Humidity", air.rh_percent, "%"),
            ("Dew point", air.dew_point_c, "°C"),
        )
        lines += [
            Line(
                name,
                f"{s.lowest:.1f} to {s.highest:.1f} {unit}, mean {s.mean:.1f}; six readings of"
                f" seven between {s.band_low:.1f} and {s.band_high:.1f}",
            )
            for name, s, unit in spreads
        ]
        lines += [
            Line("Ageing of paper", f"{air.paper_rate:.2f} times that at 20 °C and 50 %"),
            Line("Ageing of adhesives", f"{air.adhesive_rate:.2f} times"),
            Line(
                f"Preservation Index ({FORM})",
                f"{air.index_years:.0f} years, weighted by time; at the worst moment"
                f" {air.lowest_index_years:.0f}",
            ),
            Line(
                "Damp",
                f"{air.damp_hours:.0f} hours at 65 % or more; mould came {air.damp_peak:.0%} of"
                f" the way to growing, and stands at {air.damp_now:.0%}",
            ),
        ]
    if (light := found.light) is not None:
        uv = "" if light.uv_uw_per_lm is None else f"; UV {light.uv_uw_per_lm:.0f} µW/lm"
        lines.append(
            Line(
                "Light",
                f"{light.lux_hours / LUX_HOURS_PER_MEGA:.3f} Mlx·h in {light.lit_hours:.0f} lit"
                f" hours, {light.highest_lux:.0f} lx at most{uv}",
            )
        )
    return tuple(lines)


def _month_line(row: MonthRow) -> MonthLine:
    return MonthLine(
        month=f"{MONTHS[row.month - 1]} {row.year}",
        temperature=_range(row.temperature_c),
        humidity=_range(row.rh_percent),
        rate="" if row.paper_rate is None else f"{row.paper_rate:.2f}",
        index="" if row.index_years is None else f"{row.index_years:.0f}",
        damp="" if row.damp is None else f"{row.damp:.0%}",
        light="" if row.lux_hours is None else f"{row.lux_hours / 1000:.1f}",
    )


def _range(span: tuple[float, float] | None) -> str:
    return "" if span is None else f"{span[0]:.1f} to {span[1]:.1f}"


def _import_line(one: ImportOnRecord) -> ImportLine:
    counts = [
        (one.new_rows, "new"),
        (one.same_rows, "there already"),
        (one.differing_rows, "different from what was there, left out"),
        (one.refused_rows, "refused"),
    ]
    said = ", ".join(f"{count} {what}" for count, what in counts if count)
    return ImportLine(
        id=one.id,
        name=one.file_name,
        first_day=_day_of(one.first_second),
        last_day=_day_of(one.last_second),
        counts=f"{one.rows} rows: {said}",
        withdrawn_reason=one.withdrawn_reason,
    )
