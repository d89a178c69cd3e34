"""What is in the library of materials, with newest figures, lots in use and open recalls?

One statement, built once: the bench asks for it whenever a layer is to be swapped.
"""

from sqlmodel import Session, col

from models.actions.stock_materials import IS_RECALLED, materials_with, stock_material
from models.rules.fit_choices import LibraryMaterial
from models.tables.materials import Lot

_LIBRARY = materials_with(col(Lot.number).label("lot"), IS_RECALLED.label("is_recalled"))


def library(session: Session) -> tuple[LibraryMaterial, ...]:
    """Return every material, by name. What is pending in the session must have been flushed."""
    return tuple(
        LibraryMaterial(stock_material(row), lot=row.lot or "", is_recalled=bool(row.is_recalled))
        for row in session.connection().execute(_LIBRARY)
    )
