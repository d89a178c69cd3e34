"""Whom do works belong to?

An owner is added by this deed alone, never in passing. Somebody who signs in
for an owner sees that owner and no other.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.named_records import refuse_taken_name
from models.actions.record_changes import (
    flush_unless_taken,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.errors import NotFound, RuleBroken
from models.rules.permissions import Deed, may, require
from models.rules.record_values import Faults, a_name
from models.tables.people import Owner, owners
from models.tables.visible import Viewer


@dataclass(frozen=True, kw_only=True)
class OwnerTold:
    """An owner as told."""

    name: str


def add_owner(session: Session, viewer: Viewer, told: OwnerTold) -> Owner:
    """Add an owner. Raises RuleBroken (`name_taken`)."""
    require(viewer.role, Deed.KEEP_OWNERS)
    owner = Owner(name=_name(told))
    refuse_taken_name(session, Owner, owner.name, kind="owner")
    session.add(owner)
    _flush(session, owner)
    return owner


def change_owner(
    session: Session,
    viewer: Viewer,
    owner_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
) -> Owner:
    """Give an owner another name. Raises NotFound, Stale, RuleBroken (`name_taken`)."""
    require(viewer.role, Deed.KEEP_OWNERS)
    owner = lock(session, Owner, owner_id, "owner")
    refuse_stale(owner, based_on, theirs=owner)
    name = _name(merged(OwnerTold(name=owner.name), changes))
    refuse_taken_name(session, Owner, name, kind="owner", besides=owner_id)
    write(owner, {"name": name})
    _flush(session, owner)
    return owner


def list_owners(session: Session, viewer: Viewer) -> list[Owner]:
    """Return the owners whom this person may see, by name."""
    require(viewer.role, Deed.READ)
    return [owner for owner in owners(session) if _sees(viewer, owner)]


def read_owner(session: Session, viewer: Viewer, owner_id: int) -> Owner:
    """Return one owner. Raises NotFound when it is not this person's to see."""
    require(viewer.role, Deed.READ)
    owner = session.get(Owner, owner_id)
    if owner is None or not _sees(viewer, owner):
        raise NotFound("owner", owner_id)
    return owner


def _sees(viewer: Viewer, owner: Owner) -> bool:
    return may(viewer.role, Deed.SEE_ALL_WORKS) or owner.id == viewer.owner_id


def _name(told: OwnerTold) -> str:
    faults = Faults()
    name = faults.read("/name", a_name("name of the owner"), told.name)
    faults.refuse()
    assert name is not None, "a missing name was refused"
    return name


def _flush(session: Session, owner: Owner) -> None:
    taken = RuleBroken(f"The owner {owner.name!r} is on record already.", "name_taken")
    flush_unless_taken(session, "uq_owner_name", taken)
