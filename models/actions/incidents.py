"""What happened to works besides their mounts: a leak, a fall, insects, broken glass?

An incident names a place or works, and a half-known day or span. Of a place it
reaches every work that may have been there then. Each is looked at again after
a week, a month and three months; a look that was made already is not asked for
again. Where an incident reached is not corrected: it is withdrawn and recorded anew.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.named_records import place_at
from models.actions.places import place_tree
from models.actions.record_changes import (
    date_columns,
    key_of,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.errors import BadValue, RuleBroken
from models.rules.calendar_days import add_months
from models.rules.half_known_dates import HalfKnownDate, in_words, read_date
from models.rules.permissions import Deed, require
from models.rules.place_tree import PlaceTree
from models.rules.record_values import Faults, a_name, a_note
from models.tables.incident_reach import (
    FollowUpRow,
    follow_up_rows,
    get_incident,
    incidents_page,
    visits_since,
)
from models.tables.places import FollowUp, Incident, IncidentWork
from models.tables.register import get_works_to_change, works_that_were_in
from models.tables.visible import Viewer

LONGEST_KIND = 100
# After water or a fall, harm shows within days (mould), weeks (tide lines dry) or months
# (cockling, loosened hinges): common practice, no source.
DAYS_TO_FIRST_LOOK = 7
MONTHS_TO_LATER_LOOKS = (1, 3)


@dataclass(frozen=True, kw_only=True)
class IncidentTold:
    """An incident as told: a place, or works by key, and when (EDTF, a day or a span)."""

    kind: str
    on: str
    place: str | None = None
    works: tuple[int, ...] = ()
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class IncidentOnRecord:
    """An incident as it is shown, with the looks it asks for."""

    id: int
    version: int
    kind: str
    on: str
    place: str | None
    note: str
    follow_ups: tuple[FollowUpRow, ...]


@dataclass(frozen=True, kw_only=True)
class _Correction:
    kind: str
    note: str = ""


def _refuse_future(on: HalfKnownDate, today: int) -> None:
    if on.first_day is not None and on.first_day > today:
        message = f"{in_words(on)} has not come yet; record an incident once it has happened."
        raise RuleBroken(message, "in_the_future")


def record_incident(
    session: Session, viewer: Viewer, told: IncidentTold, *, today: int
) -> IncidentOnRecord:
    """Record what happened, and when its works must be looked at again.

    Raises BadValue, UnknownWord, NotFound, RuleBroken (`in_the_future`).
    """
    require(viewer.role, Deed.RECORD_INCIDENT)
    tree = place_tree(session)
    columns, on, place_id = _read(tree, told)
    _refuse_future(on, today)
    if told.works:
        work_ids = list(get_works_to_change(session, viewer, told.works))
    else:
        work_ids = _works_of_place(session, viewer, tree, place_id, on)
    incident = Incident(kind="", on_edtf="")
    write(incident, columns)
    session.add(incident)
    session.flush()
    _ask_for_looks(session, viewer, incident, work_ids, today)
    return _shown(session, viewer, [incident])[0]


def correct_incident(
    session: Session,
    viewer: Viewer,
    incident_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
) -> IncidentOnRecord:
    """Correct the kind or the note of an incident. Raises NotFound, Stale, BadValue."""
    require(viewer.role, Deed.RECORD_INCIDENT)
    incident = get_incident(session, viewer, incident_id, to_change=True)
    refuse_stale(incident, based_on, theirs=_shown(session, viewer, [incident])[0])
    told = merged(_Correction(kind=incident.kind, note=incident.note), changes)
    faults = Faults()
    columns = _words(faults, told.kind, told.note)
    faults.refuse()
    write(incident, columns)
    session.flush()
    return _shown(session, viewer, [incident])[0]


def withdraw_incident(session: Session, viewer: Viewer, incident_id: int, reason: str) -> None:
    """Take back an incident that never was; it asks for no look any more."""
    require(viewer.role, Deed.WITHDRAW)
    withdraw(get_incident(session, viewer, incident_id, to_change=True), reason)
    session.flush()


def list_incidents(
    session: Session, viewer: Viewer, *, limit: int = 50, before: int | None = None
) -> tuple[list[IncidentOnRecord], int | None]:
    """Return a page of the incidents, the last recorded first, and the key to go on before."""
    require(viewer.role, Deed.READ)
    rows = incidents_page(session, viewer, limit=limit + 1, before=before)
    shown = _shown(session, viewer, rows[:limit])
    return shown, shown[-1].id if len(rows) > limit else None


def read_incident(session: Session, viewer: Viewer, incident_id: int) -> IncidentOnRecord:
    """Return one incident. Raises NotFound when it is not this person's to see."""
    require(viewer.role, Deed.READ)
    return _shown(session, viewer, [get_incident(session, viewer, incident_id)])[0]


