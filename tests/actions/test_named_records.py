from collections.abc import Callable

import pytest
from sqlmodel import Session

from models.actions.named_records import (
    finding_term_named,
    house_package_named,
    lot_numbered,
    material_named,
    mount_method_named,
    owner_named,
    person_named,
    place_at,
    refuse_taken_name,
    technique_named,
    treatment_named,
)
from models.actions.places import place_tree
from models.errors import BadValue, RuleBroken, UnknownWord
from models.tables.materials import HousePackage
from models.tables.people import Owner
from models.tables.terms import FindingTerm, MountMethod, TreatmentTerm
from tests.builders import (
    a_lot,
    a_material,
    a_person,
    a_place,
    a_technique,
    added,
    an_owner_row,
    key_of,
)

Finder = Callable[[Session, str], object]


def a_place_at(session: Session, path: str) -> int:
    return place_at(place_tree(session), path)


def a_lot_numbered(session: Session, number: str) -> object:
    return lot_numbered(session, 1, number)


@pytest.fixture(autouse=True)
def _on_record(session: Session) -> None:
    a_technique(session, "Etching")
    an_owner_row(session, "The Gannet House")
    a_person(session, "R. Imaginary")
    a_lot(session, a_material(session, "Cotton rag board"), "Lot A")
    a_place(session, "Gannet House / Stair")
    added(
        session,
        FindingTerm(
            term="Mat burn", shows_through_glazing="part", urgency="watch", applies_to="paper"
        ),
    )
    added(session, TreatmentTerm(term="Surface cleaning"))
    added(session, MountMethod(name="T-hinge", needs_adhesive="yes"))
    added(session, HousePackage(name="House float", edition=1, build="{}"))


@pytest.mark.parametrize(
    ("find", "name", "near_miss", "code"),
    [
        (technique_named, "Etching", "etchin", "unknown_technique"),
        (owner_named, "The Gannet House", "The Ganet House", "unknown_owner"),
        (person_named, "R. Imaginary", "R. Imaginery", "unknown_person"),
        (material_named, "Cotton rag board", "Coton rag board", "unknown_material"),
        (finding_term_named, "Mat burn", "matt burn", "unknown_term"),
        (treatment_named, "Surface cleaning", "surface clening", "unknown_treatment"),
        (mount_method_named, "T-hinge", "T-hing", "unknown_method"),
        (house_package_named, "House float", "house flaot", "unknown_house_package"),
        (a_lot_numbered, "Lot A", "Lott A", "unknown_lot"),
        (a_place_at, "Gannet House / Stair", "Gannet House / Stiar", "unknown_place"),
    ],
)
def test_a_name_means_one_record_whatever_its_capitals_and_a_slip_names_what_is_near(
    session: Session, find: Finder, name: str, near_miss: str, code: str
) -> None:
    meant = find(session, name)
    assert find(session, name.upper()) == meant
    with pytest.raises(UnknownWord) as refused:
        find(session, near_miss)
    assert (refused.value.code, name in refused.value.near) == (code, True)


def test_a_lot_of_another_material_is_said_to_be_one(session: Session) -> None:
    other = a_material(session, "Groundwood mat board")
    with pytest.raises(BadValue, match="Lot 'Lot A' is a lot of Cotton rag board") as refused:
        lot_numbered(session, key_of(other), "Lot A")
    assert refused.value.code == "lot_of_another_material"


def test_a_name_that_only_capitals_tell_apart_is_taken(session: Session) -> None:
    with pytest.raises(RuleBroken, match="'The Gannet House' is on record already") as refused:
        refuse_taken_name(session, Owner, "the gannet house", kind="owner")
    assert refused.value.code == "name_taken"


def test_a_name_is_not_taken_by_the_record_that_bears_it(session: Session) -> None:
    owner = key_of(an_owner_row(session, "The Gannet House"))
    refuse_taken_name(session, Owner, "the gannet house", kind="owner", besides=owner)
    refuse_taken_name(session, Owner, "The Tern House", kind="owner")
