"""What is asked of a material whose fitness is judged, and how are the figures of a row read?

Its newest figures, its lot in use, and whether either was recalled: the library and what is
in stock ask for the same, each by a statement of its own.
"""

from typing import Any, Protocol, TypedDict, cast

from sqlalchemy import ColumnElement, Row, Select, and_, exists, func, or_
from sqlalchemy import select as columns
from sqlalchemy.orm import Mapped
from sqlmodel import col

from models.rules.proposed_package import StockMaterial
from models.rules.record_values import size_mm, yes_or_no
from models.tables.materials import Lot, Material, MaterialFigures, Recall
from models.vocabulary import Freeing, PatResult


class _RowWithFigures(Protocol):
    """A row with the figures of a material, sizes in micrometres, as tables keep them."""

    @property
    def thickness_um(self) -> int | None: ...
    @property
    def ph(self) -> float | None: ...
    @property
    def alkaline_reserve_percent(self) -> float | None: ...
    @property
    def kappa(self) -> float | None: ...
    @property
    def buffered(self) -> str | None: ...
    @property
    def pat(self) -> PatResult | None: ...
    @property
    def pat_on(self) -> int | None: ...
    @property
    def barrier(self) -> bool | None: ...
    @property
    def frees_by(self) -> Freeing | None: ...


class FiguresTold(TypedDict):
    """The figures of a material in the words of the rules; lengths in mm, shares in percent."""

    thickness_mm: float | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    buffered: bool | None
    pat: PatResult
    pat_day: int | None
    is_barrier: bool
    frees_by: Freeing | None


def figures_told(row: _RowWithFigures) -> FiguresTold:
    """Return what the rules are told of the figures in a row: of a layer, or of the library."""
    return FiguresTold(
        thickness_mm=size_mm(row.thickness_um),
        ph=row.ph,
        alkaline_reserve_percent=row.alkaline_reserve_percent,
        kappa=row.kappa,
        buffered=yes_or_no(row.buffered),
        pat=row.pat or PatResult.NOT_TESTED,
        pat_day=row.pat_on,
        is_barrier=bool(row.barrier),
        frees_by=row.frees_by,
    )


def stock_material(row: Row[*tuple[Any, ...]]) -> StockMaterial:
    """Return the material of a row that `materials_with` has asked for."""
    return StockMaterial(
        name=row.name,
        kind=row.kind,
        grade=row.grade,
        hold_grade=row.hold_grade,
        **figures_told(cast(_RowWithFigures, row)),
    )


def materials_with(*more: ColumnElement[Any] | Mapped[Any]) -> Select[*tuple[Any, ...]]:
    """Return the statement for each material, newest figures and lot in use, and these besides."""
    return (
        columns(*_OF_EACH, *more)
        .select_from(Material)
        .outerjoin(
            MaterialFigures,
            and_(
                col(MaterialFigures.material_id) == col(Material.id),
                col(MaterialFigures.edition) == _NEWEST,
            ),
        )
        .outerjoin(Lot, and_(col(Lot.material_id) == col(Material.id), col(Lot.in_use)))
        .order_by(col(Material.name))
    )


_NEWEST = (
    columns(func.max(col(MaterialFigures.edition)))
    .where(col(MaterialFigures.material_id) == col(Material.id))
    .correlate(Material)
    .scalar_subquery()
)
_OF_EACH: tuple[Mapped[Any], ...] = (
    col(Material.name),
    col(Material.kind),
    *(
        col(column)
        for column in (
            MaterialFigures.grade,
            MaterialFigures.hold_grade,
            MaterialFigures.thickness_um,
            MaterialFigures.ph,
            MaterialFigures.alkaline_reserve_percent,
            MaterialFigures.kappa,
            MaterialFigures.buffered,
            MaterialFigures.pat,
            MaterialFigures.pat_on,
            MaterialFigures.barrier,
            MaterialFigures.frees_by,
        )
    ),
)
# Whether the material or its lot in use was recalled, and nobody has lifted it.
IS_RECALLED: ColumnElement[bool] = (
    exists()
    .where(col(Recall.lifted_on).is_(None))
    .where(or_(col(Recall.material_id) == col(Material.id), col(Recall.lot_id) == col(Lot.id)))
    .correlate(Material, Lot)
)
