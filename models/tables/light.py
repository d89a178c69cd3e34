"""Which works hang where, how do they bear light, and what glazing is in front of them?

A list by what is left of the year must look at all works at once. Those that hang in one
place since before the year, alike in class and glazing, have one and the same year: they are
counted, and named only for the page that shows them. What is pending in the session must
have been flushed.
"""

from collections.abc import Collection, Sequence
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Integer,
    Select,
    SQLColumnExpression,
    Subquery,
    and_,
    bindparam,
    func,
    or_,
)
from sqlalchemy import select as columns
from sqlalchemy.orm import aliased
from sqlmodel import Session, col

from models.tables.case_rows import Statement, StayRow
from models.tables.kept_statements import WANTED, ask, send
from models.tables.materials import MaterialFigures
from models.tables.mounts import Layer, Mount
from models.tables.visible import THE_HOUSE, Viewer, visible_works
from models.tables.works import Stay, Technique, Work
from models.vocabulary import LayerRole


class HangingRow(NamedTuple):
    """A work in its place; `uv_block_percent` is that of its glazing, the best where several."""

    work_id: int
    place_id: int
    recorded_on: int | None
    light_class: int | None
    process_group: str | None
    uv_block_percent: float | None


class WorkHanging(NamedTuple):
    """A work in its place, and whether its own year must be looked at: it came, or was reglazed."""

    work_id: int
    place_id: int
    light_class: int | None
    process_group: str | None
    uv_block_percent: float | None
    is_changed: bool


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


def hanging_counts(
    session: Session,
    viewer: Viewer,
    lit: Collection[int],
    *,
    with_uv: Collection[int],
    before: int,
) -> list[tuple[Alike, int]]:
    """Return how many works that the viewer may see hang alike in these places since before a day.

    What a glazing blocks is asked only in the places where there is ultraviolet.
    """
    glazed = _blocked_by_work(with_uv).subquery()
    group = (col(Stay.place_id), _CLASS, col(Technique.process_group), glazed.c.blocked)
    found = _hanging(columns(*group, func.count()), viewer, glazed, lit)
    found = found.where(col(Stay.since_first) < before).group_by(*group)
    return [(Alike(*alike), count) for *alike, count in session.connection().execute(found)]


def hanging_rows(
    session: Session, viewer: Viewer, lit: Collection[int], *, with_uv: Collection[int], since: int
) -> list[HangingRow]:
    """Return the works that came into one of these places since a day, or nobody knows when.

    Of those that the viewer may see.
    """
    glazed = _blocked_by_work(with_uv).subquery()
    what = (col(Work.id), col(Stay.place_id), col(Work.recorded_on))
    found = columns(*what, _CLASS, col(Technique.process_group), glazed.c.blocked)
    is_new = or_(col(Stay.since_first).is_(None), col(Stay.since_first) >= since)
    found = _hanging(found, viewer, glazed, lit).where(is_new)
    return [HangingRow(*row) for row in session.connection().execute(found)]


def works_hanging(session: Session, works: Sequence[int], *, since: int) -> list[WorkHanging]:
    """Return those of these works that are in a place, whoever asks.

    Changed are those that came there since a day, or nobody knows when, and those whose
    glazing came or went since then.
    """
    sent = ask(session, _WORKS_HANGING, works, since=since)
    return [WorkHanging(*row) for row in sent]


def works_alike(
    session: Session,
    viewer: Viewer,
    groups: Sequence[Alike],
    *,
    with_uv: Collection[int],
    before: int,
    start: int = 0,
    limit: int,
) -> list[tuple[int, Alike]]:
    """Return works of these groups, in the order of their keys, each with its group."""
    places = {one.place_id for one in groups}
    glazed = _blocked_by_work(places & set(with_uv)).subquery()
    group = (col(Stay.place_id), _CLASS, col(Technique.process_group), glazed.c.blocked)
    is_asked = or_(*(_is_alike(group, one) for one in groups))
    found = _hanging(columns(col(Work.id), *group), viewer, glazed, places)
    found = found.where(col(Stay.since_first) < before, is_asked)
    rows = session.connection().execute(found.order_by(col(Work.id)).offset(start).limit(limit))
    return [(work_id, Alike(*alike)) for work_id, *alike in rows]


def _is_alike(group: Sequence[SQLColumnExpression[Any]], alike: Alike) -> ColumnElement[bool]:
    return and_(
        *(part.is_not_distinct_from(value) for part, value in zip(group, alike, strict=True))
    )


def _hanging(
    found: Select[*tuple[Any, ...]], viewer: Viewer, glazed: Subquery, lit: Collection[int]
) -> Select[*tuple[Any, ...]]:
    """Join the works that the viewer may see in these places with what is asked of them."""
    found = found.select_from(Work).join(Stay, _IS_CURRENT_STAY).outerjoin(Technique)
    found = found.outerjoin(glazed, glazed.c.work_id == col(Work.id))
    return found.where(visible_works(viewer), col(Stay.place_id).in_(lit))


_BLOCKED = func.max(col(MaterialFigures.uv_block_percent)).label("blocked")


def _blocked_by_work(places: Collection[int]) -> Select[int, float | None]:
    """Return what the glazing of each work in these places blocks, by its newest figures."""
    found = columns(col(Stay.work_id), _BLOCKED).select_from(Stay)
    found = found.join(Mount, col(Mount.work_id) == col(Stay.work_id))
    found = _blocked(found, (Stay, Mount, Layer), col(Layer.material_id))
    found = found.where(col(Stay.place_id).in_(places))
    return found.group_by(col(Stay.work_id))


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


def recent_stay_rows(session: Session, viewer: Viewer, *, since: int) -> list[StayRow]:
    """Return all stays since a day of the works whose present stay began then or later.

    Oldest first, also those of which nobody knows when they began or ended.
    """
    now = aliased(Stay)
    is_new = or_(col(now.since_first).is_(None), col(now.since_first) >= since)
    moved = columns(col(now.work_id)).where(
        ~col(now.ended), col(now.withdrawn_reason).is_(None), is_new
    )
    found = columns(*(getattr(Stay, name) for name in StayRow._fields)).join(Work)
    found = found.where(visible_works(viewer), col(Stay.work_id).in_(moved))
    reaches = or_(~col(Stay.ended), col(Stay.ended_last).is_(None), col(Stay.ended_last) >= since)
    found = found.where(col(Stay.withdrawn_reason).is_(None), reaches)
    order = (col(Stay.work_id), col(Stay.ended).desc(), col(Stay.since_first).nulls_first())
    rows = session.connection().execute(found.order_by(*order, col(Stay.id)))
    return [StayRow(*row) for row in rows]


def numbers_of(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> dict[int, tuple[str, str]]:
    """Return number and title of these works."""
    rows = send(session, viewer, _numbers, work_ids)
    return {work_id: (number, title) for work_id, number, title in rows}


def _numbers(visible: ColumnElement[bool]) -> Statement:
    found = columns(col(Work.id), col(Work.number), col(Work.title))
    return found.where(visible, col(Work.id).in_(WANTED))


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
