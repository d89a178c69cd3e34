"""Where sheet and window are on a photograph, what a sighting covers and shows, for programs.

`If-Match: "0"` says that nothing was known before.
"""

from collections.abc import Sequence
from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import Response
from pydantic import ConfigDict, Field
from sqlmodel import Session

from api.dependencies import (
    Database,
    Here,
    ReadSession,
    SignedIn,
    WriteSession,
    requires,
)
from api.photograph_contrasts import read_contrast
from api.rest.if_match import VersionSeen, set_etag
from api.rest.record_shapes import ContrastOut, OutlineOut, contrast_out, outline_out
from api.rest.shapes import Id, In, Out, PathId
from api.rest.visit_shapes import OutlineIn
from api.routes import Route
from models.actions.finding_outlines import (
    fractions,
    known_corners,
    place_finding,
    record_corners,
    sheet_of,
    sheet_seen,
)
from models.actions.photograph_contrasts import keep_contrast
from models.actions.window_edges import (
    known_window_edge,
    record_window_edge,
    window_on_sheet,
    window_seen,
)
from models.errors import NotFound
from models.rules.permissions import Deed
from models.rules.sheet_corners import HIGHEST_FRACTION, LOWEST_FRACTION, Point
from models.rules.visit_as_told import ContrastTold
from models.tables.outlines import PhotographCorners, WindowEdge
from models.tables.photographs import get_photograph
from models.tables.register import get_work
from models.tables.visible import Viewer

router = APIRouter(prefix="/api", tags=["findings"], route_class=Route)

Fraction = Annotated[float, Field(ge=LOWEST_FRACTION, le=HIGHEST_FRACTION, allow_inf_nan=False)]

PartOfPicture = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]


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


class WindowEdgeIn(In):
    """The four corners of the mat's window, as those of a sheet; null takes them back."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"corners": [[0.21, 0.22], [0.79, 0.2], [0.8, 0.74], [0.19, 0.75]]}]
        }
    )

    corners: (
        Annotated[tuple[tuple[Fraction, Fraction], ...], Field(min_length=4, max_length=4)] | None
    )


class WindowEdgeOut(Out):
    """The edge of the window on a photograph.

    `corners` are fractions of the picture; `on_sheet_mm` the same in mm of the sheet, from its
    upper left as seen from the recto. Either is null where it is not known.
    """

    photograph: int
    version: int
    corners: list[tuple[float, float]] | None
    on_sheet_mm: list[tuple[float, float]] | None


class ContrastIn(In):
    """Where on a photograph the stain is, and clean paper beside it.

    Each is a pair of fractions of the upright picture, from its left and from its top. The
    server reads the colours there.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"photograph": 12, "stain": [0.31, 0.9], "clean": [0.31, 0.7]}]
        }
    )

    photograph: Id
    stain: tuple[PartOfPicture, PartOfPicture]
    clean: tuple[PartOfPicture, PartOfPicture]


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


@router.get("/photographs/{photograph_id}/window-edge", dependencies=[requires(Deed.READ)])
def window_edge(
    session: ReadSession, viewer: SignedIn, photograph_id: PathId, response: Response
) -> WindowEdgeOut:
    """Return where the edge of the mat's window is on a photograph."""
    get_photograph(session, viewer, photograph_id)
    row = known_window_edge(session, photograph_id)
    if row is None:
        raise NotFound("marked edge of a window on photograph", photograph_id)
    return _window_out(session, viewer, row, response)


@router.put("/photographs/{photograph_id}/window-edge", dependencies=[requires(Deed.RECORD_VISIT)])
def window_edge_said(
    session: WriteSession,
    viewer: SignedIn,
    photograph_id: PathId,
    seen: VersionSeen,
    told: WindowEdgeIn,
    response: Response,
) -> WindowEdgeOut:
    """Say where the edge of the mat's window is on a photograph, or take it back."""
    row = record_window_edge(session, viewer, photograph_id, told.corners or (), based_on=seen)
    return _window_out(session, viewer, row, response)


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


def _read_before(
    here: Here, engine: Database, viewer: SignedIn, sighting_id: PathId, told: ContrastIn
) -> ContrastTold:
    """Read both places before the transaction: what is slow never holds up whoever writes."""
    return read_contrast(here, engine, viewer, told.photograph, (told.stain, told.clean))


@router.put("/sightings/{sighting_id}/contrast", dependencies=[requires(Deed.RECORD_VISIT)])
def sighting_read(
    read: Annotated[ContrastTold, Depends(_read_before)],
    session: WriteSession,
    viewer: SignedIn,
    sighting_id: PathId,
    seen: VersionSeen,
    response: Response,
) -> ContrastOut:
    """Read from a photograph how far a stain is from clean paper beside it: indicative only."""
    row = keep_contrast(session, viewer, sighting_id, read, based_on=seen)
    set_etag(response, row.version)
    return contrast_out(row)


def _corners_out(row: PhotographCorners, response: Response) -> CornersOut:
    set_etag(response, row.version)
    return CornersOut(
        photograph=row.photograph_id, version=row.version, corners=list(fractions(row))
    )


def _window_out(
    session: Session, viewer: Viewer, row: WindowEdge, response: Response
) -> WindowEdgeOut:
    set_etag(response, row.version)
    photograph = get_photograph(session, viewer, row.photograph_id)
    sheet = sheet_of(get_work(session, viewer, photograph.work_id))
    seen = sheet_seen(photograph, known_corners(session, row.photograph_id), sheet)
    return WindowEdgeOut(
        photograph=row.photograph_id,
        version=row.version,
        corners=_rounded(window_seen(row, seen), 6),
        on_sheet_mm=_rounded(window_on_sheet(row, seen), 3),
    )


def _rounded(points: Sequence[Point], digits: int) -> list[tuple[float, float]] | None:
    return [(round(x, digits), round(y, digits)) for x, y in points] or None
