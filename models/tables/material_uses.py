"""Where is a material, or one lot of it: in which layers, holds and treatments of which works?

A layer is used on every work that was in its package while it was fitted; by
half-known days only what certainly did not overlap is left out. A hold that
came off in part is still in use as long as something of it is left on the work.
One statement, whatever the number of uses; only works that the viewer may see.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, Select, Text, and_, case, cast, func, literal, or_, tuple_
from sqlalchemy import null as nothing
from sqlalchemy import select as columns
from sqlalchemy import type_coerce as as_type
from sqlmodel import Session, col, select

from models.tables.forecasts import Forecast
from models.tables.materials import Lot
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.visible import Viewer, visible_works
from models.tables.visits import Treatment, TreatmentMaterial, Visit
from models.tables.works import Work
from models.vocabulary import DueKind, Verdict

# The place of a use in the list: work number, kind of use, key of the row.
UseKey = tuple[str, str, int]
Rows = Select[*tuple[Any, ...]]


@dataclass(frozen=True)
class Target:
    """A material, or one lot of it."""

    material_id: int
    lot_id: int | None = None


class Use(NamedTuple):
    """One use on one work; `place` is the role of a layer, or where a hold is."""

    work_number: str
    kind: str
    row_id: int
    work_id: int
    place: str
    lot: str | None
    since_edtf: str | None
    until_edtf: str | None
    is_current: bool


class UsedOn(NamedTuple):
    """One use with what a list says of its work, and what is stored of its next date."""

    use: Use
    title: str
    verdict: Verdict | None
    due_on: int | None
    due_kind: DueKind | None


def uses_with_works(session: Session, viewer: Viewer, target: Target) -> list[UsedOn]:
    """Return every use on visible works, by work number, with verdict and next date."""
    uses = _uses(viewer, target).subquery()
    stored = (col(Forecast.verdict), col(Forecast.due_on), col(Forecast.due_kind))
    asked = columns(uses, col(Work.title), *stored).select_from(uses)
    asked = asked.join(Work, col(Work.id) == uses.c.work_id)
    asked = asked.outerjoin(Forecast, col(Forecast.work_id) == uses.c.work_id)
    rows = session.execute(asked.order_by(uses.c.work_number, uses.c.kind, uses.c.row_id))
    return [UsedOn(_use(row[: len(Use._fields)]), *row[len(Use._fields) :]) for row in rows]


def uses_page(
    session: Session, viewer: Viewer, target: Target, *, limit: int, after: UseKey | None = None
) -> list[Use]:
    """Return at most `limit` uses, by work number, kind and row."""
    uses = _uses(viewer, target).subquery()
    asked = columns(uses)
    order = (uses.c.work_number, uses.c.kind, uses.c.row_id)
    if after is not None:
        asked = asked.where(tuple_(*order) > after)
    rows = session.execute(asked.order_by(*order).limit(limit))
    return [_use(row) for row in rows]


class WorksCounted(NamedTuple):
    """On how many visible works something is now, and on how many it was formerly."""

    now: int
    formerly: int


def count_works(session: Session, viewer: Viewer, target: Target) -> WorksCounted:
    """Count the works on which a material or lot is or was, in one statement."""
    uses = _uses(viewer, target).subquery()
    by_work = columns(func.max(uses.c.is_current).label("is_current")).group_by(uses.c.work_id)
    found = by_work.subquery()
    asked = columns(func.count(), func.coalesce(func.sum(found.c.is_current), 0))
    of_all, now = session.execute(asked.select_from(found)).one()
    return WorksCounted(now=int(now), formerly=int(of_all) - int(now))


def works_using(
    session: Session, viewer: Viewer, target: Target, *, current_only: bool = False
) -> list[Work]:
    """Return the works on which a material or lot is or was used, by number."""
    uses = _uses(viewer, target).subquery()
    keys = columns(uses.c.work_id)
    if current_only:
        keys = keys.where(uses.c.is_current == 1)
    found = select(Work).where(visible_works(viewer), col(Work.id).in_(keys))
    return list(session.exec(found.order_by(col(Work.number))))


def _use(row: Sequence[Any]) -> Use:
    return Use._make((*row[:-1], bool(row[-1])))


def _uses(viewer: Viewer, target: Target) -> Any:
    asked = [_layers(target), _holds(target)]
    if target.lot_id is None:
        # Of a treatment only the material is recorded.
        asked.append(_treatments(target))
    first, *others = (part.where(visible_works(viewer)) for part in asked)
    return first.union_all(*others)


def _layers(target: Target) -> Rows:
    is_current = case((and_(~col(Layer.ended), ~col(Mount.ended)), 1), else_=0)
    found: Rows = columns(
        *_begun("layer", col(Layer.id), as_type(col(Layer.role), Text)),
        col(Layer.fitted_edtf).label("since_edtf"),
        col(Layer.removed_edtf).label("until_edtf"),
        func.max(is_current).label("is_current"),
    )
    found = found.select_from(Layer).join(Mount, col(Mount.package_id) == Layer.package_id)
    found = found.join(Work, col(Work.id) == Mount.work_id)
    found = found.outerjoin(Lot, col(Lot.id) == Layer.lot_id)
    found = found.where(_is_of(target, Layer), col(Layer.withdrawn_reason).is_(None))
    found = found.where(col(Mount.withdrawn_reason).is_(None), _may_have_met())
    # A work may have been in the same package twice; its layer is listed once.
    return found.group_by(col(Layer.id), col(Work.id), col(Lot.id))


def _may_have_met() -> ColumnElement[bool]:
    """Leave out only what certainly was not in the package at the same time."""
    gone_before = and_(col(Layer.ended), col(Layer.removed_last) < col(Mount.mounted_first))
    came_after = and_(col(Mount.ended), col(Mount.dismounted_last) < col(Layer.fitted_first))
    return and_(_is_not(gone_before), _is_not(came_after))


def _is_not(condition: ColumnElement[bool]) -> ColumnElement[bool]:
    # A day that nobody knows makes the comparison neither true nor false: it may have been.
    return case((condition, 0), else_=1) == 1


def _holds(target: Target) -> Rows:
    left = select(Remain.id).where(
        Remain.hold_id == Hold.id, ~col(Remain.ended), col(Remain.withdrawn_reason).is_(None)
    )
    found: Rows = columns(
        *_begun("hold", col(Hold.id), col(Hold.position)),
        func.coalesce(col(Hold.since_edtf), col(Mount.mounted_edtf)).label("since_edtf"),
        col(Mount.dismounted_edtf).label("until_edtf"),
        case((or_(~col(Mount.ended), left.exists()), 1), else_=0).label("is_current"),
    )
    found = found.select_from(Hold).join(Mount, col(Mount.id) == Hold.mount_id)
    found = found.join(Work, col(Work.id) == Mount.work_id)
    found = found.outerjoin(Lot, col(Lot.id) == Hold.lot_id)
    found = found.where(_is_of(target, Hold), col(Hold.withdrawn_reason).is_(None))
    return found.where(col(Mount.withdrawn_reason).is_(None))


def _treatments(target: Target) -> Rows:
    found: Rows = columns(
        col(Work.number).label("work_number"),
        cast(literal("treatment"), Text).label("kind"),
        col(TreatmentMaterial.id).label("row_id"),
        col(Work.id).label("work_id"),
        cast(literal("on the work itself"), Text).label("place"),
        cast(nothing(), Text).label("lot"),
        col(Visit.on_edtf).label("since_edtf"),
        cast(nothing(), Text).label("until_edtf"),
        # What was put on a work stays there, as far as anybody knows.
        literal(1).label("is_current"),
    )
    found = found.select_from(TreatmentMaterial)
    found = found.join(Treatment, col(Treatment.id) == TreatmentMaterial.treatment_id)
    found = found.join(Visit, col(Visit.id) == Treatment.visit_id)
    found = found.join(Work, col(Work.id) == Visit.work_id)
    found = found.where(col(TreatmentMaterial.material_id) == target.material_id)
    return found.where(
        col(Treatment.withdrawn_reason).is_(None), col(Visit.withdrawn_reason).is_(None)
    )


def _begun(kind: str, row_id: Any, place: Any) -> tuple[Any, ...]:
    return (
        col(Work.number).label("work_number"),
        cast(literal(kind), Text).label("kind"),
        row_id.label("row_id"),
        col(Work.id).label("work_id"),
        place.label("place"),
        col(Lot.number).label("lot"),
    )


def _is_of(target: Target, table: type[Layer] | type[Hold]) -> ColumnElement[bool]:
    if target.lot_id is not None:
        return col(table.lot_id) == target.lot_id
    return col(table.material_id) == target.material_id
