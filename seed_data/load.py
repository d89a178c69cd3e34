"""How does the reference data come into the book?

What is missing by name is added; what is there is never touched, whoever put it
there: a keeper's word stands. The first edition of a material's figures is
written only together with the material. Capitals do not make a name new. The
session is that of `recording`, so that the change log says where it came from.
"""

import json
from collections.abc import Iterable
from pathlib import Path
from typing import TypeVar

from sqlmodel import Session, SQLModel, select

from models.rules.record_values import exact_um
from models.tables.materials import Material, MaterialFigures
from models.tables.terms import FindingTerm, MountMethod, TreatmentTerm
from models.tables.works import Technique
from seed_data.shipped import (
    HERE,
    ShippedMaterial,
    basis_by_figure,
    read_finding_terms,
    read_materials,
    read_mount_methods,
    read_techniques,
    read_treatment_terms,
    shipped_default_figures,
)

__all__ = ["load_reference_data", "shipped_default_figures"]

Shipped = TypeVar("Shipped")


def load_reference_data(session: Session, folder: Path = HERE) -> None:
    """Add every material, technique and term that is missing. Raises BadValue for a bad file."""
    _add_materials(session, _missing(session, Material, "name", read_materials(folder)))
    _add_techniques(session, folder)
    _add_terms(session, folder)
    session.flush()


def _missing(
    session: Session, table: type[SQLModel], column: str, shipped: Iterable[Shipped]
) -> list[Shipped]:
    """Return the rows whose name is not on record, whatever its capitals."""
    known = {str(name).casefold() for name in session.exec(select(getattr(table, column)))}
    return [row for row in shipped if str(getattr(row, column)).casefold() not in known]


def _add_materials(session: Session, shipped: list[ShippedMaterial]) -> None:
    added = [
        Material(name=s.name, kind=s.kind, claim=s.claim, caution=s.caution, note=s.note)
        for s in shipped
    ]
    session.add_all(added)
    session.flush()
    session.add_all(
        _first_figures(material, row) for material, row in zip(added, shipped, strict=True)
    )


def _first_figures(material: Material, shipped: ShippedMaterial) -> MaterialFigures:
    assert material.id is not None, "a material has its key once it is written"
    return MaterialFigures(
        material_id=material.id,
        grade=shipped.grade or None,
        hold_grade=shipped.hold_grade or None,
        frees_by=shipped.frees_by,
        ph=shipped.ph,
        alkaline_reserve_percent=shipped.alkaline_reserve_percent,
        kappa=shipped.kappa,
        pat=shipped.pat,
        buffered=shipped.buffered or None,
        barrier=shipped.barrier,
        thickness_um=_um(shipped.thickness_mm),
        mass_g_per_m2=shipped.mass_g_per_m2,
        sheet_height_um=_um(shipped.sheet_height_mm),
        sheet_width_um=_um(shipped.sheet_width_mm),
        uv_block_percent=shipped.uv_block_percent,
        basis=json.dumps(basis_by_figure(shipped.basis), ensure_ascii=False),
    )


def _um(mm: float | None) -> int | None:
    return None if mm is None else exact_um(mm)


def _add_techniques(session: Session, folder: Path) -> None:
    for row in _missing(session, Technique, "name", read_techniques(folder)):
        session.add(Technique(**{**vars(row), "process_group": row.process_group.value}))


def _add_terms(session: Session, folder: Path) -> None:
    for term in _missing(session, FindingTerm, "term", read_finding_terms(folder)):
        sign = term.urgent_sign.value if term.urgent_sign else ""
        session.add(FindingTerm(**{**vars(term), "urgent_sign": sign}))
    for method in _missing(session, MountMethod, "name", read_mount_methods(folder)):
        session.add(MountMethod(**vars(method)))
    for treatment in _missing(session, TreatmentTerm, "term", read_treatment_terms(folder)):
        session.add(TreatmentTerm(**vars(treatment)))
