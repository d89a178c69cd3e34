"""When was each place last walked round or checked, what did one walk find, and what is next?

Only for who may see every work: a walk tells of a whole room.
"""

from collections import Counter
from collections.abc import Collection
from typing import NamedTuple

from sqlalchemy import and_, case, func, literal, not_, or_, union_all
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


class WorkThere(NamedTuple):
    """A work that is in a place now: what one must know to find it and look at it."""

    work_id: int
    number: str
    title: str
    maker: str
    height_um: int | None
    width_um: int | None
    place_id: int


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
    is_current = and_(~col(Stay.ended), col(Stay.withdrawn_reason).is_(None))
    each = columns(col(Stay.place_id)).where(is_current)
    if not sees_all_works(viewer):
        of_works = each.join(Work, col(Work.id) == col(Stay.work_id))
        return Counter(session.execute(of_works.where(visible_works(viewer))).scalars())
    # All within one index, then the few that are off the register taken away.
    counted = each.add_columns(func.count()).group_by(col(Stay.place_id))
    off_register = columns(col(Work.id)).where(not_(visible_works(viewer)))
    off = each.add_columns(literal(-1)).where(col(Stay.work_id).in_(off_register))
    there = Counter[int]()
    for place_id, number in session.execute(union_all(counted, off)):
        there[place_id] += number
    return +there


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


def walks_before(session: Session, viewer: Viewer, place_id: int) -> tuple[int, int | None]:
    """Return the key of the walk recorded last anywhere, 0 for none, and the last day here."""
    if not sees_all_works(viewer):
        return 0, None
    here = case((col(Walk.place_id) == place_id, col(Walk.on_first)))
    found = columns(func.coalesce(func.max(col(Walk.id)), 0), func.max(here))
    newest, last_here = session.execute(found).one()
    return newest, last_here


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


def works_there(session: Session, viewer: Viewer, place_ids: Collection[int]) -> list[WorkThere]:
    """Return the works that are now in one of these places, by number."""
    is_there = and_(col(Stay.work_id) == col(Work.id), ~col(Stay.ended))
    found = columns(
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(Work.maker),
        col(Work.height_um),
        col(Work.width_um),
        col(Stay.place_id),
    )
    found = found.join_from(Work, Stay, is_there)
    found = found.where(visible_works(viewer), col(Stay.withdrawn_reason).is_(None))
    found = found.where(col(Stay.place_id).in_(place_ids)).order_by(col(Work.number))
    return [WorkThere._make(row) for row in session.execute(found)]


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
