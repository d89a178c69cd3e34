"""When was each place last walked round or checked, what did one walk find, and what is next?

Only for who may see every work: a walk tells of a whole room.
"""

from collections.abc import Collection
from typing import NamedTuple

from sqlalchemy import and_, func, or_
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.errors import NotFound
from models.tables.findings import Sighting
from models.tables.forecasts import Forecast
from models.tables.people import Person
from models.tables.places import Walk
from models.tables.visible import Viewer, sees_all_works, visible_works
from models.tables.visits import Visit
from models.tables.works import Stay, Work
from models.vocabulary import VisitKind


class OtherWalk(NamedTuple):
    """A walk that somebody else has recorded meanwhile."""

    walk_id: int
    place_id: int
    on_edtf: str
    by: str | None


class WalkVisit(NamedTuple):
    """A visit of a walk at which a work was not as before."""

    visit_id: int
    work_id: int
    number: str
    title: str


def get_walk(session: Session, viewer: Viewer, walk_id: int) -> Walk:
    """Return a walk. Raises NotFound."""
    walk = session.get(Walk, walk_id) if sees_all_works(viewer) else None
    if walk is None:
        raise NotFound("walk-round", walk_id)
    return walk


def last_walk_days(session: Session, viewer: Viewer) -> dict[int, int]:
    """Return the last day on which each place was walked round or checked, by place."""
    if not sees_all_works(viewer):
        return {}
    found = columns(col(Walk.place_id), func.max(col(Walk.on_first)))
    found = found.where(col(Walk.on_first).is_not(None)).group_by(col(Walk.place_id))
    return {place_id: day for place_id, day in session.execute(found)}


def works_by_place(session: Session, viewer: Viewer) -> dict[int, int]:
    """Return how many works are right in each place, by place; what is within it apart."""
    is_there = and_(col(Stay.work_id) == col(Work.id), ~col(Stay.ended))
    found = columns(col(Stay.place_id), func.count()).select_from(Work).join(Stay, is_there)
    found = found.where(visible_works(viewer), col(Stay.withdrawn_reason).is_(None))
    return {place_id: n for place_id, n in session.execute(found.group_by(col(Stay.place_id)))}


def count_looked_at(session: Session, viewer: Viewer, walk_id: int) -> int:
    """Return how many works a walk looked at."""
    found = columns(func.count()).select_from(Visit).join(Work, col(Work.id) == col(Visit.work_id))
    number: int = session.execute(
        found.where(visible_works(viewer), col(Visit.walk_id) == walk_id)
    ).scalar_one()
    return number


def visits_not_as_before(session: Session, viewer: Viewer, walk_id: int) -> list[WalkVisit]:
    """Return the visits of a walk that found something, by work number."""
    sighted = select(Sighting.id).where(Sighting.visit_id == Visit.id).exists()
    found = columns(col(Visit.id), col(Work.id), col(Work.number), col(Work.title))
    found = found.select_from(Visit).join(Work, col(Work.id) == col(Visit.work_id))
    found = found.where(visible_works(viewer), col(Visit.walk_id) == walk_id)
    said = or_(col(Visit.summary) != "", col(Visit.stop_why).is_not(None), sighted)
    return [
        WalkVisit._make(row)
        for row in session.execute(found.where(said).order_by(col(Work.number)))
    ]


def newest_walk_id(session: Session) -> int:
    """Return the key of the walk recorded last, 0 when there is none."""
    newest: int = session.execute(columns(func.coalesce(func.max(col(Walk.id)), 0))).scalar_one()
    return newest


def walks_since(
    session: Session, viewer: Viewer, place_ids: Collection[int], kind: VisitKind, *, after: int
) -> list[OtherWalk]:
    """Return the walks of these places recorded after the one with this key, the last first."""
    if not sees_all_works(viewer):
        return []
    found = columns(col(Walk.id), col(Walk.place_id), col(Walk.on_edtf), col(Person.name))
    found = found.select_from(Walk).outerjoin(Person, col(Person.id) == col(Walk.by_id))
    found = found.where(col(Walk.id) > after, col(Walk.place_id).in_(place_ids))
    found = found.where(col(Walk.kind) == kind).order_by(col(Walk.id).desc())
    return [OtherWalk._make(row) for row in session.execute(found)]


def places_of_works(session: Session, viewer: Viewer, place_ids: Collection[int]) -> dict[int, int]:
    """Return in which of these places each work is now, by work."""
    is_there = and_(col(Stay.work_id) == col(Work.id), ~col(Stay.ended))
    found = columns(col(Work.id), col(Stay.place_id)).select_from(Work).join(Stay, is_there)
    found = found.where(visible_works(viewer), col(Stay.withdrawn_reason).is_(None))
    rows = session.execute(found.where(col(Stay.place_id).in_(place_ids)))
    return {work_id: place_id for work_id, place_id in rows}


def numbers_of_works(session: Session, work_ids: Collection[int]) -> list[str]:
    """Return the numbers of these works, sorted."""
    found = columns(col(Work.number)).where(col(Work.id).in_(work_ids))
    return list(session.execute(found.order_by(col(Work.number))).scalars())


def next_days(session: Session, viewer: Viewer, walk: Walk) -> tuple[int | None, int | None]:
    """Return the first and the last day by which a walk's works are looked at again."""
    again = col(Forecast.look_on if walk.kind is VisitKind.LOOK else Forecast.box_check_on)
    found = columns(func.min(again), func.max(again)).select_from(Visit)
    found = found.join(Work, col(Work.id) == col(Visit.work_id))
    found = found.join(Forecast, col(Forecast.work_id) == col(Work.id))
    found = found.where(visible_works(viewer), col(Visit.walk_id) == walk.id)
    first, last = session.execute(found).one()
    return first, last
