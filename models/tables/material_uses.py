"""Where is a material, or one lot of it: in which layers, holds and treatments of which works?

A layer is used on every work that was in its package while it was fitted; by
half-known days only what certainly did not overlap is left out. A hold that
came off in part is still in use as long as something of it is left on the work.
One statement, whatever the number of uses; only works that the viewer may see. Building
such a statement costs more than sending it, so each is built once and kept.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    CompoundSelect,
    CursorResult,
    Integer,
    Select,
    Text,
    and_,
    bindparam,
    case,
    cast,
    func,
    literal,
    or_,
    tuple_,
)
from sqlalchemy import null as nothing
from sqlalchemy import select as columns
from sqlalchemy import type_coerce as as_type
from sqlmodel import Session, col, select

from models.tables.forecasts import Forecast
from models.tables.materials import Lot, MaterialFigures
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.terms import MountMethod
from models.tables.visible import Viewer, sees_all_works, visible_by_parameter, visible_works
from models.tables.visits import Treatment, TreatmentMaterial, Visit
from models.tables.works import Work
from models.vocabulary import (
    Distance,
    DueKind,
    KnownBy,
    LayerRole,
    LayerSide,
    Outcome,
    Verdict,
)

# The place of a use in the list: work number, kind of use, key of the row.
UseKey = tuple[str, str, int]
Rows = Select[*tuple[Any, ...]]


@dataclass(frozen=True)
class Target:
    """A material, or one lot of it."""

    material_id: int
    lot_id: int | None = None

    @property
    def is_lot(self) -> bool:
        """Whether one lot is meant, not the material in every lot."""
        return self.lot_id is not None


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


class LayerLying(NamedTuple):
    """A layer of the package that a work is in now, as far as it says what touches the work.

    `role` is None where the package has no layer; `is_asked` says that it is of what was asked
    for. What is equal in all but the work lies alike.
    """

    work_id: int
    floats: bool | None
    role: LayerRole | None
    side: LayerSide | None
    distance: Distance | None
    grade: str | None
    figures_grade: str | None
    known_by: KnownBy | None
    barrier: bool | None
    thickness_um: int | None
    is_asked: int


def uses_with_works(session: Session, viewer: Viewer, target: Target) -> list[UsedOn]:
    """Return every use on visible works, by work number, with verdict and next date."""
    rows = _send(session, viewer, target, _with_works)
    return [UsedOn(_use(row[: len(Use._fields)]), *row[len(Use._fields) :]) for row in rows]


def uses_page(
    session: Session, viewer: Viewer, target: Target, *, limit: int, after: UseKey | None = None
) -> list[Use]:
    """Return at most `limit` uses, by work number, kind and row."""
    if after is None:
        return [_use(row) for row in _send(session, viewer, target, _first_page, limit=limit)]
    given = dict(zip(_AFTER, after, strict=True))
    return [_use(row) for row in _send(session, viewer, target, _next_page, limit=limit, **given)]


class WorksCounted(NamedTuple):
    """On how many visible works something is now, and on how many it was formerly."""

    now: int
    formerly: int


def count_works(session: Session, viewer: Viewer, target: Target) -> WorksCounted:
    """Count the works on which a material or lot is or was, in one statement."""
    of_all, now = _send(session, viewer, target, _counted).one()
    return WorksCounted(now=int(now), formerly=int(of_all) - int(now))


def works_using(session: Session, viewer: Viewer, target: Target) -> list[Work]:
    """Return the works on which a material or lot is used now, by number."""
    uses = _uses(target.is_lot, sees_all_works(viewer)).subquery()
    keys = columns(uses.c.work_id).where(uses.c.is_current == 1)
    found = select(Work).where(visible_works(viewer), col(Work.id).in_(keys))
    given = _given(viewer, target)
    return list(session.exec(found.order_by(col(Work.number)), params=given))


def keys_of_works_using(session: Session, viewer: Viewer, target: Target) -> list[int]:
    """Return the keys of the works on which a material or lot is or was used, in their order."""
    return list(_send(session, viewer, target, _keys).scalars())


def layers_around(session: Session, viewer: Viewer, target: Target) -> list[LayerLying]:
    """Return, for each work that something is on now, the layers it lies between, front to back.

    Plain columns of one statement: a common material is on thousands of works.
    """
    return [LayerLying._make(row) for row in _send(session, viewer, target, _layers_around)]


def works_held(session: Session, viewer: Viewer, target: Target) -> set[int]:
    """Return the keys of the works that a material or lot holds now."""
    return set(_send(session, viewer, target, _held).scalars())


# From whether a lot is meant, and whether every work is seen, to a statement that is kept.
_Build = Callable[[bool, bool], Select[*tuple[Any, ...]]]


def _send(
    session: Session, viewer: Viewer, target: Target, build: _Build, **given: object
) -> CursorResult[*tuple[Any, ...]]:
    session.flush()
    statement = build(target.is_lot, sees_all_works(viewer))
    return session.connection().execute(statement, {**_given(viewer, target), **given})


def _given(viewer: Viewer, target: Target) -> dict[str, object]:
    return {
        "asked_id": target.lot_id if target.is_lot else target.material_id,
        "viewer_owner_id": viewer.owner_id,
    }


_ASKED: BindParameter[int] = bindparam("asked_id", type_=Integer)
_LIMIT: BindParameter[int] = bindparam("limit", type_=Integer)
_AFTER = ("after_number", "after_kind", "after_row")


@cache
def _with_works(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    stored = (col(Forecast.verdict), col(Forecast.due_on), col(Forecast.due_kind))
    asked = columns(uses, col(Work.title), *stored).select_from(uses)
    asked = asked.join(Work, col(Work.id) == uses.c.work_id)
    asked = asked.outerjoin(Forecast, col(Forecast.work_id) == uses.c.work_id)
    return asked.order_by(uses.c.work_number, uses.c.kind, uses.c.row_id)


@cache
def _first_page(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    return columns(uses).order_by(uses.c.work_number, uses.c.kind, uses.c.row_id).limit(_LIMIT)


@cache
def _next_page(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    order = (uses.c.work_number, uses.c.kind, uses.c.row_id)
    types = (Text, Text, Integer)
    after = tuple_(*(bindparam(n, type_=of) for n, of in zip(_AFTER, types, strict=True)))
    return columns(uses).where(tuple_(*order) > after).order_by(*order).limit(_LIMIT)


@cache
def _counted(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    by_work = columns(func.max(uses.c.is_current).label("is_current")).group_by(uses.c.work_id)
    found = by_work.subquery()
    asked = columns(func.count(), func.coalesce(func.sum(found.c.is_current), 0))
    return asked.select_from(found)


@cache
def _keys(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    return columns(uses.c.work_id).distinct().order_by(uses.c.work_id)


@cache
def _layers_around(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    uses = _uses(is_lot, all_works).subquery()
    current = columns(uses.c.work_id).where(uses.c.is_current == 1)
    newest = _newest_figures().subquery()
    found = columns(
        col(Mount.work_id),
        col(MountMethod.floats),
        *(getattr(Layer, name) for name in ("role", "side", "distance", "grade")),
        newest.c.grade,
        col(Layer.known_by),
        newest.c.barrier,
        newest.c.thickness_um,
        case((_is_of(is_lot, Layer), 1), else_=0),
    )
    found = found.select_from(Mount).join(Work, col(Work.id) == Mount.work_id)
    found = found.outerjoin(MountMethod, col(MountMethod.id) == Mount.method_id)
    lies_there = and_(
        col(Layer.package_id) == Mount.package_id,
        ~col(Layer.ended),
        col(Layer.withdrawn_reason).is_(None),
    )
    found = found.outerjoin(Layer, lies_there)
    found = found.outerjoin(newest, newest.c.material_id == col(Layer.material_id))
    found = found.where(visible_by_parameter(all_works=all_works), *_IS_MOUNTED)
    found = found.where(col(Mount.work_id).in_(current))
    return found.order_by(col(Mount.work_id), col(Layer.position), col(Layer.id))


def _newest_figures() -> Select[*tuple[Any, ...]]:
    # Of the whole library at once: there are fewer materials than layers of a common one.
    last = columns(
        col(MaterialFigures.material_id), func.max(col(MaterialFigures.edition)).label("edition")
    )
    last_of = last.group_by(col(MaterialFigures.material_id)).subquery()
    is_last = and_(
        col(MaterialFigures.material_id) == last_of.c.material_id,
        col(MaterialFigures.edition) == last_of.c.edition,
    )
    names = ("material_id", "grade", "barrier", "thickness_um")
    return columns(*(getattr(MaterialFigures, name) for name in names)).join(last_of, is_last)


@cache
def _held(is_lot: bool, all_works: bool) -> Select[*tuple[Any, ...]]:
    found = columns(col(Mount.work_id)).select_from(Hold).join(Mount)
    found = found.join(Work, col(Work.id) == Mount.work_id)
    found = found.where(visible_by_parameter(all_works=all_works), *_IS_MOUNTED)
    holds = or_(col(Hold.outcome).is_(None), col(Hold.outcome) == Outcome.TRIED_AND_LEFT)
    return found.where(_is_of(is_lot, Hold), holds, col(Hold.withdrawn_reason).is_(None))


_IS_MOUNTED = (~col(Mount.ended), col(Mount.withdrawn_reason).is_(None))


def _use(row: Sequence[Any]) -> Use:
    return Use._make((*row[:-1], bool(row[-1])))


@cache
def _uses(is_lot: bool, all_works: bool) -> CompoundSelect[*tuple[Any, ...]]:
    asked = [_layers(is_lot), _holds(is_lot)]
    if not is_lot:
        # Of a treatment only the material is recorded.
        asked.append(_treatments())
    visible = visible_by_parameter(all_works=all_works)
    first, *others = (part.where(visible) for part in asked)
    return first.union_all(*others)


def _layers(is_lot: bool) -> Rows:
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
    found = found.where(_is_of(is_lot, Layer), col(Layer.withdrawn_reason).is_(None))
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


def _holds(is_lot: bool) -> Rows:
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
    found = found.where(_is_of(is_lot, Hold), col(Hold.withdrawn_reason).is_(None))
    return found.where(col(Mount.withdrawn_reason).is_(None))


def _treatments() -> Rows:
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
    found = found.where(col(TreatmentMaterial.material_id) == _ASKED)
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


def _is_of(is_lot: bool, table: type[Layer] | type[Hold]) -> ColumnElement[bool]:
    return col(table.lot_id if is_lot else table.material_id) == _ASKED
