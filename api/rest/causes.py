"""Causes of findings that wait for a person's word, and that word."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.mounts import VersionOut
from api.rest.shapes import In, Out, Page, PathId
from api.routes import Route
from models.actions.finding_corrections import confirm_cause
from models.actions.suggested_causes import causes_to_confirm
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.vocabulary import CauseMount, Mechanism

router = APIRouter(prefix="/api", tags=["findings"], route_class=Route)


class SuggestedCauseOut(Out):
    """What is suggested as the cause of a finding; it is one when a person confirms it."""

    finding: int
    version: int
    mechanism: Mechanism
    mount: CauseMount
    layer: str
    sentence: str


class CauseConfirmedIn(In):
    """The cause; no mechanism and *cannot tell*: somebody looked, and it cannot be told.

    A mount to blame needs a mechanism: what is usual is only suggested, and this confirms it.
    """

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"mechanism": "acid migration", "mount": "this"}]}
    )

    mechanism: Mechanism | None = None
    mount: CauseMount


@router.get("/works/{work_id}/causes-to-confirm", dependencies=[requires(Deed.READ)])
def to_confirm(
    session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Page[SuggestedCauseOut]:
    """List the findings of a work whose cause nobody has confirmed."""
    found = causes_to_confirm(session, viewer, work_id, today=day_number(today))
    items = [
        SuggestedCauseOut(
            finding=one.finding_id,
            version=one.version,
            mechanism=one.cause.mechanism,
            mount=one.cause.mount,
            layer=one.cause.layer,
            sentence=one.cause.sentence,
        )
        for one in found
    ]
    return Page(items=items, next=None)


@router.post("/findings/{finding_id}/cause", dependencies=[requires(Deed.RECORD_VISIT)])
def confirmed(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    finding_id: PathId,
    seen: VersionSeen,
    told: CauseConfirmedIn,
    response: Response,
) -> VersionOut:
    """Say what caused a finding, and whose mount."""
    version = confirm_cause(
        session,
        viewer,
        finding_id,
        mechanism=told.mechanism,
        mount=told.mount,
        based_on=seen,
        today=day_number(today),
    )
    set_etag(response, version)
    return VersionOut(id=finding_id, version=version)
