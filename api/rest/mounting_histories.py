"""The mounting history of one work or of all: CSV streamed, XLSX, and their description.

Of all works nothing is held in memory but one batch. `?raw=1` leaves out the
apostrophe that keeps a spreadsheet from taking a text for a formula.
"""

from collections.abc import Iterator
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response, StreamingResponse

from api.dependencies import Database, ReadSession, SignedIn, Today, requires
from api.rest.shapes import PathId
from api.routes import Route
from models.actions.mounting_histories import history_of_all, history_of_work
from models.exchange.mounting_history import csv_bytes, csvw_description, xlsx_bytes
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.register import get_work

router = APIRouter(prefix="/api", tags=["mounting history"], route_class=Route)

CSV = "text/csv; charset=utf-8; header=present"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSVW = "application/csvm+json"
Raw = Annotated[bool, Query(description="Without apostrophes, for machines.")]


@router.get("/works/{work_id}/mounting-history.csv", dependencies=[requires(Deed.READ)])
def of_work_as_csv(
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    request: Request,
    raw: Raw = False,
) -> Response:
    """Hand over the whole mounting history of a work as CSV (RFC 4180)."""
    number = get_work(session, viewer, work_id).number
    rows = history_of_work(session, viewer, work_id, today=day_number(today))
    content = b"".join(csv_bytes(rows, raw=raw))
    return Response(content, media_type=CSV, headers=_named(request, f"{number}.csv"))


@router.get("/works/{work_id}/mounting-history.xlsx", dependencies=[requires(Deed.READ)])
def of_work_as_xlsx(
    session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId, request: Request
) -> Response:
    """Hand over the same as XLSX, with every identifier and date a text cell."""
    number = get_work(session, viewer, work_id).number
    rows = history_of_work(session, viewer, work_id, today=day_number(today))
    return Response(xlsx_bytes(rows), media_type=XLSX, headers=_named(request, f"{number}.xlsx"))


@router.get(
    "/works/{work_id}/mounting-history.csv-metadata.json", dependencies=[requires(Deed.READ)]
)
def description_of_work(
    session: ReadSession, viewer: SignedIn, work_id: PathId, raw: Raw = False
) -> Response:
    """Describe the columns as W3C CSV on the Web has it."""
    get_work(session, viewer, work_id)
    address = "mounting-history.csv?raw=1" if raw else "mounting-history.csv"
    return Response(csvw_description(address, raw=raw), media_type=CSVW)


@router.get("/mounting-history.csv", dependencies=[requires(Deed.READ)])
def of_all_as_csv(
    engine: Database, viewer: SignedIn, today: Today, request: Request, raw: Raw = False
) -> StreamingResponse:
    """Hand over the mounting history of every work you see as CSV, streamed."""
    rows = history_of_all(engine, viewer, today=day_number(today))
    blocks: Iterator[bytes] = csv_bytes(rows, raw=raw)
    headers = _named(request, "mounting-history.csv")
    return StreamingResponse(blocks, media_type=CSV, headers=headers)


@router.get("/mounting-history.xlsx", dependencies=[requires(Deed.READ)])
def of_all_as_xlsx(engine: Database, viewer: SignedIn, today: Today, request: Request) -> Response:
    """Hand over the same as XLSX, up to 50,000 rows."""
    rows = history_of_all(engine, viewer, today=day_number(today))
    headers = _named(request, "mounting-history.xlsx")
    return Response(xlsx_bytes(rows), media_type=XLSX, headers=headers)


@router.get("/mounting-history.csv-metadata.json", dependencies=[requires(Deed.READ)])
def description_of_all(raw: Raw = False) -> Response:
    """Describe the columns as W3C CSV on the Web has it."""
    address = "mounting-history.csv?raw=1" if raw else "mounting-history.csv"
    return Response(csvw_description(address, raw=raw), media_type=CSVW)


def _named(request: Request, name: str) -> dict[str, str]:
    """Return headers that save the file under its name and point to its description."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in "-_. ") else "_" for c in name)
    saved = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    described = f"{request.url.path.removesuffix('.xlsx').removesuffix('.csv')}"
    link = f'<{described}.csv-metadata.json>; rel="describedby"; type="{CSVW}"'
    return {"Content-Disposition": saved, "Link": link}
