"""Lots: the deliveries of a material, and the one in use."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import In, Name, Note, Out, Page, PathId
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Edtf
from api.routes import Route
from models.actions.lots import (
    LotOnRecord,
    LotTold,
    add_lot,
    change_lot,
    list_lots,
    read_lot,
    use_lot,
)
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(prefix="/api", tags=["lots"], route_class=Route)


class LotIn(In):
    """A delivery; taken into use, it puts away the lot that was."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"number": "L-118", "received": "2026-10", "in_use": True, "note": ""}]
        }
    )

    number: Name
    received: Edtf | None = None
    in_use: bool = False
    note: Note = ""


class LotChange(In):
    """A merge patch: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"note": "two corners bent"}]})

    number: Name | None = None
    received: Edtf | None = None
    in_use: bool | None = None
    note: Note | None = None


class LotOut(Out):
    """A lot; recalled also when its whole material is."""

    id: int
    version: int
    material: int
    number: str
    received: str | None
    in_use: bool
    note: str
    recalled: bool


def lot_out(lot: LotOnRecord) -> LotOut:
    """Return a lot as it is sent."""
    return LotOut(
        id=lot.id,
        version=lot.version,
        material=lot.material_id,
        recalled=lot.is_recalled,
        **vars(lot.told),
    )


@router.post(
    "/materials/{material_id}/lots", status_code=201, dependencies=[requires(Deed.KEEP_LOTS)]
)
def add(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    told: LotIn,
    response: Response,
) -> LotOut:
    """Add a delivery of a material."""
    lot = add_lot(session, viewer, material_id, LotTold(**dict(told)), today=day_number(today))
    response.headers["Location"] = f"/api/lots/{lot.id}"
    set_etag(response, lot.version)
    return lot_out(lot)


@router.get("/materials/{material_id}/lots", dependencies=[requires(Deed.READ)])
def listed(session: ReadSession, viewer: SignedIn, material_id: PathId) -> Page[LotOut]:
    """List the lots of a material, the one in use first."""
    lots = list_lots(session, viewer, material_id)
    return Page(items=[lot_out(lot) for lot in lots], next=None)


@router.get("/lots/{lot_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, lot_id: PathId, response: Response) -> LotOut:
    """Read one lot."""
    lot = read_lot(session, viewer, lot_id)
    set_etag(response, lot.version)
    return lot_out(lot)


@router.patch("/lots/{lot_id}", dependencies=[requires(Deed.KEEP_LOTS)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    lot_id: PathId,
    seen: VersionSeen,
    told: LotChange,
    response: Response,
) -> LotOut:
    """Correct a lot, or take it into use."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(lot_out):
        lot = change_lot(session, viewer, lot_id, changes, based_on=seen, today=day_number(today))
    set_etag(response, lot.version)
    return lot_out(lot)


@router.post("/lots/{lot_id}/use", dependencies=[requires(Deed.KEEP_LOTS)])
def use(session: WriteSession, viewer: SignedIn, lot_id: PathId) -> LotOut:
    """Take a lot into use; the one that was in use is put away."""
    return lot_out(use_lot(session, viewer, lot_id))
