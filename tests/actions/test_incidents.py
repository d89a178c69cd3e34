from datetime import date

import pytest
from sqlmodel import Session, select

from models.actions.incidents import (
    IncidentTold,
    correct_incident,
    list_incidents,
    read_incident,
    record_incident,
    withdraw_incident,
)
from models.errors import BadValue, HingebookError, NotAllowed, NotFound, Stale
from models.rules.calendar_days import day_number
from models.rules.half_known_dates import read_date
from models.tables.places import FollowUp
from tests.builders import (
    a_framer,
    a_keeper,
    a_place,
    a_stay,
    a_visit,
    a_work,
    an_owner,
    key_of,
)
from tests.counting import statements

TODAY = read_date("2026-11-25").first_day or 0
STAIR, STUDY = "Gannet House / Stair", "Gannet House / Study"


def days(*texts: str) -> list[int]:
    return [day_number(date.fromisoformat(text)) for text in texts]


def test_a_leak_reaches_what_may_have_been_there_and_asks_for_three_looks(
    session: Session,
) -> None:
    framer = a_framer(session)
    there = a_work(session, number="A", place=f"{STAIR} / North wall", since="2010")
    perhaps = a_work(session, number="B", place=STAIR, since=None)
    a_work(session, number="C", place=STAIR, since="2026-11-24")
    gone = a_work(session, number="D", place=STUDY, since="2020")
    a_stay(session, gone, place=STAIR, since="2000", until="2020")
    told = IncidentTold(kind="leak", on="2026-11-10", place=STAIR, note="gutter")
    incident = record_incident(session, framer, told, today=TODAY)
    assert (incident.kind, incident.on, incident.place, incident.note) == (
        "leak",
        "2026-11-10",
        STAIR,
        "gutter",
    )
    due = days("2026-11-17", "2026-12-10", "2027-02-10")
    assert [(one.work_number, one.due_on) for one in incident.follow_ups] == [
        (number, day) for number in ("A", "B") for day in due
    ]
    assert {one.work_id for one in incident.follow_ups} == {key_of(there), key_of(perhaps)}


def test_an_incident_of_named_works_reaches_no_others(session: Session) -> None:
    keeper = a_keeper(session)
    work = a_work(session, place=STAIR)
    a_work(session, place=STAIR)
    told = IncidentTold(kind="fall", on="2026-11-24", works=(key_of(work),), place=STAIR)
    incident = record_incident(session, keeper, told, today=TODAY)
    assert {one.work_id for one in incident.follow_ups} == {key_of(work)}


