"""Which works were within reach of an incident, and which of its looks are still to be made?

Stands apart from the tables of places because who-sees-what needs the works: an
owner sees the incidents that reached a work of theirs, and of those no other work.
"""

from collections.abc import Collection
from typing import NamedTuple

from sqlalchemy import select as columns
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from models.errors import NotFound
from models.tables.places import FollowUp, Incident, IncidentWork
from models.tables.visible import Viewer, sees_all_works, visible_works
from models.tables.visits import Visit
from models.tables.works import Work


class FollowUpRow(NamedTuple):
    """One look that an incident asks for, with its work."""

    incident_id: int
    work_id: int
    work_number: str
    due_on: int | None
    done_by_visit_id: int | None


def incidents_page(
    session: Session, viewer: Viewer, *, limit: int, before: int | None = None
) -> list[Incident]:
    """Return at most `limit` incidents, the last recorded first."""
    found = select(Incident).where(col(Incident.withdrawn_reason).is_(None))
    if not sees_all_works(viewer):
        found = found.where(col(Incident.id).in_(_reached(viewer)))
    if before is not None:
        found = found.where(col(Incident.id) < before)
    return list(session.exec(found.order_by(col(Incident.id).desc()).limit(limit)))


def get_incident(
    session: Session, viewer: Viewer, incident_id: int, *, to_change: bool = False
) -> Incident:
    """Return one incident, held if it is to be changed.

    Raises NotFound when it reached nothing that this person may see.
    """
    found = select(Incident).where(Incident.id == incident_id)
    found = found.where(col(Incident.withdrawn_reason).is_(None))
    if not sees_all_works(viewer):
        found = found.where(col(Incident.id).in_(_reached(viewer)))
    if to_change:
        found = found.with_for_update().execution_options(populate_existing=True)
    incident = session.exec(found).first()
    if incident is None:
        raise NotFound("incident", incident_id)
    return incident


def follow_up_rows(
    session: Session, viewer: Viewer, incident_ids: Collection[int]
) -> list[FollowUpRow]:
    """Return the looks that these incidents ask for, by incident, work number and day."""
    found = columns(
        col(IncidentWork.incident_id),
        col(IncidentWork.work_id),
        col(Work.number),
        col(FollowUp.due_on),
        col(FollowUp.done_by_visit_id),
    )
    found = found.select_from(IncidentWork).join(Work, col(Work.id) == IncidentWork.work_id)
    found = found.join(FollowUp, col(FollowUp.incident_work_id) == IncidentWork.id)
    found = found.where(visible_works(viewer), col(IncidentWork.incident_id).in_(incident_ids))
    order = (col(IncidentWork.incident_id), col(Work.number), col(FollowUp.due_on))
    return [FollowUpRow(*row) for row in session.execute(found.order_by(*order))]


def _reached(viewer: Viewer) -> SelectOfScalar[int]:
    """Return the keys of the incidents that reached a work this person may see."""
    found = select(IncidentWork.incident_id).join(Work, col(Work.id) == IncidentWork.work_id)
    return found.where(visible_works(viewer))


def visits_since(
    session: Session, viewer: Viewer, work_ids: Collection[int], first_day: int
) -> dict[int, list[tuple[int, int]]]:
    """Return the visits of these works since a day, as (day, key), oldest first, by work."""
    found = select(Visit.work_id, Visit.on_first, Visit.id)
    found = found.join(Work, col(Work.id) == Visit.work_id)
    found = found.where(visible_works(viewer), col(Visit.work_id).in_(work_ids))
    found = found.where(col(Visit.withdrawn_reason).is_(None), col(Visit.on_first) >= first_day)
    since: dict[int, list[tuple[int, int]]] = {}
    for work_id, day, key in session.exec(found.order_by(col(Visit.on_first), col(Visit.id))):
        if day is not None and key is not None:
            since.setdefault(work_id, []).append((day, key))
    return since
