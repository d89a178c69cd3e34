from dataclasses import dataclass

import pytest
from sqlmodel import Session

from models.actions.record_changes import (
    date_columns,
    date_kept,
    flush_unless_taken,
    lock,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.errors import BadValue, NotFound, NumberTaken, RuleBroken, Stale
from models.rules.half_known_dates import read_date
from models.tables.people import Owner
from models.tables.places import Place
from models.tables.works import Work
from tests.builders import a_place, a_work, an_owner_row, key_of

TAKEN = NumberTaken("taken")


@dataclass(frozen=True)
class Part:
    left_mm: int = 0
    top_mm: int = 0


@dataclass(frozen=True)
class Told:
    number: str
    note: str = ""
    part: Part = Part()


def test_what_is_absent_stays_and_what_is_set_to_nothing_is_unsaid() -> None:
    told = Told("GH 1", "stamped", Part(1, 2))
    assert merged(told, {}) == told
    assert merged(told, {"note": None}) == Told("GH 1", "", Part(1, 2))
    assert merged(told, {"part": {"top_mm": 5}}) == Told("GH 1", "stamped", Part(1, 5))
    assert merged(told, {"part": None, "number": "GH 2"}) == Told("GH 2", "stamped")


def test_what_must_be_there_cannot_be_taken_away() -> None:
    with pytest.raises(BadValue) as refused:
        merged(Told("GH 1"), {"number": None})
    assert [fault.pointer for fault in refused.value.faults] == ["/number"]


def test_a_half_known_date_is_kept_in_three_columns_and_read_back() -> None:
    about = read_date("2005~")
    work = Work(number="1", title="x", code="c")
    write(work, date_columns("made", about))
    assert date_kept(work, "made") == about
    write(work, date_columns("made", None))
    assert (date_kept(work, "made"), work.made_first) == (None, None)


def test_only_what_differs_is_written() -> None:
    owner = Owner(name="The Gannet House")
    assert not write(owner, {"name": "The Gannet House"})
    assert write(owner, {"name": "The Tern House"})


def test_a_record_that_is_not_there_cannot_be_held(session: Session) -> None:
    with pytest.raises(NotFound, match="no owner 99"):
        lock(session, Owner, 99, "owner")


def test_the_version_that_was_seen_must_be_the_newest(session: Session) -> None:
    owner = an_owner_row(session)
    refuse_stale(owner, 1, theirs=None)
    with pytest.raises(Stale, match="Somebody changed this") as refused:
        refuse_stale(owner, 7, theirs="what is there")
    assert refused.value.theirs == "what is there"


def test_a_record_is_withdrawn_once_and_with_a_reason(session: Session) -> None:
    work = a_work(session)
    with pytest.raises(BadValue, match="reason is missing"):
        withdraw(work, " ")
    withdraw(work, "entered twice")
    with pytest.raises(RuleBroken) as refused:
        withdraw(work, "again")
    assert refused.value.code == "already_withdrawn"


def test_the_index_alone_knows_that_another_writer_was_quicker(session: Session) -> None:
    a_work(session, number="GH 1")
    session.add(Work(number="GH 1", title="x", code="ANOTHER"))
    with pytest.raises(NumberTaken):
        flush_unless_taken(session, "uq_work_number", TAKEN)
    session.rollback()


@pytest.mark.parametrize("within", [True, False])
def test_of_several_indexes_any_may_say_so(session: Session, within: bool) -> None:
    house = key_of(a_place(session, "Gannet House"))
    a_place(session, "Gannet House / Stair")
    name = "Stair" if within else "Gannet House"
    session.add(Place(parent_id=house if within else None, name=name))
    with pytest.raises(NumberTaken):
        flush_unless_taken(session, ("uq_place_parent_id_name", "uq_place_name_at_top"), TAKEN)
    session.rollback()


def test_another_fault_of_the_database_stays_what_it_is(session: Session) -> None:
    session.add(Work(number="", title="x", code="c"))
    with pytest.raises(Exception, match="number") as refused:
        flush_unless_taken(session, "uq_work_number", TAKEN)
    assert refused.value is not TAKEN
    session.rollback()
