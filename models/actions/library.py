"""What is in the library of materials, with newest figures, lots in use and open recalls?

One statement, built once: the bench asks for it whenever a layer is to be swapped.
"""

from typing import Any

from sqlalchemy import Row, and_, exists, func, or_
from sqlalchemy import select as columns
from sqlmodel import Session, col

from models.rules.fit_choices import LibraryMaterial
from models.rules.proposed_package import StockMaterial
from models.rules.record_values import size_mm
from models.tables.materials import Lot, Material, MaterialFigures, Recall
from models.vocabulary import PatResult

_YES_OR_NO = {"yes": True, "no": False}


def library(session: Session) -> tuple[LibraryMaterial, ...]:
    """Return every material, by name. What is pending in the session must have been flushed."""
    return tuple(_material(row) for row in session.connection().execute(_LIBRARY))


def _material(row: Row[*tuple[Any, ...]]) -> LibraryMaterial:
    return LibraryMaterial(
        StockMaterial(
            name=row.name,
            kind=row.kind,
            grade=row.grade,
            hold_grade=row.hold_grade,
            thickness_mm=size_mm(row.thickness_um),
            ph=row.ph,
            alkaline_reserve_percent=row.alkaline_reserve_percent,
            kappa=row.kappa,
            buffered=_YES_OR_NO.get(row.buffered or ""),
            pat=row.pat or PatResult.NOT_TESTED,
            pat_day=row.pat_on,
            is_barrier=bool(row.barrier),
            frees_by=row.frees_by,
        ),
        lot=row.lot or "",
        is_recalled=bool(row.is_recalled),
    )


_NEWEST = (
    columns(func.max(col(MaterialFigures.edition)))
    .where(col(MaterialFigures.material_id) == col(Material.id))
    .correlate(Material)
    .scalar_subquery()
)
_RECALLED = (
    exists()
    .where(col(Recall.lifted_on).is_(None))
    .where(or_(col(Recall.material_id) == col(Material.id), col(Recall.lot_id) == col(Lot.id)))
    .correlate(Material, Lot)
)
_LIBRARY = (
    columns(
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
        col(Lot.number).label("lot"),
        _RECALLED.label("is_recalled"),
    )
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
