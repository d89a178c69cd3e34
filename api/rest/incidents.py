"""Incidents: a leak, a fall, insects, broken glass; what they reached and when to look again."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import after_number, page_of
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import LONGEST_LIST, Id, In, Name, Note, Out, Page, PagingAsked, PathId
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Edtf
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.incidents import (
    IncidentOnRecord,
    IncidentTold,
    correct_incident,
    list_incidents,
    read_incident,
    record_incident,
    withdraw_incident,
)
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.tables.incident_reach import FollowUpRow

router = APIRouter(prefix="/api/incidents", tags=["incidents"], route_class=Route)


class IncidentIn(In):
    """What happened, when (EDTF, a day or a span), and in which place or to which works."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"kind": "leak", "on": "2026-11-10", "place": "Gannet House / Stair"},
                {"kind": "fall", "on": "2026-11-24", "works": [41], "note": "nail gave way"},
            ]
        }
    )

    kind: Name
    on: Edtf
    place: Name | None = None
    works: list[Id] = Field(default=[], max_length=LONGEST_LIST)
    note: Note = ""


class IncidentChange(In):
    """A merge patch of kind and note; an incident that reached elsewhere is recorded anew."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"kind": "burst pipe"}]})

    kind: Name | None = None
    note: Note | None = None


class FollowUpOut(Out):
    """One look that an incident asks for; `visit` is the one that made it."""

    due_on: str | None
    visit: int | None


class ReachedOut(Out):
    """A work that an incident reached, with its looks."""

    id: int
    number: str
    follow_ups: list[FollowUpOut]


class IncidentOut(Out):
    """An incident, with the works it reached as far as whoever asks sees them."""

    id: int
    version: int
    kind: str
    on: str
    place: str | None
    note: str
    works: list[ReachedOut]


def incident_out(incident: IncidentOnRecord) -> IncidentOut:
    """Return an incident as it is sent."""
    reached: dict[tuple[int, str], list[FollowUpOut]] = {}
    for row in incident.follow_ups:
        reached.setdefault((row.work_id, row.work_number), []).append(_follow_up_out(row))
    return IncidentOut(
        id=incident.id,
        version=incident.version,
        kind=incident.kind,
        on=incident.on,
        place=incident.place,
        note=incident.note,
        works=[
            ReachedOut(id=key, number=number, follow_ups=looks)
            for (key, number), looks in reached.items()
        ],
    )


def _follow_up_out(row: FollowUpRow) -> FollowUpOut:
    due_on = None if row.due_on is None else day_date(row.due_on).isoformat()
    return FollowUpOut(due_on=due_on, visit=row.done_by_visit_id)


@router.post("", status_code=201, dependencies=[requires(Deed.RECORD_INCIDENT)])
def add(
    session: WriteSession, viewer: SignedIn, today: Today, told: IncidentIn, response: Response
) -> IncidentOut:
    """Record what happened; its works are due after a week, a month and three months."""
    given = IncidentTold(**{**dict(told), "works": tuple(told.works)})
    incident = record_incident(session, viewer, given, today=day_number(today))
    response.headers["Location"] = f"/api/incidents/{incident.id}"
    set_etag(response, incident.version)
    return incident_out(incident)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(session: ReadSession, viewer: SignedIn, paging: PagingAsked) -> Page[IncidentOut]:
    """List the incidents, the last recorded first."""
    found, on = list_incidents(session, viewer, limit=paging.limit, before=after_number(paging))
    return page_of([incident_out(incident) for incident in found], None if on is None else (on,))


@router.get("/{incident_id}", dependencies=[requires(Deed.READ)])
def one(
    session: ReadSession, viewer: SignedIn, incident_id: PathId, response: Response
) -> IncidentOut:
    """Read one incident."""
    incident = read_incident(session, viewer, incident_id)
    set_etag(response, incident.version)
    return incident_out(incident)


@router.patch("/{incident_id}", dependencies=[requires(Deed.RECORD_INCIDENT)])
def correct(
    session: WriteSession,
    viewer: SignedIn,
    incident_id: PathId,
    seen: VersionSeen,
    told: IncidentChange,
    response: Response,
) -> IncidentOut:
    """Correct the kind or the note of an incident."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(incident_out):
        incident = correct_incident(session, viewer, incident_id, changes, based_on=seen)
    set_etag(response, incident.version)
    return incident_out(incident)


@router.post("/{incident_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def withdrawn(session: WriteSession, viewer: SignedIn, incident_id: PathId, why: ReasonIn) -> None:
    """Take back an incident that never was."""
    withdraw_incident(session, viewer, incident_id, why.reason)
