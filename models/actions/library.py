"""What is in the library of materials, with newest figures, lots in use and open recalls?

Statements built once: the bench asks whenever a layer is to be swapped, and for one layer
only for what it may be made of.
"""

from sqlalchemy import bindparam
from sqlmodel import Session, col

from models.actions.stock_materials import IS_RECALLED, materials_with, stock_material
from models.rules.fit_choices import KINDS, LibraryMaterial
from models.rules.package_verdict import HOLD
from models.tables.materials import Lot, Material, MaterialFigures
from models.vocabulary import LayerRole

_LIBRARY = materials_with(col(Lot.number).label("lot"), IS_RECALLED.label("is_recalled"))
_OF_KINDS = _LIBRARY.where(col(Material.kind).in_(bindparam("kinds", expanding=True)))
_HOLDS = _LIBRARY.where(col(MaterialFigures.hold_grade).is_not(None))


def library(session: Session, role: str | None = None) -> tuple[LibraryMaterial, ...]:
    """Return every material, or those that a layer of this role or a hold may be of, by name.

    `role` is that of a layer, or HOLD. What is pending in the session must have been flushed.
    """
    given = {"kinds": list(KINDS.get(LayerRole(role), ()))} if role not in (None, HOLD) else {}
    statement = _LIBRARY if role is None else _HOLDS if role == HOLD else _OF_KINDS
    return tuple(
        LibraryMaterial(stock_material(row), lot=row.lot or "", is_recalled=bool(row.is_recalled))
        for row in session.connection().execute(statement, given)
    )
