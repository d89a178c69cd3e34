"""Visits: a whole one told at once, and each put right, written up or taken back."""

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Body
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.record_shapes import (
    ConditionReportOut,
    ForecastOut,
    VisitOut,
    forecast_out,
    reports_out,
    visits_out,
)
from api.rest.shapes import In, Name, Note, Page, PathId
from api.rest.visit_shapes import Edtf, SightingIn, VisitIn
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.visit_corrections import correct_visit, withdraw_visit, write_up_visit
from models.actions.visits import get_visit, record_visit
from models.actions.work_records import WorkRecords, load_records
from models.errors import NotFound
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.outlines import on_pictures_of_work
from models.tables.visible import Viewer
from models.tables.visit_notes import visit_note_rows
from models.vocabulary import Shown

router = APIRouter(prefix="/api", tags=["visits"], route_class=Route)

LOOK = {
    "on": "2026-11-20",
    "kind": "look",
    "by": "R. Imaginary",
    "seen": ["front"],
    "report": {"summary": "As before."},
}
UNFRAMING = {
    "on": "2026-11-20",
    "kind": "unframing",
    "reason": "unframed to change the frame",
    "by": "R. Imaginary",
    "minutes": 40,
    "seen": ["front", "back of frame", "margins"],
    "report": {
        "summary": "The mat has browned the margin.",
        "sightings": [
            {
                "finding": None,
                "term": "mat burn",
                "side": "recto",
                "reach": {"edge": "left", "mm": 12, "follows_window_edge": True},
                "severity": "moderate",
                "change": "new",
                "cause": {"mechanism": "acid migration", "mount": "this"},
                "colours": [
                    {"L": 84.1, "a": 3.2, "b": 18.0, "spot": "stain"},
                    {"L": 92.0, "a": 0.1, "b": 7.5, "spot": "clean paper"},
                ],
            }
        ],
    },
    "dismount": {"freed_by": "water", "residue": "paste along the top edge", "reason": "remat"},
    "mount": {
        "method": "T-hinge",
        "holds": [
            {"material": "Wheat starch paste on Japanese paper", "position": "top", "count": 2}
        ],
        "layers": [
            {"role": "window mat", "material": "Cotton rag mat board, 4-ply, buffered"},
            {"role": "work"},
            {"role": "mount board", "material": "Cotton rag mat board, 4-ply, buffered"},
        ],
    },
    "based_on": 3,
}


class RecordedVisitOut(VisitOut):
    """A stored visit, the numbers of the parts told with a ref, and the forecast anew."""

    refs: dict[str, int]
    forecast: ForecastOut


class VisitChange(In):
    """A merge patch: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"on": "2019-03", "minutes": 25}]})

    on: Edtf | None = None
    reason: Note | None = None
    by: Name | None = None
    by_unknown_hand: bool | None = None
    minutes: Annotated[int, Field(ge=0, le=100_000, strict=True)] | None = None
    seen: Annotated[tuple[Shown, ...], Field(max_length=5)] | None = None
    summary: Note | None = None
    to_write_up: bool | None = None


class WriteUpIn(In):
    """What was left for later: words, what was seen, findings."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"summary": "Foxing below.", "seen": ["margins"]}]}
    )

    summary: Note = ""
    seen: Annotated[tuple[Shown, ...], Field(max_length=5)] = ()
    sightings: Annotated[tuple[SightingIn, ...], Field(max_length=1000)] = ()


@router.post("/works/{work_id}/visits", status_code=201, dependencies=[requires(Deed.RECORD_VISIT)])
def record(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    visit: Annotated[VisitIn, Body(examples=[UNFRAMING, LOOK])],
    response: Response,
) -> RecordedVisitOut:
    """Store a whole visit, all of it or nothing; the answer is the visit and the forecast anew."""
    day = day_number(today)
    stored = record_visit(session, viewer, work_id, visit.told(), today=day)
    visit_out = _one(session, viewer, stored.records, stored.visit_id)
    response.headers["Location"] = f"/api/visits/{stored.visit_id}"
    set_etag(response, visit_out.version)
    return RecordedVisitOut(
        **dict(visit_out),
        refs=dict(stored.refs),
        forecast=forecast_out(work_id, stored.forecast, today=day),
    )


