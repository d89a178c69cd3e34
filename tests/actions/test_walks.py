import pytest
from sqlmodel import Session, col, select

from models.actions.places import place_tree
from models.actions.walks import (
    ExceptionTold,
    WalkTold,
    in_walking_order,
    record_box_check,
    record_walk_round,
    walked_meanwhile,
)
from models.errors import BadValue, Contradiction, NotAllowed, RuleBroken
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import SightingTold
from models.tables.places import FollowUp, Incident, IncidentWork, Walk
from models.tables.visits import Visit
from models.vocabulary import Change, PlaceUse, Severity, Shown, VisitKind
from tests.builders import a_framer, a_keeper, a_place, a_work, added, an_owner, key_of

TODAY = read_date("2026-11-25").first_day or 0
ROOM = "Gannet House / Stair"
ON = "2026-11-24"


def test_sixty_frames_of_a_room_are_looked_at_in_one_act(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    works = [a_work(session, place=f"{ROOM} / Wall {n % 3}", recorded_on=TODAY) for n in range(60)]
    a_work(session, place="Gannet House / Attic")
    walked = record_walk_round(session, framer, key_of(room), WalkTold(on=ON), today=TODAY)
    visits = session.exec(select(Visit).order_by(col(Visit.work_id))).all()
    assert [v.work_id for v in visits] == [key_of(work) for work in works]
    assert {(v.kind, v.on_edtf, v.saw(), v.walk_id) for v in visits} == {
        (VisitKind.LOOK, ON, frozenset({Shown.FRONT}), walked.walk_id)
    }
    assert len(walked.as_before) == 60


@pytest.mark.usefixtures("reference_data")
def test_what_was_not_as_before_is_told_work_by_work(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    as_before, foxed, missing = (
        a_work(session, number=n, place=ROOM) for n in ("GH 1", "GH 2", "GH 3")
    )
    spots = SightingTold(change=Change.NEW, term="foxing", severity=Severity.SLIGHT)
    told = WalkTold(
        on=ON,
        all_as_before_except=(
            ExceptionTold(work_id=key_of(foxed), summary="spots", sightings=(spots,)),
        ),
        not_found=(key_of(missing),),
        note="by daylight",
    )
    walked = record_walk_round(session, framer, key_of(room), told, today=TODAY)
    visits = {v.work_id: v for v in session.exec(select(Visit))}
    assert set(visits) == {key_of(as_before), key_of(foxed)}
    assert visits[key_of(foxed)].summary == "spots"
    assert {v.walk_id for v in visits.values()} == {walked.walk_id}
    assert session.exec(select(Walk)).one().note == "by daylight\nNot found: GH 3."


def test_what_nobody_looked_at_is_named_and_gets_no_visit(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    seen, passed_by = (a_work(session, number=n, place=ROOM) for n in ("GH 1", "GH 2"))
    told = WalkTold(on=ON, not_looked_at=(key_of(passed_by),))
    walked = record_walk_round(session, framer, key_of(room), told, today=TODAY)
    assert walked.as_before == (key_of(seen),)
    assert [visit.work_id for visit in session.exec(select(Visit))] == [key_of(seen)]
    assert session.exec(select(Walk)).one().note == "Not looked at: GH 2."
    nobody = WalkTold(on=ON, not_looked_at=(key_of(seen), key_of(passed_by)))
    with pytest.raises(RuleBroken) as error:
        record_walk_round(session, framer, key_of(room), nobody, today=TODAY)
    assert error.value.code == "nothing_looked_at"


def test_one_walks_as_the_places_stand_and_passes_by_the_boxes(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    a_place(session, f"{ROOM} / Box 4", use=PlaceUse.BOX)
    for number, wall in (("4", "/ South"), ("1", "/ South"), ("3", "/ North"), ("2", "")):
        a_work(session, number=number, place=f"{ROOM} {wall}".strip())
    a_work(session, number="5", place=f"{ROOM} / Box 4")
    tree = place_tree(session)
    walls = in_walking_order(session, framer, tree, key_of(room), VisitKind.LOOK)
    assert [(wall.within, [work.number for work in wall.works]) for wall in walls] == [
        ("", ["2"]),
        ("North", ["3"]),
        ("South", ["1", "4"]),
    ]


def test_a_walk_of_the_house_is_told_to_who_walks_round_one_of_its_rooms(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    a_place(session, "Gannet House / Attic")
    for place in (ROOM, "Gannet House / Attic"):
        a_work(session, place=place)
    tree = place_tree(session)
    elsewhere, of_all = (
        record_walk_round(
            session, framer, tree.find(path) or 0, WalkTold(on=ON), today=TODAY
        ).walk_id
        for path in ("Gannet House / Attic", "Gannet House")
    )
    meanwhile = walked_meanwhile(session, framer, key_of(room), VisitKind.LOOK, after=0)
    assert [walk.walk_id for walk in meanwhile] == [of_all]
    assert walked_meanwhile(session, framer, key_of(room), VisitKind.LOOK, after=of_all) == []
    assert elsewhere != of_all


def test_a_box_is_checked_as_a_box_and_its_sheets_stay_unseen(session: Session) -> None:
    framer = a_framer(session)
    box = a_place(session, "Store / Box 4", use=PlaceUse.BOX)
    work = a_work(session, place="Store / Box 4", recorded_on=TODAY)
    record_box_check(session, framer, key_of(box), WalkTold(on=ON), today=TODAY)
    visit = session.exec(select(Visit)).one()
    assert (visit.work_id, visit.kind, visit.saw()) == (
        key_of(work),
        VisitKind.BOX_CHECK,
        frozenset(),
    )


def test_whoever_walks_round_a_room_sees_nothing_of_what_lies_in_its_boxes(
    session: Session,
) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    a_place(session, f"{ROOM} / Box 4", use=PlaceUse.BOX)
    hung = a_work(session, place=ROOM)
    boxed = a_work(session, place=f"{ROOM} / Box 4 / Folder 1")
    record_walk_round(session, framer, key_of(room), WalkTold(on=ON), today=TODAY)
    assert [v.work_id for v in session.exec(select(Visit))] == [key_of(hung)]
    told = WalkTold(on=ON, not_found=(key_of(boxed),))
    with pytest.raises(BadValue, match="is not in this place"):
        record_walk_round(session, framer, key_of(room), told, today=TODAY)


def test_a_fault_of_one_work_says_which_of_the_walk_it_is(session: Session) -> None:
    framer = a_framer(session)
    room = a_place(session, ROOM)
    works = [a_work(session, place=ROOM) for _ in range(2)]
    unknown = SightingTold(change=Change.NEW, term="fozing", severity=Severity.SLIGHT)
    told = WalkTold(
        on=ON,
        all_as_before_except=(
            ExceptionTold(work_id=key_of(works[0]), summary="dust"),
            ExceptionTold(work_id=key_of(works[1]), sightings=(unknown,)),
        ),
    )
    with pytest.raises(BadValue) as error:
        record_walk_round(session, framer, key_of(room), told, today=TODAY)
    pointers = [fault.pointer for fault in error.value.faults]
    assert pointers == ["/all_as_before_except/1/sightings/0/term"]


def test_a_wall_is_no_box(session: Session) -> None:
    framer = a_framer(session)
    place = a_place(session, ROOM, use=PlaceUse.DISPLAY)
    with pytest.raises(RuleBroken) as error:
        record_box_check(session, framer, key_of(place), WalkTold(on=ON), today=TODAY)
    assert error.value.code == "no_box"


@pytest.mark.parametrize(
    ("told", "code"),
    [
        (WalkTold(on="2026-11-26"), "in_the_future"),
        (WalkTold(on=ON, seen=frozenset({Shown.MARGINS})), "cannot_be_seen"),
    ],
)
def test_a_walk_sees_no_further_than_eyes_can(session: Session, told: WalkTold, code: str) -> None:
    keeper = a_keeper(session)
    room = a_place(session, ROOM)
    a_work(session, place=ROOM)
    with pytest.raises((RuleBroken, Contradiction)) as error:
        record_walk_round(session, keeper, key_of(room), told, today=TODAY)
    assert error.value.code == code


def test_a_work_of_another_room_is_refused_by_its_place_in_the_list(session: Session) -> None:
    keeper = a_keeper(session)
    room = a_place(session, ROOM)
    a_work(session, place=ROOM)
    elsewhere = a_work(session, place="Attic")
    told = WalkTold(on=ON, not_found=(key_of(elsewhere),))
    with pytest.raises(BadValue) as error:
        record_walk_round(session, keeper, key_of(room), told, today=TODAY)
    assert [fault.pointer for fault in error.value.faults] == ["/not_found/0"]


def test_an_owner_does_not_walk_round(session: Session) -> None:
    owner = an_owner(session)
    room = a_place(session, ROOM)
    a_work(session, place=ROOM, owner="The Gannet House")
    with pytest.raises(NotAllowed):
        record_walk_round(session, owner, key_of(room), WalkTold(on=ON), today=TODAY)


def test_a_look_closes_what_an_incident_asked_for_once_its_day_has_come(session: Session) -> None:
    keeper = a_keeper(session)
    room = a_place(session, ROOM)
    work = a_work(session, place=ROOM)
    incident = added(session, Incident(kind="leak", on_edtf="2026-11-01"))
    within = added(session, IncidentWork(incident_id=key_of(incident), work_id=key_of(work)))
    due, later = (
        added(session, FollowUp(incident_work_id=key_of(within), due_on=day))
        for day in (TODAY - 10, TODAY + 10)
    )
    record_walk_round(session, keeper, key_of(room), WalkTold(on=ON), today=TODAY)
    visit = session.exec(select(Visit)).one()
    assert (due.done_by_visit_id, later.done_by_visit_id) == (visit.id, None)
