from datetime import UTC, datetime

import pytest
from sqlmodel import Session, select

from models.actions.people import (
    PersonTold,
    add_person,
    change_person,
    erase_name,
    list_people,
    read_person,
)
from models.errors import BadValue, NotAllowed, RuleBroken, Stale, UnknownWord
from models.tables.people import ApiToken, Person, SignIn
from models.vocabulary import Role
from tests.builders import a_framer, a_keeper, a_person, an_owner, an_owner_row, key_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def signed_in(session: Session, name: str) -> Person:
    person = a_person(session, name, role=Role.FRAMER)
    person.password_hash = "a hash"
    sign_in = SignIn(
        person_id=key_of(person),
        cookie_sha256="c",
        form_sha256="f",
        began_at=NOON,
        last_seen_at=NOON,
        ends_at=NOON,
    )
    session.add(sign_in)
    token = ApiToken(person_id=key_of(person), name="scales", token_sha256="t", made_at=NOON)
    session.add(token)
    session.flush()
    return person


def test_whoever_is_only_named_cannot_sign_in(session: Session) -> None:
    keeper = a_keeper(session)
    added = add_person(session, keeper, PersonTold(name=" B. Nobody "))
    assert (added.told, added.may_sign_in) == (PersonTold(name="B. Nobody"), False)
    assert [p.told.name for p in list_people(session, keeper)] == ["B. Nobody", "K. Inventa"]


@pytest.mark.parametrize(
    "told",
    [
        PersonTold(name="A. Steward", role=Role.OWNER),
        PersonTold(name="A. Steward", role=Role.FRAMER, owner="The Gannet House"),
        PersonTold(name="A. Steward", owner="The Gannet House"),
    ],
)
def test_an_owner_and_nobody_else_signs_in_for_an_owner(session: Session, told: PersonTold) -> None:
    keeper = a_keeper(session)
    an_owner_row(session, "The Gannet House")
    with pytest.raises(BadValue) as refused:
        add_person(session, keeper, told)
    assert [fault.pointer for fault in refused.value.faults] == ["/owner"]


def test_an_owner_who_is_not_on_record_is_not_made_in_passing(session: Session) -> None:
    keeper = a_keeper(session)
    an_owner_row(session, "The Gannet House")
    with pytest.raises(UnknownWord) as refused:
        add_person(session, keeper, PersonTold(name="X", role=Role.OWNER, owner="The Ganet House"))
    assert refused.value.near == ("The Gannet House",)


def test_a_name_is_on_record_once_whatever_the_capitals(session: Session) -> None:
    keeper = a_keeper(session)
    a_person(session, "B. Nobody")
    with pytest.raises(RuleBroken) as refused:
        add_person(session, keeper, PersonTold(name="b. nobody"))
    assert refused.value.code == "name_taken"


def test_a_role_is_changed_and_whoever_was_slower_sees_it(session: Session) -> None:
    keeper = a_keeper(session)
    person = a_person(session, role=Role.FRAMER)
    changed = change_person(session, keeper, key_of(person), {"role": Role.KEEPER}, based_on=1)
    assert (changed.told.role, changed.may_sign_in) == (Role.KEEPER, True)
    person.version = 2
    with pytest.raises(Stale) as refused:
        change_person(session, keeper, key_of(person), {"name": "x"}, based_on=1)
    assert refused.value.theirs == read_person(session, keeper, key_of(person))


def test_without_a_role_nobody_stays_signed_in(session: Session) -> None:
    keeper = a_keeper(session)
    person = signed_in(session, "R. Imaginary")
    changed = change_person(session, keeper, key_of(person), {"role": None}, based_on=1)
    assert (changed.told.name, changed.may_sign_in) == ("R. Imaginary", False)
    assert session.exec(select(SignIn)).all() == []
    assert [token.ended for token in session.exec(select(ApiToken))] == [True]


def test_an_erased_person_is_a_number_and_cannot_sign_in(session: Session) -> None:
    keeper = a_keeper(session)
    person = signed_in(session, "R. Imaginary")
    erased = erase_name(session, keeper, key_of(person), "asked for it")
    assert erased.told == PersonTold(name=f"erased person {key_of(person)}")
    assert (erased.may_sign_in, person.password_hash) == (False, None)
    assert session.exec(select(SignIn)).all() == []
    assert [token.ended for token in session.exec(select(ApiToken))] == [True]


def test_the_last_keeper_stays_a_keeper(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(RuleBroken, match="last keeper") as refused:
        change_person(session, keeper, keeper.person_id, {"role": Role.FRAMER}, based_on=1)
    assert refused.value.code == "last_keeper"
    with pytest.raises(RuleBroken, match="last keeper"):
        erase_name(session, keeper, keeper.person_id, "asked for it")
    a_keeper(session, "A second keeper")
    assert erase_name(session, keeper, keeper.person_id, "asked for it").told.role is None


def test_framers_read_names_and_owners_do_not(session: Session) -> None:
    framer = a_framer(session)
    assert [p.told.name for p in list_people(session, framer)] == ["R. Imaginary"]
    with pytest.raises(NotAllowed):
        list_people(session, an_owner(session))
    with pytest.raises(NotAllowed, match="add or change people"):
        add_person(session, framer, PersonTold(name="x"))
    with pytest.raises(NotAllowed, match="erase a person's name"):
        erase_name(session, framer, framer.person_id, "asked for it")