@router.get("/works/{work_id}/visits", dependencies=[requires(Deed.READ)])
def visits(session: ReadSession, viewer: SignedIn, work_id: PathId) -> Page[VisitOut]:
    """List the visits to a work, oldest first."""
    records = _records(session, viewer, work_id)
    notes = visit_note_rows(session, viewer, [work_id])
    pictures = on_pictures_of_work(session, viewer, work_id)
    return Page(items=visits_out(records, notes, pictures), next=None)


@router.get("/works/{work_id}/condition-reports", dependencies=[requires(Deed.READ)])
def condition_reports(
    session: ReadSession, viewer: SignedIn, work_id: PathId
) -> Page[ConditionReportOut]:
    """List the condition reports of a work, oldest first."""
    records = _records(session, viewer, work_id)
    notes = visit_note_rows(session, viewer, [work_id])
    pictures = on_pictures_of_work(session, viewer, work_id)
    return Page(items=reports_out(records, notes, pictures), next=None)


@router.get("/visits/{visit_id}", dependencies=[requires(Deed.READ)])
def visit(session: ReadSession, viewer: SignedIn, visit_id: PathId, response: Response) -> VisitOut:
    """Show one visit."""
    return _shown(session, viewer, visit_id, response)


@router.patch("/visits/{visit_id}", dependencies=[requires(Deed.RECORD_VISIT)])
def correct(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    visit_id: PathId,
    seen: VersionSeen,
    told: VisitChange,
    response: Response,
) -> VisitOut:
    """Put a visit right; the old value stays in the log."""
    changes = told.model_dump(exclude_unset=True)
    if changes.get("seen") is not None:
        changes["seen"] = frozenset(changes["seen"])
    correct_visit(session, viewer, visit_id, changes, based_on=seen, today=day_number(today))
    return _shown(session, viewer, visit_id, response)


@router.post("/visits/{visit_id}/write-up", dependencies=[requires(Deed.RECORD_VISIT)])
def write_up(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    visit_id: PathId,
    told: WriteUpIn,
    response: Response,
) -> VisitOut:
    """Add to a visit what was left for later."""
    write_up_visit(
        session,
        viewer,
        visit_id,
        summary=told.summary,
        seen=frozenset(told.seen),
        sightings=tuple(s.told(f"/sightings/{i}") for i, s in enumerate(told.sightings)),
        today=day_number(today),
    )
    return _shown(session, viewer, visit_id, response)


@router.post("/visits/{visit_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, visit_id: PathId, why: ReasonIn
) -> None:
    """Take back a visit that never was, with all that it recorded."""
    withdraw_visit(session, viewer, visit_id, why.reason, today=day_number(today))


def _records(session: ReadSession, viewer: Viewer, work_id: int) -> WorkRecords:
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    return records


def _shown(session: ReadSession, viewer: Viewer, visit_id: int, response: Response) -> VisitOut:
    work_id = get_visit(session, viewer, visit_id).work_id
    shown = _one(session, viewer, _records(session, viewer, work_id), visit_id)
    set_etag(response, shown.version)
    return shown


def _one(session: ReadSession, viewer: Viewer, records: WorkRecords, visit_id: int) -> VisitOut:
    of_it = replace(
        records,
        visits=tuple(row for row in records.visits if row.id == visit_id),
        sightings=tuple(row for row in records.sightings if row.visit_id == visit_id),
    )
    if not of_it.visits:
        raise NotFound("visit", visit_id)
    notes = visit_note_rows(session, viewer, [records.work.id])
    pictures = on_pictures_of_work(session, viewer, records.work.id)
    return visits_out(of_it, notes, pictures)[0]
