"""What happened to works besides their mounts, and when must they be looked at again?

An incident names a place, or works by their numbers, and when it was. It is recorded on
one form; its works are due after a week, a month and three months.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed
from api.pages.dates_said import date_said
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    edtf,
    faults_beside,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.incidents import (
    IncidentOnRecord,
    IncidentTold,
    correct_incident,
    list_incidents,
    read_incident,
    record_incident,
    withdraw_incident,
)
from models.actions.places import place_paths
from models.errors import BadValue, Fault, Stale
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.tables.incident_reach import FollowUpRow
from models.tables.register import works_numbered
from models.tables.visible import Viewer

router = APIRouter(prefix="/incidents", route_class=Route)

SEE_OTHER = 303
A_PAGE = 50
FIELDS = ("kind", "on", "place", "works", "note")
CORRECTED = ("kind", "note")
# What usually happens; anything else can be written.
USUAL = ("leak", "flood", "fall", "broken glass", "insects", "heating failure", "smoke", "theft")

QueryLine = Annotated[str, Query(max_length=500)]


@dataclass(frozen=True)
class IncidentRow:
    """One incident in the list."""

    id: int
    kind: str
    on: str
    place: str
    works: int
    open_looks: int


@dataclass(frozen=True)
class IncidentsPage:
    """What templates/incidents/list.html is given."""

    rows: tuple[IncidentRow, ...]
    goes_on_at: str
    may_record: bool


@dataclass(frozen=True)
class NewIncidentPage:
    """What templates/incidents/form.html is given."""

    typed: Mapping[str, str]
    places: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    usual: tuple[str, ...] = USUAL


@dataclass(frozen=True)
class LookAsked:
    """One look that an incident asks for; `visit_id` is the one that made it."""

    due_on: int | None
    visit_id: int | None


@dataclass(frozen=True)
class WorkReached:
    """A work that an incident reached, with its looks."""

    id: int
    number: str
    looks: tuple[LookAsked, ...]


@dataclass(frozen=True)
class IncidentPage:
    """What templates/incidents/incident.html is given."""

    incident: IncidentOnRecord
    on: str
    works: tuple[WorkReached, ...]
    version: int
    typed: Mapping[str, str]
    may_correct: bool
    may_withdraw: bool
    reason: str = ""
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()
    usual: tuple[str, ...] = USUAL


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    before: Annotated[int | None, Query(ge=1, le=2**31)] = None,
) -> Response:
    """Show the incidents, the last recorded first."""
    found, on = list_incidents(session, viewer, limit=A_PAGE, before=before)
    page = IncidentsPage(
        rows=tuple(_row(incident) for incident in found),
        goes_on_at="" if on is None else f"/incidents?before={on}",
        may_record=may(viewer.role, Deed.RECORD_INCIDENT),
    )
    return show(request, "incidents/list.html", page)


@router.get("/new", dependencies=[requires(Deed.RECORD_INCIDENT)])
def new_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    place: QueryLine = "",
) -> Response:
    """Ask what happened, when and where."""
    typed = {**dict.fromkeys(FIELDS, ""), "on": day(today), "place": place}
    return show(request, "incidents/form.html", _new_page(session, viewer, typed))


@router.post("/new", dependencies=[requires(Deed.RECORD_INCIDENT)])
def new_sent(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Record what happened."""
    page = _new_page(session, viewer, typed_in(form, FIELDS))
    answers = Answers(form)
    try:
        works = answers.read("works", lambda text: _works(session, viewer, text)) or ()
        told = IncidentTold(
            kind=answers.text("kind"),
            on=answers.needed("on", edtf, ""),
            place=answers.if_typed("place"),
            works=works,
            note=answers.text("note"),
        )
        answers.refuse()
        incident = record_incident(session, viewer, told, today=day_number(today))
    except Refusal as error:
        faults = faults_beside(error, FIELDS, {"in_the_future": "on"})
        return show(request, "incidents/form.html", replace(page, faults=faults), REFUSED)
    return RedirectResponse(f"/incidents/{incident.id}", SEE_OTHER)


