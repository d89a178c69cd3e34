"""Which record does a name mean?

People name materials, techniques, owners and places; nothing is created in
passing. A name that is not on record is refused with the nearest that are.
Capitals and blanks do not matter where only one record is meant.
"""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, TypeVar

from sqlalchemy import bindparam
from sqlmodel import Session, SQLModel, col, select

from models.errors import BadValue, RuleBroken, UnknownWord
from models.rules.near_words import near_words, same_but_for_case
from models.rules.place_tree import PlaceTree
from models.tables.materials import HousePackage, Lot, Material
from models.tables.people import Owner, Person
from models.tables.terms import FindingTerm, MountMethod, TreatmentTerm
from models.tables.works import Technique

Row = TypeVar("Row", bound=SQLModel)


def technique_named(session: Session, name: str) -> Technique:
    """Return the technique, or raise UnknownWord (`unknown_technique`)."""
    return _named(session, Technique, "name", "technique", name)


def owner_named(session: Session, name: str) -> Owner:
    """Return the owner, or raise UnknownWord (`unknown_owner`)."""
    return _named(session, Owner, "name", "owner", name)


def person_named(session: Session, name: str) -> Person:
    """Return the person, or raise UnknownWord (`unknown_person`)."""
    return _named(session, Person, "name", "person", name)


def material_named(session: Session, name: str) -> Material:
    """Return the material, or raise UnknownWord (`unknown_material`)."""
    return _named(session, Material, "name", "material", name)


def finding_term_named(session: Session, term: str) -> FindingTerm:
    """Return the finding term, or raise UnknownWord (`unknown_term`)."""
    return _named(session, FindingTerm, "term", "term", term)


def treatment_named(session: Session, term: str) -> TreatmentTerm:
    """Return the treatment term, or raise UnknownWord (`unknown_treatment`)."""
    return _named(session, TreatmentTerm, "term", "treatment", term)


def mount_method_named(session: Session, name: str) -> MountMethod:
    """Return the mount method, or raise UnknownWord (`unknown_method`)."""
    return _named(session, MountMethod, "name", "method", name)


def lot_numbered(session: Session, material_id: int, number: str) -> Lot:
    """Return the lot among those of a material.

    Raises UnknownWord (`unknown_lot`), or BadValue (`lot_of_another_material`).
    """
    lots = session.exec(select(Lot).where(Lot.material_id == material_id)).all()
    try:
        return _one_of(lots, lambda lot: lot.number, "lot", number)
    except UnknownWord:
        _refuse_lot_of_another(session, number)
        raise


def _refuse_lot_of_another(session: Session, number: str) -> None:
    named = select(Material.name).join(Lot, col(Lot.material_id) == Material.id)
    others = session.exec(named.where(Lot.number == number).order_by(col(Material.name))).all()
    if others:
        message = f"Lot {number!r} is a lot of {' and of '.join(others)}."
        right = "Name that material, or a lot of this one."
        error = BadValue.at("", message, right)
        error.code = "lot_of_another_material"
        raise error


def house_package_named(session: Session, name: str) -> HousePackage:
    """Return the current edition, or raise UnknownWord (`unknown_house_package`)."""
    current = session.exec(select(HousePackage).where(~col(HousePackage.ended))).all()
    return _one_of(current, lambda package: package.name, "house_package", name)


def place_at(tree: PlaceTree, path: str) -> int:
    """Return the key of the place at a path, or raise UnknownWord (`unknown_place`)."""
    found = tree.find(path)
    if found is not None:
        return found
    same = same_but_for_case(path, tree.paths())
    if same is None:
        raise UnknownWord("place", path, near_words(path, tree.paths()))
    key = tree.find(same)
    assert key is not None, "a path of the tree is in the tree"
    return key


def refuse_taken_name(
    session: Session, table: type[SQLModel], name: str, *, kind: str, besides: int | None = None
) -> None:
    """Raise RuleBroken (`name_taken`) when another record has this name but for capitals.

    Two names that only capitals tell apart would make both of them doubtful.
    """
    columns = SQLModel.metadata.tables[str(table.__tablename__)].columns
    known = session.exec(select(columns["name"]).where(columns["id"] != (besides or 0))).all()
    same = name if name in known else same_but_for_case(name, known)
    if same is not None:
        raise RuleBroken(f"The {kind} {same!r} is on record already.", "name_taken")


def _named(session: Session, table: type[Row], column: str, kind: str, name: str) -> Row:
    names = getattr(table, column)
    exact: Row | None = session.exec(_with_name(table, column), params={"name": name}).first()
    if exact is not None:
        return exact
    known: Sequence[str] = session.exec(select(names).order_by(names)).all()
    same = same_but_for_case(name, known)
    if same is None:
        raise UnknownWord(kind, name, near_words(name, known))
    return session.exec(select(table).where(names == same)).one()


@cache
def _with_name(table: type[SQLModel], column: str) -> Any:
    return select(table).where(getattr(table, column) == bindparam("name"))


def _one_of(rows: Sequence[Row], name_of: Callable[[Row], str], kind: str, name: str) -> Row:
    by_name = {name_of(row): row for row in rows}
    meant = name if name in by_name else same_but_for_case(name, by_name)
    if meant is None:
        raise UnknownWord(kind, name, near_words(name, by_name))
    return by_name[meant]
