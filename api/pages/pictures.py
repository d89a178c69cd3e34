"""The pictures themselves: for the screen, in parts for looking closely, and the original.

Each is asked for by the key of its photograph, so that whoever may not see the work gets
none of them. What is for the screen tells nothing beyond the picture.
"""

from typing import Annotated

from fastapi import APIRouter, Path
from fastapi.responses import FileResponse, Response

from api.dependencies import Database, Here, SignedIn, requires
from api.pages.path_ids import PathId
from api.photograph_files import part_of_picture, path_of_original, path_of_picture
from api.routes import Route
from models.actions.photographs import PhotographOnRecord, read_photograph
from models.database import read_session
from models.errors import NotFound
from models.exchange.photograph_file import SIDES_PX
from models.rules.permissions import Deed
from models.tables.visible import Viewer

router = APIRouter(prefix="/photographs/{photograph_id:int}", route_class=Route)

JPEG = "image/jpeg"
Place = Annotated[int, Path(ge=0, le=10_000)]


@router.get("/{side_px:int}", dependencies=[requires(Deed.READ)])
def picture(
    here: Here, engine: Database, viewer: SignedIn, photograph_id: PathId, side_px: Place
) -> Response:
    """Give the picture whose longest side is 320, 960 or 2400 px, smaller if the original is."""
    if side_px not in SIDES_PX:
        raise NotFound("picture of", f"{side_px} px")
    # Closed before the file is sent: a slow reader keeps no transaction open.
    one = _photograph(engine, viewer, photograph_id)
    return FileResponse(path_of_picture(here, one.sha256, side_px), media_type=JPEG)


@router.get("/parts/{level:int}/{row:int}/{column:int}", dependencies=[requires(Deed.READ)])
def part(
    here: Here,
    engine: Database,
    viewer: SignedIn,
    photograph_id: PathId,
    level: Place,
    row: Place,
    column: Place,
) -> Response:
    """Give one square part of the picture; level 0 is full size, each further one half of it."""
    one = _photograph(engine, viewer, photograph_id)
    content = part_of_picture(here, one.sha256, level=level, row=row, column=column)
    return Response(content, media_type=JPEG)


@router.get("/original", dependencies=[requires(Deed.READ)])
def original(here: Here, engine: Database, viewer: SignedIn, photograph_id: PathId) -> Response:
    """Give the file as it was sent, byte for byte, to be saved."""
    one = _photograph(engine, viewer, photograph_id)
    name = one.file_name or f"photograph-{one.id}"
    return FileResponse(
        path_of_original(here, one.sha256), media_type=one.media_type, filename=name
    )


def _photograph(engine: Database, viewer: Viewer, photograph_id: int) -> PhotographOnRecord:
    with read_session(engine) as session:
        return read_photograph(session, viewer, photograph_id)
