"""Who is named in records, and who may sign in as what?

Whoever is named at a bench is a row of this list, with or without a sign-in, so
that erasing a name is one change. An erased person stays, as a number: what
they did stays on record. The last keeper who can sign in stays a keeper.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import delete
from sqlmodel import Session, col, select

from models.actions.named_records import owner_named, refuse_taken_name
from models.actions.record_changes import (
    flush_unless_taken,
    key_of,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.errors import BadValue, NotFound, RuleBroken
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, a_name
from models.tables.people import ApiToken, Person, SignIn, owners, people
from models.tables.visible import Viewer
from models.vocabulary import Role

LONGEST_PERSON_NAME = 200


@dataclass(frozen=True, kw_only=True)
class PersonTold:
    """Somebody as told; without a role they are named and cannot sign in."""

    name: str
    role: Role | None = None
    owner: str | None = None


@dataclass(frozen=True, kw_only=True)
class PersonOnRecord:
    """Somebody as shown."""

    id: int
    version: int
    told: PersonTold
    may_sign_in: bool
    is_erased: bool


def add_person(session: Session, viewer: Viewer, told: PersonTold) -> PersonOnRecord:
    """Add somebody who can be named; a sign-in is given apart. Raises RuleBroken (`name_taken`)."""
    require(viewer.role, Deed.KEEP_PEOPLE)
    person = Person(name="")
    write(person, _columns(session, told))
    refuse_taken_name(session, Person, person.name, kind="person")
    session.add(person)
    _flush(session, person)
    return _shown(session, [person])[0]


def change_person(
    session: Session,
    viewer: Viewer,
    person_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
) -> PersonOnRecord:
    """Change a name, a role or whom somebody signs in for; without a role they are signed out.

    Raises NotFound, Stale, UnknownWord, RuleBroken (`name_taken`, `last_keeper`, `erased`).
    """
    require(viewer.role, Deed.KEEP_PEOPLE)
    person = lock(session, Person, person_id, "person")
    (kept,) = _shown(session, [person])
    refuse_stale(person, based_on, theirs=kept)
    _refuse_erased(person)
    told = merged(kept.told, changes)
    if told.role is not Role.KEEPER:
        _refuse_losing_the_last_keeper(session, person)
    write(person, _columns(session, told))
    refuse_taken_name(session, Person, person.name, kind="person", besides=person_id)
    if told.role is None:
        _take_sign_in(session, person)
    _flush(session, person)
    return _shown(session, [person])[0]


def erase_name(session: Session, viewer: Viewer, person_id: int, reason: str) -> PersonOnRecord:
    """Put a number in the place of a name, and end every sign-in; records keep the number.

    Raises NotFound, BadValue without a reason or with one that tells the name, RuleBroken
    (`last_keeper`, `erased`).
    """
    require(viewer.role, Deed.ERASE_NAME)
    person = lock(session, Person, person_id, "person")
    _refuse_erased(person)
    _refuse_losing_the_last_keeper(session, person)
    why = _reason_without_name(reason, person.name)
    number = {"name": f"erased person {person_id}", "role": None, "owner_id": None}
    write(person, {**number, "erased_reason": why})
    _take_sign_in(session, person)
    session.flush()
    return _shown(session, [person])[0]


def _refuse_erased(person: Person) -> None:
    if person.erased_reason is not None:
        raise RuleBroken("This name was erased; it cannot be undone.", "erased")


def _reason_without_name(reason: str, name: str) -> str:
    # A reason is logged and a name never is.
    faults = Faults()
    why = faults.read("/reason", a_name("reason"), reason)
    if name.casefold() in reason.casefold():
        message = "The reason tells the name that is to go."
        faults.note("/reason", BadValue.at("", message, "Say it without the name."))
    faults.refuse()
    assert why is not None, "a reason without fault is kept"
    return why


def list_people(session: Session, viewer: Viewer) -> list[PersonOnRecord]:
    """Return everybody on record, by name; not for owners, whom others' names do not concern."""
    require(viewer.role, Deed.SEE_ALL_WORKS)
    return _shown(session, people(session))


def read_person(session: Session, viewer: Viewer, person_id: int) -> PersonOnRecord:
    """Return one person. Raises NotFound."""
    require(viewer.role, Deed.SEE_ALL_WORKS)
    person = session.get(Person, person_id)
    if person is None:
        raise NotFound("person", person_id)
    return _shown(session, [person])[0]


def _columns(session: Session, told: PersonTold) -> dict[str, object]:
    faults = Faults()
    name = faults.read("/name", a_name("name", LONGEST_PERSON_NAME), told.name)
    owner = faults.read_if_given("/owner", lambda of: owner_named(session, of), told.owner)
    if (told.role is Role.OWNER) != (told.owner is not None):
        message = "Somebody with the role owner, and nobody else, signs in for an owner."
        faults.note("", BadValue.at("/owner", message))
    faults.refuse()
    return {"name": name, "role": told.role, "owner_id": None if owner is None else owner.id}


def _refuse_losing_the_last_keeper(session: Session, person: Person) -> None:
    if person.role is not Role.KEEPER or not person.may_sign_in:
        return
    # All keepers are held, so that two cannot take each other's role at the same moment.
    keepers = select(Person).where(Person.role == Role.KEEPER, col(Person.may_sign_in))
    held = session.exec(keepers.order_by(col(Person.id)).with_for_update()).all()
    if [keeper.id for keeper in held] == [person.id]:
        raise RuleBroken(
            "This is the last keeper who can sign in; make another keeper first.", "last_keeper"
        )


def _take_sign_in(session: Session, person: Person) -> None:
    write(person, {"may_sign_in": False, "password_hash": None})
    for token in session.exec(select(ApiToken).where(ApiToken.person_id == person.id)):
        write(token, {"ended": True})
    session.execute(delete(SignIn).where(col(SignIn.person_id) == person.id))


def _flush(session: Session, person: Person) -> None:
    taken = RuleBroken(f"The person {person.name!r} is on record already.", "name_taken")
    flush_unless_taken(session, "uq_person_name", taken)


def _shown(session: Session, those: list[Person]) -> list[PersonOnRecord]:
    names = {owner.id: owner.name for owner in owners(session)}
    return [
        PersonOnRecord(
            id=key_of(person),
            version=person.version,
            told=PersonTold(name=person.name, role=person.role, owner=names.get(person.owner_id)),
            may_sign_in=person.may_sign_in,
            is_erased=person.erased_reason is not None,
        )
        for person in those
    ]