def test_looks_are_counted_from_the_last_day_it_may_have_been_and_not_past_today(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    work = (key_of(a_work(session)),)
    span = IncidentTold(kind="heating failure", on="2026-11-01/2026-11-20", works=work)
    incident = record_incident(session, keeper, span, today=TODAY)
    assert [one.due_on for one in incident.follow_ups] == days(
        "2026-11-27", "2026-12-20", "2027-02-20"
    )
    this_year = IncidentTold(kind="insects", on="2026", works=work)
    incident = record_incident(session, keeper, this_year, today=TODAY)
    assert [one.due_on for one in incident.follow_ups] == days(
        "2026-12-02", "2026-12-25", "2027-02-25"
    )


def test_a_look_that_was_made_already_is_not_asked_for_again(session: Session) -> None:
    keeper = a_keeper(session)
    work = a_work(session)
    visit = key_of(a_visit(session, work, on="2026-10-20"))
    told = IncidentTold(kind="leak", on="2026-10-01", works=(key_of(work),))
    incident = record_incident(session, keeper, told, today=TODAY)
    assert [one.done_by_visit_id for one in incident.follow_ups] == [visit, None, None]


@pytest.mark.parametrize(
    ("told", "code", "pointer"),
    [
        (IncidentTold(kind="leak", on="2027", place=STAIR), "in_the_future", None),
        (IncidentTold(kind="leak", on="2026"), "bad_value", "/place"),
        (IncidentTold(kind="", on="2026", place=STAIR), "bad_value", "/kind"),
        (IncidentTold(kind="leak", on="last week", place=STAIR), "bad_value", "/on"),
        (
            IncidentTold(kind="leak", on="2026", place="Gannet House / Stiar"),
            "unknown_place",
            "/place",
        ),
        (IncidentTold(kind="leak", on="2026", works=(999,)), "not_found", None),
    ],
)
def test_an_impossible_incident_is_refused_by_name(
    session: Session, told: IncidentTold, code: str, pointer: str | None
) -> None:
    keeper = a_keeper(session)
    a_place(session, STAIR)
    with pytest.raises(HingebookError) as refused:
        record_incident(session, keeper, told, today=TODAY)
    assert refused.value.code == code
    faults = getattr(refused.value, "faults", ())
    assert [fault.pointer for fault in faults] == ([] if pointer is None else [pointer])


def test_a_withdrawn_incident_is_not_on_record_any_more(session: Session) -> None:
    keeper = a_keeper(session)
    told = IncidentTold(kind="leak", on="2026-11-10", works=(key_of(a_work(session)),))
    incident = record_incident(session, keeper, told, today=TODAY)
    with pytest.raises(BadValue, match="reason is missing"):
        withdraw_incident(session, keeper, incident.id, "")
    withdraw_incident(session, keeper, incident.id, "it was the other house")
    with pytest.raises(NotFound):
        read_incident(session, keeper, incident.id)
    assert list_incidents(session, keeper) == ([], None)
    assert len(session.exec(select(FollowUp)).all()) == 3


def test_kind_and_note_are_corrected_and_whoever_was_slower_sees_it(session: Session) -> None:
    keeper = a_keeper(session)
    told = IncidentTold(kind="leak", on="2026-11-10", works=(key_of(a_work(session)),))
    incident = record_incident(session, keeper, told, today=TODAY)
    changes = {"kind": "burst pipe", "note": "first floor"}
    changed = correct_incident(session, keeper, incident.id, changes, based_on=1)
    assert (changed.kind, changed.note) == ("burst pipe", "first floor")
    with pytest.raises(Stale):
        correct_incident(session, keeper, incident.id, changes, based_on=7)


def test_an_owner_sees_what_happened_to_their_works_and_to_no_others(session: Session) -> None:
    keeper, owner = a_keeper(session), an_owner(session, "The Gannet House")
    own = key_of(a_work(session, number="A", owner="The Gannet House"))
    other = key_of(a_work(session, number="B", owner="The Tern House"))
    for works in ((own, other), (other,)):
        told = IncidentTold(kind="leak", on="2026-11-10", works=works)
        last = record_incident(session, keeper, told, today=TODAY)
    shown, _ = list_incidents(session, owner)
    assert [{one.work_number for one in incident.follow_ups} for incident in shown] == [{"A"}]
    with pytest.raises(NotFound):
        read_incident(session, owner, last.id)
    with pytest.raises(NotAllowed, match="record an incident"):
        record_incident(session, owner, told, today=TODAY)
    with pytest.raises(NotAllowed, match="withdraw a record"):
        withdraw_incident(session, a_framer(session), last.id, "x")


def test_incidents_are_listed_last_first_in_as_many_statements_for_many_as_for_few(
    session: Session,
) -> None:
    keeper = a_keeper(session)
    works = tuple(key_of(a_work(session)) for _ in range(3))
    told = IncidentTold(kind="leak", on="2026-11-10", works=works)
    record_incident(session, keeper, told, today=TODAY)
    with statements(session) as few:
        list_incidents(session, keeper)
    for _ in range(4):
        record_incident(session, keeper, told, today=TODAY)
    with statements(session) as many:
        first, on = list_incidents(session, keeper, limit=4)
    rest, end = list_incidents(session, keeper, limit=4, before=on)
    assert [one.id for one in first + rest] == [5, 4, 3, 2, 1]
    assert (len(many), end) == (len(few), None)
