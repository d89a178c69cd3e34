"""Who is on record: people with and without a sign-in, owners, and how they prove who they are."""

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Session, col, select

from models.tables.base import (
    Derived,
    Record,
    flag,
    key,
    link,
    moment,
    person_name,
    secret,
    strict,
    text,
    version,
    word,
)
from models.vocabulary import Role


class Owner(Record, table=True):
    """Whom works belong to: a person, a family, a house."""

    __tablename__ = "owner"
    __table_args__ = strict(Index("uq_owner_name", "name", unique=True))

    id: int | None = key()
    name: str = text("name")
    version: int = version()


class Person(Record, table=True):
    """Somebody named in a record; may sign in when there is a role and a password.

    Everything else refers to people by this row, so that erasing a name is one change.
    """

    __tablename__ = "person"
    __table_args__ = strict(
        Index("uq_person_name", "name", unique=True),
        CheckConstraint("role <> 'owner' OR owner_id IS NOT NULL", name="owner_of"),
    )

    id: int | None = key()
    name: str = person_name("name", longest=200)
    role: Role | None = word("role", Role, nullable=True)
    owner_id: int | None = link("owner.id", nullable=True)
    password_hash: str | None = secret(nullable=True)
    may_sign_in: bool = flag(default=False)
    erased_reason: str | None = text("erased_reason", nullable=True)
    version: int = version()


class SignIn(Derived, table=True):
    """A signed-in browser; only the digest of its cookie is kept."""

    __tablename__ = "sign_in"

    id: int | None = key()
    person_id: int = link("person.id")
    cookie_sha256: str = secret(unique=True)
    form_sha256: str = secret()
    began_at: datetime = moment()
    last_seen_at: datetime = moment()
    ends_at: datetime = moment(index=True)


class ApiToken(Record, table=True):
    """A token for programs, acting as one person; shown once and kept as a digest."""

    __tablename__ = "api_token"

    id: int | None = key()
    person_id: int = link("person.id")
    name: str = text("name", longest=200)
    token_sha256: str = secret(unique=True)
    made_at: datetime = moment()
    ended: bool = flag()


class TokenUse(Derived, table=True):
    """When a token was last used, to the nearest five minutes."""

    __tablename__ = "token_use"

    id: int | None = key()
    token_id: int = link("api_token.id", index=False)
    last_used_at: datetime = moment()
    __table_args__ = strict(Index("uq_token_use_token_id", "token_id", unique=True))


class SignInTry(Derived, table=True):
    """A failed sign-in: delays the next from the same name or address, never locks anybody out."""

    __tablename__ = "sign_in_try"
    __table_args__ = strict(Index("ix_sign_in_try_who_at", "who_sha256", "at"))

    id: int | None = key()
    who_sha256: str = secret()
    at: datetime = moment(index=True)


class FirstKeeperLink(Derived, table=True):
    """The one-time link on which the first keeper is made."""

    __tablename__ = "first_keeper_link"

    id: int | None = key()
    link_sha256: str = secret(unique=True)
    ends_at: datetime = moment()
    used: bool = flag()


def find_person_by_name(session: Session, name: str) -> Person | None:
    """Return the person of exactly this name."""
    return session.exec(select(Person).where(Person.name == name)).first()


def find_owner_by_name(session: Session, name: str) -> Owner | None:
    """Return the owner of exactly this name."""
    return session.exec(select(Owner).where(Owner.name == name)).first()


def people(session: Session) -> list[Person]:
    """Return everybody, by name."""
    return list(session.exec(select(Person).order_by(col(Person.name))))


def names_to_choose(session: Session) -> list[str]:
    """Return the names of everybody whose name was not erased, sorted."""
    found = select(Person.name).where(col(Person.erased_reason).is_(None))
    return list(session.exec(found.order_by(col(Person.name))))


def names_of_people(session: Session, person_ids: Collection[int]) -> dict[int, str]:
    """Return the names of these people, by key."""
    if not person_ids:
        return {}
    found = select(Person.id, Person.name).where(col(Person.id).in_(person_ids))
    return {key: name for key, name in session.exec(found) if key is not None}


def owners(session: Session) -> list[Owner]:
    """Return all owners, by name."""
    return list(session.exec(_OWNERS))


_OWNERS = select(Owner).order_by(col(Owner.name))


def is_anybody_here(session: Session) -> bool:
    """Say whether somebody can sign in at all."""
    return (
        session.exec(select(Person.id).where(col(Person.may_sign_in)).limit(1)).first() is not None
    )
