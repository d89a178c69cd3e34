"""Climate and light of a place: readings of loggers brought in, and what they come to."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Depends, Form, Query, UploadFile
from fastapi.responses import Response
from pydantic import Field

from api.dependencies import Here, Now, ReadSession, SignedIn, Today, WriteSession, requires
from api.logger_uploads import (
    MOST_FILE_BYTES,
    keep_upload,
    latest_second,
    read_kept,
    time_zone_of,
)
from api.rest.shapes import In, Name, Out, PathId
from api.routes import Route, takes_up_to
from models.actions.climate import (
    FileSent,
    ImportOnRecord,
    import_readings,
    list_imports,
    withdraw_import,
)
from models.actions.climate_shown import ClimateOfPlace, RecordShown, climate_of_place
from models.exchange.logger_file import (
    MOST_COLUMNS,
    Choices,
    DateOrder,
    DecimalSign,
    LoggerClock,
    LoggerFile,
    Quantity,
    Unit,
)
from models.risk.preservation_index import FORM
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(prefix="/api/places/{place_id}", tags=["climate"], route_class=Route)

CREATED, THERE_ALREADY = 201, 200
Column = Annotated[int, Field(ge=0, lt=MOST_COLUMNS)]


class RowsRefusedOut(Out):
    """How many rows were refused for one reason."""

    why: str
    rows: int


class ImportOut(Out):
    """What became of a logger file. `already_on_record`: this very file, and nothing changed."""

    id: int
    already_on_record: bool = False
    file_name: str
    file_sha256: str
    file_bytes: int
    read_as: str
    time_zone: str
    rows: int
    new_rows: int
    same_rows: int
    differing_rows: int
    refused_rows: int
    refused: Sequence[RowsRefusedOut]
    first: datetime
    last: datetime
    at: datetime
    withdrawn_reason: str | None


class WithdrawIn(In):
    """Why an import is taken back."""

    reason: Name


class ClimateRecordOut(Out):
    """Whose record holds here; the place itself or the nearest one outward that counts."""

    place_id: int
    path: str
    first_day: date
    last_day: date
    read_days: float
    whole_years: int


class SpreadOut(Out):
    """Lowest, 7th percentile, mean over time, 93rd percentile, highest."""

    lowest: float
    band_low: float
    mean: float
    band_high: float
    highest: float


class AirReadOut(Out):
    """What was read of the air. Rates against 20 degC and 50 %; index: time-weighted, in years."""

    readings: int
    read_days: float
    temperature_c: SpreadOut
    rh_percent: SpreadOut
    dew_point_c: SpreadOut
    paper_rate: float
    adhesive_rate: float
    index_years: float
    lowest_index_years: float
    index_form: str = FORM
    damp_now: float
    damp_peak: float
    damp_hours: float


class LightReadOut(Out):
    """What was read of the light."""

    readings: int
    read_days: float
    lux_hours: float
    highest_lux: float
    lit_hours: float
    uv_uw_per_lm: float | None


class MonthOut(Out):
    """One month; lowest and highest, and what the clocks ran."""

    month: str
    read_days: float
    temperature_c: tuple[float, float] | None
    rh_percent: tuple[float, float] | None
    paper_rate: float | None
    index_years: float | None
    damp: float | None
    lux_hours: float | None


class ClimateOut(Out):
    """Climate and light of a place over a span of UTC days; without a record, the assumed values.

    `paper_rate_ahead` is what forecasts reckon with, measured or assumed.
    """

    first_day: date | None
    last_day: date | None
    climate_record: ClimateRecordOut | None
    light_record: ClimateRecordOut | None
    assumed_temperature_c: float
    assumed_rh_percent: float
    assumed_paper_rate: float
    assumed_adhesive_rate: float
    paper_rate_ahead: float
    is_ahead_measured: bool
    air: AirReadOut | None
    light: LightReadOut | None
    months: Sequence[MonthOut]


@dataclass(frozen=True)
class _Sent:
    """A file that was kept and read before the transaction began."""

    sent: FileSent
    file: LoggerFile
    choices: Choices


class ReadingsIn(In):
    """A logger file with what it leaves open; columns are counted from 0."""

    file: UploadFile
    time_zone: str = Field(default="", max_length=100)
    clock: LoggerClock = LoggerClock.AS_ON_THE_WALL
    date_order: DateOrder | None = None
    unit: Unit | None = None
    decimal: DecimalSign | None = None
    date_column: Column | None = None
    time_column: Column | None = None
    temperature_column: Column | None = None
    humidity_column: Column | None = None
    lux_column: Column | None = None
    uv_column: Column | None = None


def _read_before(
    here: Here, now: Now, told: Annotated[ReadingsIn, Form(media_type="multipart/form-data")]
) -> _Sent:
    said = (
        told.date_column,
        told.time_column,
        told.temperature_column,
        told.humidity_column,
        told.lux_column,
        told.uv_column,
    )
    columns = tuple((q, n) for q, n in zip(Quantity, said, strict=True) if n is not None)
    choices = Choices(
        time_zone=told.time_zone or time_zone_of(here.settings),
        clock=told.clock,
        date_order=told.date_order,
        unit=told.unit,
        decimal=told.decimal,
        columns=columns or None,
        not_after=latest_second(now),
    )
    sent = keep_upload(here, told.file)
    return _Sent(sent, read_kept(here, sent.digest, choices), choices)


@router.post(
    "/readings",
    status_code=CREATED,
    dependencies=[requires(Deed.IMPORT_READINGS), takes_up_to(MOST_FILE_BYTES)],
)
def bring_in(
    viewer: SignedIn,
    # Before the session: a file is kept and read before anybody else has to wait for it.
    read: Annotated[_Sent, Depends(_read_before)],
    session: WriteSession,
    now: Now,
    today: Today,
    place_id: PathId,
    response: Response,
) -> ImportOut:
    """Bring in a logger file. The same file again changes nothing and is answered with 200."""
    done = import_readings(
        session,
        viewer,
        place_id,
        read.sent,
        read.file,
        read.choices,
        now=now,
        today=day_number(today),
    )
    if done.is_again:
        response.status_code = THERE_ALREADY
    return _import_out(done.on_record, is_again=done.is_again)


@router.get("/readings", dependencies=[requires(Deed.READ)])
def imports(session: ReadSession, viewer: SignedIn, place_id: PathId) -> list[ImportOut]:
    """List the files that were brought in, the last one first."""
    return [_import_out(one) for one in list_imports(session, viewer, place_id)]


@router.post("/readings/{import_id}/withdraw", dependencies=[requires(Deed.IMPORT_READINGS)])
def take_back(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    place_id: PathId,
    import_id: PathId,
    told: WithdrawIn,
) -> ImportOut:
    """Take a file back with a reason: its readings leave the place, the file stays kept."""
    one = withdraw_import(
        session, viewer, place_id, import_id, told.reason, today=day_number(today)
    )
    return _import_out(one)


@router.get("/climate", dependencies=[requires(Deed.READ)])
def climate(
    session: ReadSession,
    viewer: SignedIn,
    place_id: PathId,
    since: Annotated[date | None, Query()] = None,
    until: Annotated[date | None, Query()] = None,
) -> ClimateOut:
    """Read climate and light over a span of days; the last year of the record if none is named."""
    found = climate_of_place(
        session,
        viewer,
        place_id,
        first_day=None if since is None else day_number(since),
        last_day=None if until is None else day_number(until),
    )
    return _climate_out(found)


def _import_out(one: ImportOnRecord, *, is_again: bool = False) -> ImportOut:
    return ImportOut(
        id=one.id,
        already_on_record=is_again,
        file_name=one.file_name,
        file_sha256=one.file_digest,
        file_bytes=one.file_bytes,
        read_as=one.read_as,
        time_zone=one.time_zone,
        rows=one.rows,
        new_rows=one.new_rows,
        same_rows=one.same_rows,
        differing_rows=one.differing_rows,
        refused_rows=one.refused_rows,
        refused=[RowsRefusedOut(why=why, rows=count) for why, count in one.refused_why],
        first=datetime.fromtimestamp(one.first_second, UTC),
        last=datetime.fromtimestamp(one.last_second, UTC),
        at=one.at,
        withdrawn_reason=one.withdrawn_reason,
    )


def _climate_out(found: ClimateOfPlace) -> ClimateOut:
    held = found.place.effective
    is_read = found.air is not None or found.light is not None
    return ClimateOut(
        first_day=_day(found.first_day) if is_read else None,
        last_day=_day(found.last_day) if is_read else None,
        climate_record=_record_out(found.climate_record),
        light_record=_record_out(found.light_record),
        assumed_temperature_c=held.temperature_c,
        assumed_rh_percent=held.rh_percent,
        assumed_paper_rate=found.assumed_paper_rate,
        assumed_adhesive_rate=found.assumed_adhesive_rate,
        paper_rate_ahead=found.paper_rate_ahead,
        is_ahead_measured=found.is_ahead_measured,
        air=None if found.air is None else AirReadOut(**asdict(found.air)),
        light=None if found.light is None else LightReadOut(**asdict(found.light)),
        months=[
            MonthOut(
                month=f"{row.year}-{row.month:02}",
                read_days=row.read_days,
                temperature_c=row.temperature_c,
                rh_percent=row.rh_percent,
                paper_rate=row.paper_rate,
                index_years=row.index_years,
                damp=row.damp,
                lux_hours=row.lux_hours,
            )
            for row in found.months
        ],
    )


def _record_out(one: RecordShown | None) -> ClimateRecordOut | None:
    if one is None:
        return None
    told = vars(one) | {"first_day": _day(one.first_day), "last_day": _day(one.last_day)}
    return ClimateRecordOut(**told)


def _day(number: int) -> date:
    return date(1970, 1, 1) + timedelta(days=number)
