"""The tree of places: houses, rooms, walls, boxes, with their use, climate and light."""

from collections.abc import Mapping

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import after_number
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import Figure, In, Name, Note, Out, Page, PagingAsked, PathId
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.place_changes import add_place, change_place
from models.actions.places import PlaceOnRecord, PlaceTold, list_places, read_place
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.place_tree import FIGURES
from models.vocabulary import PlaceUse

router = APIRouter(prefix="/api/places", tags=["places"], route_class=Route)


class PlaceIn(In):
    """A place with all that is around it; what it does not say it takes from there."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"path": "Gannet House", "temperature_c": 18, "rh_percent": 55},
                {"path": "Gannet House / Stair / North wall", "use": "display", "lux": 80},
            ]
        }
    )

    path: Name
    use: PlaceUse | None = None
    temperature_c: Figure | None = None
    rh_percent: Figure | None = None
    lux: Figure | None = None
    hours_per_day: Figure | None = None
    days_per_year: Figure | None = None
    uv_uw_per_lm: Figure | None = None
    note: Note = ""


class PlaceChange(In):
    """A merge patch: what is absent stays, null takes it from around again."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"lux": 50, "rh_percent": None}, {"path": "Tern House"}]}
    )

    path: Name | None = None
    use: PlaceUse | None = None
    temperature_c: Figure | None = None
    rh_percent: Figure | None = None
    lux: Figure | None = None
    hours_per_day: Figure | None = None
    days_per_year: Figure | None = None
    uv_uw_per_lm: Figure | None = None
    note: Note | None = None


class EffectiveOut(Out):
    """What holds in a place, with the place that said each figure; null: a default."""

    use: PlaceUse
    temperature_c: float
    rh_percent: float
    lux: float
    hours_per_day: float
    days_per_year: float
    uv_uw_per_lm: float
    said_by: Mapping[str, str | None]


class PlaceOut(Out):
    """A place: what it says itself, and what holds there."""

    id: int
    version: int
    path: str
    use: PlaceUse | None
    temperature_c: float | None
    rh_percent: float | None
    lux: float | None
    hours_per_day: float | None
    days_per_year: float | None
    uv_uw_per_lm: float | None
    note: str
    effective: EffectiveOut


def place_out(place: PlaceOnRecord) -> PlaceOut:
    """Return a place as it is sent."""
    held = {name: getattr(place.effective, name) for name in FIGURES}
    effective = EffectiveOut(**held, said_by=place.said_by)
    return PlaceOut(id=place.id, version=place.version, effective=effective, **vars(place.told))


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_PLACES)])
def add(session: WriteSession, viewer: SignedIn, told: PlaceIn, response: Response) -> PlaceOut:
    """Add a place to what is around it."""
    place = add_place(session, viewer, PlaceTold(**dict(told)))
    response.headers["Location"] = f"/api/places/{place.id}"
    set_etag(response, place.version)
    return place_out(place)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(session: ReadSession, viewer: SignedIn, paging: PagingAsked) -> Page[PlaceOut]:
    """List the places, each right before what is in it."""
    places = list_places(session, viewer)
    # A cursor counts, for a place may be renamed between two pages.
    start = after_number(paging) or 0
    rows = [(n, place) for n, place in enumerate(places, start=1) if n > start]
    return paging.page(rows, lambda row: (row[0],), lambda row: place_out(row[1]))


@router.get("/{place_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, place_id: PathId, response: Response) -> PlaceOut:
    """Read one place."""
    place = read_place(session, viewer, place_id)
    set_etag(response, place.version)
    return place_out(place)


@router.patch("/{place_id}", dependencies=[requires(Deed.KEEP_PLACES)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    place_id: PathId,
    seen: VersionSeen,
    told: PlaceChange,
    response: Response,
) -> PlaceOut:
    """Rename a place, put it elsewhere, or change its use, climate or light."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(place_out):
        place = change_place(
            session, viewer, place_id, changes, based_on=seen, today=day_number(today)
        )
    set_etag(response, place.version)
    return place_out(place)
