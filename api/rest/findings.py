"""Findings with their sightings, each put right or taken back; and notes of the bench."""

from typing import Annotated

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.mounts import VersionOut
from api.rest.record_shapes import FindingOut, findings_out
from api.rest.shapes import Id, In, Name, Note, Page, PathId
from api.rest.visit_shapes import Millimetres
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.finding_corrections import (
    correct_finding,
    correct_sighting,
    withdraw_finding,
    withdraw_note,
    withdraw_sighting,
)
from models.actions.work_records import load_records
from models.errors import NotFound
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.outlines import on_pictures_of_work
from models.tables.visit_notes import visit_note_rows
from models.tables.visits import Inscription, LayerTest, Treatment
from models.vocabulary import CauseMount, Change, Edge, Mechanism, Severity, Side

router = APIRouter(prefix="/api", tags=["findings"], route_class=Route)


class FindingChange(In):
    """A merge patch of a finding: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"term": "tide line"}]})

    term: Name | None = None
    side: Side | None = None
    edge: Edge | None = None
    mm: Millimetres | None = None
    follows_window_edge: bool | None = None
    cause_mechanism: Mechanism | None = None
    cause_mount: CauseMount | None = None
    cause_mount_id: Id | None = None


class SightingChange(In):
    """A merge patch of a sighting: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"severity": "slight"}]})

    severity: Severity | None = None
    change: Change | None = None
    mm: Millimetres | None = None
    extent_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    note: Note | None = None


@router.get("/works/{work_id}/findings", dependencies=[requires(Deed.READ)])
def findings(session: ReadSession, viewer: SignedIn, work_id: PathId) -> Page[FindingOut]:
    """List the findings on a work, each with every sighting."""
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    notes = visit_note_rows(session, viewer, [work_id])
    pictures = on_pictures_of_work(session, viewer, work_id)
    return Page(items=findings_out(records, notes, pictures), next=None)


@router.patch("/findings/{finding_id}", dependencies=[requires(Deed.CORRECT_CLOSED_VISIT)])
def finding_put_right(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    finding_id: PathId,
    seen: VersionSeen,
    told: FindingChange,
    response: Response,
) -> VersionOut:
    """Put a finding right."""
    changes, day = told.model_dump(exclude_unset=True), day_number(today)
    version = correct_finding(session, viewer, finding_id, changes, based_on=seen, today=day)
    set_etag(response, version)
    return VersionOut(id=finding_id, version=version)


@router.patch("/sightings/{sighting_id}", dependencies=[requires(Deed.CORRECT_CLOSED_VISIT)])
def sighting_put_right(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    sighting_id: PathId,
    seen: VersionSeen,
    told: SightingChange,
    response: Response,
) -> VersionOut:
    """Put right what was seen of a finding at one visit."""
    changes, day = told.model_dump(exclude_unset=True), day_number(today)
    version = correct_sighting(session, viewer, sighting_id, changes, based_on=seen, today=day)
    set_etag(response, version)
    return VersionOut(id=sighting_id, version=version)


@router.post(
    "/findings/{finding_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)]
)
def finding_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, finding_id: PathId, why: ReasonIn
) -> None:
    """Take back a finding that never was, with its sightings."""
    withdraw_finding(session, viewer, finding_id, why.reason, today=day_number(today))


@router.post(
    "/sightings/{sighting_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)]
)
def sighting_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, sighting_id: PathId, why: ReasonIn
) -> None:
    """Take back what was seen of a finding at one visit."""
    withdraw_sighting(session, viewer, sighting_id, why.reason, today=day_number(today))


@router.post(
    "/layer-tests/{test_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)]
)
def test_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, test_id: PathId, why: ReasonIn
) -> None:
    """Take back a bench test that never was made."""
    day = day_number(today)
    withdraw_note(session, viewer, LayerTest, test_id, why.reason, today=day)


@router.post(
    "/inscriptions/{inscription_id}/withdraw",
    status_code=204,
    dependencies=[requires(Deed.WITHDRAW)],
)
def inscription_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, inscription_id: PathId, why: ReasonIn
) -> None:
    """Take back an inscription that was misread."""
    day = day_number(today)
    withdraw_note(session, viewer, Inscription, inscription_id, why.reason, today=day)


@router.post(
    "/treatments/{treatment_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)]
)
def treatment_withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, treatment_id: PathId, why: ReasonIn
) -> None:
    """Take back a treatment that never was done."""
    day = day_number(today)
    withdraw_note(session, viewer, Treatment, treatment_id, why.reason, today=day)
