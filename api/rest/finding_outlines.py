"""Where the sheet is on a photograph, and what a sighting covers, as programs see it.

`If-Match: "0"` says that nothing was known before.
"""

from typing import Annotated

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.record_shapes import OutlineOut, outline_out
from api.rest.shapes import In, Out, PathId
from api.rest.visit_shapes import OutlineIn
from api.routes import Route
from models.actions.finding_outlines import (
    fractions,
    known_corners,
    place_finding,
    record_corners,
)
from models.errors import NotFound
from models.rules.permissions import Deed
from models.rules.sheet_corners import HIGHEST_FRACTION, LOWEST_FRACTION
from models.tables.outlines import PhotographCorners
from models.tables.photographs import get_photograph

router = APIRouter(prefix="/api", tags=["findings"], route_class=Route)

Fraction = Annotated[float, Field(ge=LOWEST_FRACTION, le=HIGHEST_FRACTION, allow_inf_nan=False)]


class CornersIn(In):
    """The four corners of the sheet, clockwise from the upper left as they are seen.

    Each is a pair of fractions of the upright picture, from its left and from its top.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"corners": [[0.1, 0.12], [0.9, 0.08], [0.93, 0.9], [0.07, 0.86]]}]
        }
    )

    corners: Annotated[tuple[tuple[Fraction, Fraction], ...], Field(min_length=4, max_length=4)]


class CornersOut(Out):
    """The corners of the sheet on a photograph."""

    photograph: int
    version: int
    corners: list[tuple[float, float]]


@router.get("/photographs/{photograph_id}/corners", dependencies=[requires(Deed.READ)])
def corners(
    session: ReadSession, viewer: SignedIn, photograph_id: PathId, response: Response
) -> CornersOut:
    """Return where the sheet is on a photograph."""
    get_photograph(session, viewer, photograph_id)
    row = known_corners(session, photograph_id)
    if row is None:
        raise NotFound("sheet with known corners on photograph", photograph_id)
    return _corners_out(row, response)


@router.put("/photographs/{photograph_id}/corners", dependencies=[requires(Deed.RECORD_VISIT)])
def corners_said(
    session: WriteSession,
    viewer: SignedIn,
    photograph_id: PathId,
    seen: VersionSeen,
    told: CornersIn,
    response: Response,
) -> CornersOut:
    """Say where the sheet is on a photograph."""
    row = record_corners(session, viewer, photograph_id, told.corners, based_on=seen)
    return _corners_out(row, response)


@router.put("/sightings/{sighting_id}/outline", dependencies=[requires(Deed.RECORD_VISIT)])
def sighting_drawn(
    session: WriteSession,
    viewer: SignedIn,
    sighting_id: PathId,
    seen: VersionSeen,
    told: OutlineIn,
    response: Response,
) -> OutlineOut:
    """Say what a sighting that is on record covers."""
    row = place_finding(session, viewer, sighting_id, told.told(), based_on=seen)
    set_etag(response, row.version)
    return outline_out(row)


def _corners_out(row: PhotographCorners, response: Response) -> CornersOut:
    set_etag(response, row.version)
    return CornersOut(
        photograph=row.photograph_id, version=row.version, corners=list(fractions(row))
    )