@router.get("/{incident_id:int}", dependencies=[requires(Deed.READ)])
def one(request: Request, session: ReadSession, viewer: SignedIn, incident_id: PathId) -> Response:
    """Show an incident with the works it reached and the looks it asks for."""
    incident = read_incident(session, viewer, incident_id)
    return show(request, "incidents/incident.html", _page(viewer, incident))


@router.post("/{incident_id:int}", dependencies=[requires(Deed.RECORD_INCIDENT)])
def corrected(
    request: Request, session: WriteSession, viewer: SignedIn, incident_id: PathId, form: Typed
) -> Response:
    """Correct the kind or the note."""
    incident = read_incident(session, viewer, incident_id)
    typed = typed_in(form, CORRECTED)
    page = replace(_page(viewer, incident), typed=typed)
    seen = version_in(form)
    try:
        form.require_clean()
        correct_incident(session, viewer, incident_id, dict(typed), based_on=seen)
    except Stale as error:
        now = {"kind": incident.kind, "note": incident.note}
        quicker = replace(
            page,
            faults=(Fault("", error.message),),
            differences=differences({"kind": "kind", "note": "note"}, typed, now),
        )
        return show(request, "incidents/incident.html", quicker, STALE)
    except Refusal as error:
        refused = replace(page, version=seen, faults=faults_beside(error, CORRECTED))
        return show(request, "incidents/incident.html", refused, REFUSED)
    return RedirectResponse(f"/incidents/{incident_id}", SEE_OTHER)


@router.post("/{incident_id:int}/withdraw", dependencies=[requires(Deed.WITHDRAW)])
def withdrawn(
    request: Request, session: WriteSession, viewer: SignedIn, incident_id: PathId, form: Typed
) -> Response:
    """Take back an incident that never was."""
    incident = read_incident(session, viewer, incident_id)
    try:
        form.require_clean()
        withdraw_incident(session, viewer, incident_id, form["reason"])
    except Refusal as error:
        faults = (Fault("/reason", error.message),)
        page = replace(_page(viewer, incident), reason=form["reason"], faults=faults)
        return show(request, "incidents/incident.html", page, REFUSED)
    return RedirectResponse("/incidents", SEE_OTHER)


def _row(incident: IncidentOnRecord) -> IncidentRow:
    looks = incident.follow_ups
    return IncidentRow(
        id=incident.id,
        kind=incident.kind,
        on=date_said(incident.on),
        place=incident.place or "",
        works=len({look.work_id for look in looks}),
        open_looks=sum(look.done_by_visit_id is None for look in looks),
    )


def _new_page(session: Session, viewer: Viewer, typed: Mapping[str, str]) -> NewIncidentPage:
    return NewIncidentPage(typed, place_paths(session, viewer))


def _works(session: Session, viewer: Viewer, text: str) -> tuple[int, ...]:
    """Return the works of these numbers, one to a line or between semicolons."""
    numbers = [part.strip() for part in text.replace(";", "\n").split("\n") if part.strip()]
    known = {work.number: work.id or 0 for work in works_numbered(session, viewer, numbers)}
    missing = [number for number in numbers if number not in known]
    if missing:
        message = f"There is no work {', '.join(missing)}."
        raise BadValue.at("", message, "Write one number to a line.")
    return tuple(known[number] for number in dict.fromkeys(numbers))


def _page(viewer: Viewer, incident: IncidentOnRecord) -> IncidentPage:
    return IncidentPage(
        incident=incident,
        on=date_said(incident.on),
        works=tuple(_reached(incident.follow_ups)),
        version=incident.version,
        typed={"kind": incident.kind, "note": incident.note},
        may_correct=may(viewer.role, Deed.RECORD_INCIDENT),
        may_withdraw=may(viewer.role, Deed.WITHDRAW),
    )


def _reached(looks: Iterable[FollowUpRow]) -> Iterable[WorkReached]:
    for (key, number), those in groupby(looks, lambda look: (look.work_id, look.work_number)):
        asked = tuple(LookAsked(look.due_on, look.done_by_visit_id) for look in those)
        yield WorkReached(key, number, asked)