def _read(
    tree: PlaceTree, told: IncidentTold
) -> tuple[dict[str, object], HalfKnownDate, int | None]:
    faults = Faults()
    columns = _words(faults, told.kind, told.note)
    on = faults.read("/on", read_date, told.on)
    place_id = faults.read_if_given("/place", lambda path: place_at(tree, path), told.place)
    if told.place is None and not told.works:
        message = "An incident names the place where it happened, or the works it reached."
        faults.note("", BadValue.at("/place", message))
    faults.refuse()
    assert on is not None, "a wrong date was refused"
    return {**columns, **date_columns("on", on), "place_id": place_id}, on, place_id


def _words(faults: Faults, kind: str, note: str) -> dict[str, object]:
    return {
        "kind": faults.read("/kind", a_name("kind of incident", LONGEST_KIND), kind),
        "note": faults.read("/note", a_note, note),
    }


def _works_of_place(
    session: Session, viewer: Viewer, tree: PlaceTree, place_id: int | None, on: HalfKnownDate
) -> list[int]:
    assert place_id is not None, "an incident has works or a place"
    works = works_that_were_in(
        session,
        viewer,
        tree.below(place_id),
        first_day=on.first_day,
        last_day=on.last_day,
    )
    return [key_of(work) for work in works]


def _ask_for_looks(
    session: Session, viewer: Viewer, incident: Incident, work_ids: Collection[int], today: int
) -> None:
    days = _days_of_looks(incident, today)
    visits = visits_since(session, viewer, work_ids, days[0])
    reached = [IncidentWork(incident_id=key_of(incident), work_id=key) for key in work_ids]
    session.add_all(reached)
    session.flush()
    for one in reached:
        for due_on in days:
            made = (key for day, key in visits.get(one.work_id, ()) if day >= due_on)
            follow_up = FollowUp(incident_work_id=key_of(one), due_on=due_on)
            follow_up.done_by_visit_id = next(made, None)
            session.add(follow_up)
    session.flush()


def _days_of_looks(incident: Incident, today: int) -> tuple[int, ...]:
    # Counted from the last day it may have been; of a span that still runs, from today.
    last = today if incident.on_last is None else min(incident.on_last, today)
    later = (add_months(last, months) for months in MONTHS_TO_LATER_LOOKS)
    return (last + DAYS_TO_FIRST_LOOK, *later)


def _shown(
    session: Session, viewer: Viewer, incidents: Collection[Incident]
) -> list[IncidentOnRecord]:
    tree = place_tree(session)
    asked: dict[int, list[FollowUpRow]] = {}
    for row in follow_up_rows(session, viewer, [key_of(incident) for incident in incidents]):
        asked.setdefault(row.incident_id, []).append(row)
    return [
        IncidentOnRecord(
            id=key_of(incident),
            version=incident.version,
            kind=incident.kind,
            on=incident.on_edtf,
            place=None if incident.place_id is None else tree.path(incident.place_id),
            note=incident.note,
            follow_ups=tuple(asked.get(key_of(incident), ())),
        )
        for incident in incidents
    ]
