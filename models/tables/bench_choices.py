"""What can be chosen at the bench: which terms, methods, materials, builds and people are there?

All in one statement, because a form shows them all at once.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from sqlalchemy import (
    ColumnElement,
    CompoundSelect,
    Select,
    Text,
    cast,
    func,
    literal,
    type_coerce,
    union_all,
)
from sqlalchemy import select as columns
from sqlalchemy.orm import aliased
from sqlmodel import Session, col

from models.tables.materials import HousePackage, Lot, Material
from models.tables.mounts import Mount
from models.tables.people import Person
from models.tables.terms import FindingTerm, MountMethod, TreatmentTerm
from models.tables.visible import Viewer, visible_works
from models.tables.works import Work

Named = Select[str, str, str, str]
# Nothing more is told of a name.
NONE: ColumnElement[str] = literal("")


class Choice(StrEnum):
    """Of what a name is the name."""

    FINDING = "finding"
    METHOD = "method"
    TREATMENT = "treatment"
    MATERIAL = "material"
    HOUSE_PACKAGE = "house package"
    PERSON = "person"
    LOT_IN_USE = "lot in use"
    SAME_PACKAGE = "in the same package"


@dataclass(frozen=True)
class Chosen:
    """A name that can be chosen.

    `of` is the material of a lot, what a finding suggests, what comes near the work by a
    treatment (water, solvent, heat), or the key of a work.
    """

    name: str
    of: str = ""
    caution: str = ""


def bench_choices(
    session: Session, viewer: Viewer | None = None, work_id: int = 0
) -> Mapping[Choice, tuple[Chosen, ...]]:
    """Return everything that can be chosen, each list by name.

    For somebody with a work at hand also the other works that lie in its package now.
    """
    house = _named(Choice.HOUSE_PACKAGE, HousePackage.name).where(~col(HousePackage.ended))
    lots = _named(Choice.LOT_IN_USE, Lot.number, of=col(Material.name))
    lots = lots.join(Material, col(Material.id) == Lot.material_id).where(col(Lot.in_use))
    suggests = func.coalesce(type_coerce(col(FindingTerm.suggests_mechanism), Text), "")
    near = func.coalesce(type_coerce(col(TreatmentTerm.asked_before), Text), "")
    found: CompoundSelect[Any] = union_all(
        _named(Choice.FINDING, FindingTerm.term, of=suggests, caution=FindingTerm.caution),
        _named(Choice.METHOD, MountMethod.name),
        _named(Choice.TREATMENT, TreatmentTerm.term, of=near, caution=TreatmentTerm.caution),
        _named(Choice.MATERIAL, Material.name),
        _named(Choice.PERSON, Person.name).where(col(Person.erased_reason).is_(None)),
        house,
        lots,
        *([] if viewer is None else [_in_same_package(viewer, work_id)]),
    )
    rows = sorted((Choice(kind), *told) for kind, *told in session.execute(found))
    return {
        choice: tuple(Chosen(*told) for kind, *told in rows if kind is choice) for choice in Choice
    }


def _in_same_package(viewer: Viewer, work_id: int) -> Named:
    own, other = aliased(Mount), aliased(Mount)
    named = col(Work.number) + " " + col(Work.title)
    found = _named(Choice.SAME_PACKAGE, named, of=cast(col(Work.id), Text))
    found = found.join(other, col(other.work_id) == Work.id)
    found = found.join(own, col(own.package_id) == other.package_id)
    for mount in (own, other):
        found = found.where(~col(mount.ended), col(mount.withdrawn_reason).is_(None))
    found = found.where(visible_works(viewer), col(own.work_id) == work_id)
    return found.where(col(Work.id) != work_id)


def _named(choice: Choice, name: Any, *, of: Any = NONE, caution: Any = NONE) -> Named:
    return columns(literal(choice.value), name, of, caution)
