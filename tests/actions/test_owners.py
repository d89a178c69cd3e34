import pytest
from sqlmodel import Session

from models.actions.owners import OwnerTold, add_owner, change_owner, list_owners, read_owner
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken, Stale
from tests.builders import a_framer, a_keeper, an_owner, an_owner_row, key_of


def test_owners_are_added_and_listed_by_name(session: Session) -> None:
    keeper = a_keeper(session)
    add_owner(session, keeper, OwnerTold(name=" The Tern House "))
    add_owner(session, keeper, OwnerTold(name="A. Collector"))
    names = [owner.name for owner in list_owners(session, keeper)]
    assert names == ["A. Collector", "The Tern House"]


def test_an_owner_is_not_added_twice_whatever_the_capitals(session: Session) -> None:
    keeper = a_keeper(session)
    an_owner_row(session, "The Tern House")
    with pytest.raises(RuleBroken, match="'The Tern House' is on record") as refused:
        add_owner(session, keeper, OwnerTold(name="the tern house"))
    assert refused.value.code == "name_taken"


def test_an_owner_needs_a_name(session: Session) -> None:
    keeper = a_keeper(session)
    with pytest.raises(BadValue) as refused:
        add_owner(session, keeper, OwnerTold(name="  "))
    assert [fault.pointer for fault in refused.value.faults] == ["/name"]


def test_an_owner_is_renamed_once_and_not_over_somebody_else(session: Session) -> None:
    keeper = a_keeper(session)
    owner = an_owner_row(session, "The Tern House")
    changed = change_owner(session, keeper, key_of(owner), {"name": "The tern house"}, based_on=1)
    assert changed.name == "The tern house"
    owner.version = 2
    with pytest.raises(Stale):
        change_owner(session, keeper, key_of(owner), {"name": "Another"}, based_on=1)


def test_an_owner_sees_no_other_owner(session: Session) -> None:
    owner = an_owner(session, "The Gannet House")
    other = an_owner_row(session, "The Tern House")
    assert [seen.name for seen in list_owners(session, owner)] == ["The Gannet House"]
    with pytest.raises(NotFound):
        read_owner(session, owner, key_of(other))


def test_only_a_keeper_adds_owners(session: Session) -> None:
    with pytest.raises(NotAllowed, match="add or change owners"):
        add_owner(session, a_framer(session), OwnerTold(name="Anybody"))
