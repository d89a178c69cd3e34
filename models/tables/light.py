"""Which works hang where, how do they bear light, and which of them must come down?

Works that hang in one place since before the year, alike in class and glazing, have one and
the same year. The day by which a work must come down is stored with its forecast, so that a
list looks at no more works than it shows. What is pending in the session must have been
flushed.
"""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Integer,
    Select,
    SQLColumnExpression,
    and_,
    bindparam,
    func,
    or_,
)
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.tables.case_rows import Statement
from models.tables.forecasts import Forecast
from models.tables.kept_statements import WANTED, ask
from models.tables.materials import MaterialFigures
from models.tables.mounts import Layer, Mount
from models.tables.visible import THE_HOUSE, Viewer, visible_works
from models.tables.works import Stay, Technique, Work
from models.vocabulary import LayerRole

# Nobody reads a list of more; counting on would take longer the larger the collection is.
MOST_COUNTED = 1_000


class WorkHanging(NamedTuple):
    """A work in its place, and whether its own year must be looked at: it came, or was reglazed."""

    work_id: int
    place_id: int
    light_class: int | None
    process_group: str | None
    uv_block_percent: float | None
    is_changed: bool


class WorkToTakeDown(NamedTuple):
    """A work that must come down for its light."""

    work_id: int
    number: str
    title: str


class ToTakeDown(NamedTuple):
    """Some of the works that must come down, and how many there are, counted out or at least."""

    works: tuple[WorkToTakeDown, ...]
    counted: int
    is_counted_out: bool


class Alike(NamedTuple):
    """What works have in common that hang in one place since before this year."""

    place_id: int
    light_class: int | None
    process_group: str | None
    uv_block_percent: float | None


_IS_CURRENT_STAY = and_(
    col(Stay.work_id) == col(Work.id), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
)


_CLASS = func.coalesce(col(Work.light_class), col(Technique.light_class))


def works_hanging(session: Session, works: Sequence[int], *, since: int) -> list[WorkHanging]:
    """Return those of these works that are in a place, whoever asks.

    Changed are those that came there since a day, or nobody knows when, and those whose
    glazing came or went since then.
    """
    sent = ask(session, _WORKS_HANGING, works, since=since)
    return [WorkHanging(*row) for row in sent]


def works_to_take_down(
    session: Session, viewer: Viewer, *, limit: int, start: int = 0
) -> ToTakeDown:
    """Return the works for whose light a day is stored, soonest first, from a place in the list."""
    found = columns(col(Work.id), col(Work.number), col(Work.title))
    found = found.join_from(Forecast, Work, col(Work.id) == col(Forecast.work_id))
    found = found.where(visible_works(viewer), col(Forecast.take_down_on).is_not(None))
    ordered = found.order_by(col(Forecast.take_down_on), col(Forecast.work_id))
    shown = session.execute(ordered.offset(start).limit(limit))
    works = tuple(WorkToTakeDown._make(row) for row in shown)
    counted = columns(func.count()).select_from(found.limit(MOST_COUNTED + 1).subquery())
    count: int = session.execute(counted).scalar_one()
    return ToTakeDown(works, min(count, MOST_COUNTED), count <= MOST_COUNTED)


_BLOCKED = func.max(col(MaterialFigures.uv_block_percent)).label("blocked")


def _blocked(
    found: Select[int, float | None],
    present: Sequence[type[Stay | Mount | Layer]],
    material_id: SQLColumnExpression[int | None],
) -> Select[int, float | None]:
    """Join mounts with the newest figures of their glazings, of what is there now."""
    editions = columns(
        col(MaterialFigures.material_id), func.max(col(MaterialFigures.edition)).label("last")
    )
    newest = editions.group_by(col(MaterialFigures.material_id)).subquery()
    is_newest = and_(
        col(MaterialFigures.material_id) == newest.c.material_id,
        col(MaterialFigures.edition) == newest.c.last,
    )
    found = found.join(Layer, col(Layer.package_id) == col(Mount.package_id))
    found = found.join(newest, newest.c.material_id == material_id)
    found = found.join(MaterialFigures, is_newest).where(col(Layer.role) == LayerRole.GLAZING)
    for table in present:
        found = found.where(~col(table.ended), col(table.withdrawn_reason).is_(None))
    return found


_SINCE: BindParameter[int] = bindparam("since", type_=Integer)


def _is_reglazed() -> ColumnElement[bool]:
    """Say whether a glazing came to a work or went since a day, or nobody knows when it went."""
    days = (
        col(Mount.mounted_last) >= _SINCE,
        and_(col(Mount.ended), func.coalesce(col(Mount.dismounted_first), _SINCE) >= _SINCE),
        col(Layer.fitted_first) >= _SINCE,
        and_(col(Layer.ended), func.coalesce(col(Layer.removed_first), _SINCE) >= _SINCE),
    )
    found = columns(col(Layer.id)).join(Mount, col(Mount.package_id) == col(Layer.package_id))
    found = found.where(col(Mount.work_id) == col(Work.id), col(Layer.role) == LayerRole.GLAZING)
    return found.where(or_(*days)).correlate(Work).exists()


def _works_hanging() -> Statement:
    mounts = columns(col(Mount.work_id), _BLOCKED).select_from(Mount)
    # Begun from the works that are asked for: "+ 0" keeps SQLite from beginning with materials.
    glazed = _blocked(mounts, (Mount, Layer), col(Layer.material_id) + 0)
    blocked = glazed.where(col(Mount.work_id).in_(WANTED)).group_by(col(Mount.work_id)).subquery()
    is_new = or_(col(Stay.since_first).is_(None), col(Stay.since_first) >= _SINCE)
    what = (col(Work.id), col(Stay.place_id), _CLASS, col(Technique.process_group))
    found = columns(*what, blocked.c.blocked, or_(is_new, _is_reglazed()))
    found = found.select_from(Work).join(Stay, _IS_CURRENT_STAY).outerjoin(Technique)
    found = found.outerjoin(blocked, blocked.c.work_id == col(Work.id))
    return found.where(visible_works(THE_HOUSE), col(Work.id).in_(WANTED))


_WORKS_HANGING = _works_hanging()
