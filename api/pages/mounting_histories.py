"""Where is the mounting history of all works taken away, and which works are not in it?

The file has a row for each layer and hold of every mount: a work without any mount on
record has none, and whoever counts its works must be told so.
"""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, requires
from api.routes import Route
from api.templating import show
from models.exchange.mounting_history import MOST_XLSX_ROWS
from models.rules.permissions import Deed
from models.tables.history import count_without_mount

router = APIRouter(route_class=Route)


@dataclass(frozen=True)
class MountingHistoriesPage:
    """What templates/works/mounting_histories.html is given: numbers of works and of rows."""

    works: int
    without_mount: int
    most_xlsx_rows: int = MOST_XLSX_ROWS


@router.get("/mounting-histories", dependencies=[requires(Deed.READ)])
def mounting_histories(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show the files of all works, and how many works have no row in them."""
    works, without = count_without_mount(session, viewer)
    return show(request, "works/mounting_histories.html", MountingHistoriesPage(works, without))
