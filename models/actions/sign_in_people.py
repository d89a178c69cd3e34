"""How does somebody get a sign-in, and who is the first?

A keeper is added at the command line, or on a link that the server prints when nobody can
sign in yet. The link works once, for an hour, and never when there is anybody. Somebody
named in old records without a sign-in keeps that record and gets the sign-in.
"""

from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlmodel import Session, col, select

from models.actions.named_records import owner_named, refuse_taken_name
from models.actions.sign_ins import digest, new_secret
from models.errors import BadValue, NotFound, RuleBroken
from models.rules.record_values import Faults, a_name
from models.tables.people import (
    FirstKeeperLink,
    Owner,
    Person,
    SignIn,
    find_owner_by_name,
    find_person_by_name,
    is_anybody_here,
)
from models.vocabulary import Role

LINK_LASTS = timedelta(hours=1)
LONGEST_PERSON_NAME = 200
# Length is what counts (NIST SP 800-63B, section 5.1.1.1 asks for at least 8, from memory).
SHORTEST_PASSWORD = 10
LONGEST_PASSWORD = 200


def check_new_sign_in(name: str, password: str) -> str:
    """Return the name as it is kept. Raises BadValue with every fault of name and password."""
    faults = Faults()
    kept = faults.read("/name", a_name("name", LONGEST_PERSON_NAME), name)
    faults.read("/password", _a_password, password)
    faults.refuse()
    assert kept is not None, "a name without fault is kept"
    return kept


def _a_password(given: str) -> str:
    if not SHORTEST_PASSWORD <= len(given) <= LONGEST_PASSWORD:
        message = f"The password has {len(given)} characters."
        right = f"Give {SHORTEST_PASSWORD} to {LONGEST_PASSWORD}; a few words are easy to keep."
        raise BadValue.at("", message, right)
    return given


def add_sign_in(
    session: Session,
    *,
    name: str,
    role: Role,
    password_hash: str,
    owner: str | None = None,
    make_owner: bool = False,
) -> Person:
    """Let somebody sign in, as a new person or one on record. Raises RuleBroken if they may."""
    if (role is Role.OWNER) != (owner is not None):
        raise BadValue("Somebody with the role owner, and nobody else, is named for an owner.")
    person = find_person_by_name(session, name) or Person(name=name)
    if person.may_sign_in:
        raise RuleBroken(f"{name} can sign in already.", "name_taken")
    person.role, person.password_hash, person.may_sign_in = role, password_hash, True
    person.owner_id = None if owner is None else _owner_id(session, owner, make=make_owner)
    session.add(person)
    session.flush()
    return person


def give_new_password(session: Session, *, name: str, password_hash: str) -> None:
    """Give somebody who can sign in a new password; whoever is signed in as them is signed out.

    Raises RuleBroken for somebody who cannot sign in.
    """
    person = find_person_by_name(session, name)
    if person is None or not person.may_sign_in:
        raise RuleBroken(f"{name} cannot sign in; give them a sign-in with `person add`.")
    person.password_hash = password_hash
    session.execute(delete(SignIn).where(col(SignIn.person_id) == person.id))


def _owner_id(session: Session, name: str, *, make: bool) -> int | None:
    if not make or find_owner_by_name(session, name) is not None:
        return owner_named(session, name).id
    refuse_taken_name(session, Owner, name, kind="owner")
    owner = Owner(name=a_name("owner")(name))
    session.add(owner)
    session.flush()
    return owner.id


def make_first_keeper_link(session: Session, now: datetime) -> str:
    """Return the key of a new link; earlier links are dead."""
    session.execute(delete(FirstKeeperLink))
    key = new_secret()
    session.add(FirstKeeperLink(link_sha256=digest(key), ends_at=now + LINK_LASTS))
    return key


def require_open_link(session: Session, key: str, now: datetime) -> None:
    """Raise NotFound unless the first keeper can be made on this link now."""
    _open_link(session, key, now, held=False)


def make_first_keeper(
    session: Session, key: str, *, name: str, password_hash: str, now: datetime
) -> Person:
    """Make the first keeper; the link is dead from now on."""
    _open_link(session, key, now, held=True).used = True
    return add_sign_in(session, name=name, role=Role.KEEPER, password_hash=password_hash)


def _open_link(session: Session, key: str, now: datetime, *, held: bool) -> FirstKeeperLink:
    open_link = select(FirstKeeperLink).where(
        FirstKeeperLink.link_sha256 == digest(key),
        ~col(FirstKeeperLink.used),
        FirstKeeperLink.ends_at > now,
    )
    # Held, the link can be used by one of two that come at once.
    link = session.exec(open_link.with_for_update() if held else open_link).one_or_none()
    if link is None or is_anybody_here(session):
        raise NotFound("page", "here")
    return link
