"""Mounts, layers and holds of a work, each put right or taken back; and its forecast."""

from typing import Annotated, Any

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.record_shapes import ForecastOut, MountsOut, forecast_out, mounts_out
from api.rest.shapes import In, Name, Note, Out, PathId
from api.rest.visit_shapes import Count, Edtf, Line, Millimetres, Windows
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.forecasts import forecast_now
from models.actions.package_corrections import (
    correct_hold,
    correct_layer,
    correct_mount,
    withdraw_hold,
    withdraw_layer,
    withdraw_mount,
)
from models.actions.work_records import load_records
from models.errors import NotFound
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.vocabulary import Answer, Distance, KnownBy, LayerRole, LayerSide

router = APIRouter(prefix="/api", tags=["mounts"], route_class=Route)


class LayerChange(In):
    """A merge patch of a layer: what is absent stays, null clears."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"grade": "groundwood board", "known_by": "tested"}]}
    )

    role: LayerRole | None = None
    material: Name | None = None
    grade: Name | None = None
    lot: Name | None = None
    side: LayerSide | None = None
    distance: Distance | None = None
    known_by: KnownBy | None = None
    fitted_on: Edtf | None = None
    covers_all: bool | None = None
    belongs_to_work: bool | None = None
    windows: Windows | None = None
    note: Note | None = None


class HoldChange(In):
    """A merge patch of a hold: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"count": 3, "position": "top"}]})

    material: Name | None = None
    grade: Name | None = None
    adhesive_grade: Name | None = None
    lot: Name | None = None
    position: Line | None = None
    count: Count | None = None
    clearance_mm: Millimetres | None = None
    known_by: KnownBy | None = None
    since: Edtf | None = None
    covers_all: bool | None = None
    note: Note | None = None


class MountChange(In):
    """A merge patch of a mount: what is absent stays, null clears."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"mounted_on": "1985~", "front": "none"}]}
    )

    method: Name | None = None
    front: Annotated[Answer | None, Field(serialization_alias="in_front")] = None
    back: Annotated[Answer | None, Field(serialization_alias="behind")] = None
    held: Answer | None = None
    mounted_on: Edtf | None = None
    dismounted_on: Edtf | None = None
    harm_at_dismount: Note | None = None
    reason: Note | None = None
    note: Note | None = None


class VersionOut(Out):
    """The number of a record that was put right, and its new version."""

    id: int
    version: int


@router.get("/works/{work_id}/mounts", dependencies=[requires(Deed.READ)])
def mounts(session: ReadSession, viewer: SignedIn, work_id: PathId) -> MountsOut:
    """List the mounts of a work, oldest first, with their layers and holds."""
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    return mounts_out(records)


@router.get("/works/{work_id}/forecast", dependencies=[requires(Deed.READ)])
def forecast(session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId) -> ForecastOut:
    """Work out what is to be expected of a work, with what drives it and every step."""
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    day = day_number(today)
    return forecast_out(work_id, forecast_now(session, records, today=day), today=day)


@router.patch("/layers/{layer_id}", dependencies=[requires(Deed.CORRECT_CLOSED_VISIT)])
def layer_put_right(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    layer_id: PathId,
    seen: VersionSeen,
    told: LayerChange,
    response: Response,
) -> VersionOut:
    """Put a layer right."""
    day, changes = day_number(today), _said(told)
    if told.windows is not None:
        changes["windows"] = tuple(window.told() for window in told.windows)
    version = correct_layer(session, viewer, layer_id, changes, based_on=seen, today=day)
    return _answer(response, layer_id, version)


@router.patch("/holds/{hold_id}", dependencies=[requires(Deed.CORRECT_CLOSED_VISIT)])
def hold_put_right(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    hold_id: PathId,
    seen: VersionSeen,
    told: HoldChange,
    response: Response,
) -> VersionOut:
    """Put a hold right."""
    day = day_number(today)
    version = correct_hold(session, viewer, hold_id, _said(told), based_on=seen, today=day)
    return _answer(response, hold_id, version)


@router.patch("/mounts/{mount_id}", dependencies=[requires(Deed.CORRECT_CLOSED_VISIT)])
def mount_put_right(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    mount_id: PathId,
    seen: VersionSeen,
    told: MountChange,
    response: Response,
) -> VersionOut:
    """Put a mount right, and the answers of its package."""
    day = day_number(today)
    version = correct_mount(session, viewer, mount_id, _said(told), based_on=seen, today=day)
    return _answer(response, mount_id, version)


@router.post("/layers/{layer_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def layer_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, layer_id: PathId, why: ReasonIn
) -> None:
    """Take back a layer that never was."""
    withdraw_layer(session, viewer, layer_id, why.reason, today=day_number(today))


@router.post("/holds/{hold_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def hold_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, hold_id: PathId, why: ReasonIn
) -> None:
    """Take back a hold that never was."""
    withdraw_hold(session, viewer, hold_id, why.reason, today=day_number(today))


@router.post("/mounts/{mount_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def mount_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, mount_id: PathId, why: ReasonIn
) -> None:
    """Take back a mount that was found or inferred and never was."""
    withdraw_mount(session, viewer, mount_id, why.reason, today=day_number(today))


def _said(told: In) -> dict[str, Any]:
    return told.model_dump(exclude_unset=True, by_alias=True)


def _answer(response: Response, key: int, version: int) -> VersionOut:
    set_etag(response, version)
    return VersionOut(id=key, version=version)
