"""Owners: whom works belong to."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.rest.cursors import after_number
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import In, Name, Out, Page, PagingAsked, PathId
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.owners import (
    OwnerTold,
    add_owner,
    change_owner,
    list_owners,
    read_owner,
)
from models.actions.record_changes import key_of
from models.rules.permissions import Deed
from models.tables.people import Owner

router = APIRouter(prefix="/api/owners", tags=["owners"], route_class=Route)


class OwnerIn(In):
    """An owner."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"name": "The Gannet House"}]})

    name: Name


class OwnerChange(In):
    """A merge patch: what is absent stays."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"name": "The Tern House"}]})

    name: Name | None = None


class OwnerOut(Out):
    """An owner."""

    id: int
    version: int
    name: str


def owner_out(owner: Owner) -> OwnerOut:
    """Return an owner as it is sent."""
    return OwnerOut(id=key_of(owner), version=owner.version, name=owner.name)


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_OWNERS)])
def add(session: WriteSession, viewer: SignedIn, told: OwnerIn, response: Response) -> OwnerOut:
    """Add an owner."""
    owner = add_owner(session, viewer, OwnerTold(name=told.name))
    response.headers["Location"] = f"/api/owners/{owner.id}"
    set_etag(response, owner.version)
    return owner_out(owner)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(session: ReadSession, viewer: SignedIn, paging: PagingAsked) -> Page[OwnerOut]:
    """List the owners, as they were added."""
    after = after_number(paging) or 0
    owners = sorted(list_owners(session, viewer), key=key_of)
    rest = [owner for owner in owners if key_of(owner) > after]
    return paging.page(rest, lambda owner: (key_of(owner),), owner_out)


@router.get("/{owner_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, owner_id: PathId, response: Response) -> OwnerOut:
    """Read one owner."""
    owner = read_owner(session, viewer, owner_id)
    set_etag(response, owner.version)
    return owner_out(owner)


@router.patch("/{owner_id}", dependencies=[requires(Deed.KEEP_OWNERS)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    owner_id: PathId,
    seen: VersionSeen,
    told: OwnerChange,
    response: Response,
) -> OwnerOut:
    """Give an owner another name."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(owner_out):
        owner = change_owner(session, viewer, owner_id, changes, based_on=seen)
    set_etag(response, owner.version)
    return owner_out(owner)
