"""After every deed the log proves the tables, and no deed writes behind its back."""

from datetime import UTC, datetime

from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording, verify_log
from models.actions.incidents import IncidentTold, record_incident, withdraw_incident
from models.actions.lots import LotTold, add_lot, use_lot
from models.actions.materials import FiguresTold, MaterialTold, add_material, correct_figures
from models.actions.owners import OwnerTold, add_owner, change_owner
from models.actions.people import PersonTold, add_person, change_person, erase_name
from models.actions.place_changes import add_place, change_place
from models.actions.places import PlaceTold
from models.actions.recalls import lift_recall, recall_lot
from models.actions.stays import MoveTold, move_works, withdraw_stay
from models.actions.works import WorkTold, change_work, register_work, withdraw_work
from models.database import read_session
from models.rules.calendar_days import day_number
from models.tables.log import LogEntry
from models.tables.people import people
from seed_data.shipped import shipped_default_figures
from tests.builders import a_keeper, key_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = day_number(NOON.date())
DEFAULTS = shipped_default_figures()
STAIR, STUDY = "Gannet House / Stair", "Gannet House / Study"


def test_the_log_proves_every_table_after_the_deeds_of_the_register(engine: Engine) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        keeper = a_keeper(session)
    with recording(engine, actor="person:1", now=NOON) as session:
        owner = add_owner(session, keeper, OwnerTold(name="The Tern House"))
        change_owner(session, keeper, key_of(owner), {"name": "The Gannet House"}, based_on=1)
        for path in ("Gannet House", STAIR, STUDY):
            place = add_place(session, keeper, PlaceTold(path=path))
        change_place(session, keeper, place.id, {"lux": 40}, based_on=1, today=TODAY)
        erase_name(
            session,
            keeper,
            add_person(session, keeper, PersonTold(name="B. Nobody")).id,
            "asked for it",
        )
    with recording(engine, actor="person:1", now=NOON) as session:
        told = WorkTold(number="GH 1", title="The Mill", place=STAIR, owner="The Gannet House")
        work = register_work(session, keeper, told, today=TODAY).id
        change_work(session, keeper, work, {"title": "The Weir"}, based_on=1, today=TODAY)
        move = MoveTold(place=STUDY, on="2026-11-20")
        (stay,) = move_works(session, keeper, [work], move, today=TODAY)
        withdraw_stay(session, keeper, stay.id, "another work was meant", today=TODAY)
    with recording(engine, actor="person:1", now=NOON) as session:
        told_board = MaterialTold(name="Board", kind="board")
        board = add_material(session, keeper, told_board, FiguresTold(), defaults=DEFAULTS).id
        correct_figures(session, keeper, board, {"ph": 8}, defaults=DEFAULTS, today=TODAY)
        add_lot(session, keeper, board, LotTold(number="1", in_use=True), today=TODAY)
        lot = add_lot(session, keeper, board, LotTold(number="2"), today=TODAY).id
        use_lot(session, keeper, lot)
        recall = recall_lot(session, keeper, lot, "brown", today=TODAY)
        lift_recall(session, keeper, recall.id, "another lot", today=TODAY)
    with recording(engine, actor="person:1", now=NOON) as session:
        leak = IncidentTold(kind="leak", on="2026-11-10", place=STAIR)
        incident = record_incident(session, keeper, leak, today=TODAY)
        withdraw_incident(session, keeper, incident.id, "another house")
        withdraw_work(session, keeper, work, "entered twice", today=TODAY)
    with read_session(engine) as session:
        assert verify_log(session) == []


def test_the_log_never_holds_a_persons_name_so_that_erasing_it_is_one_change(
    engine: Engine,
) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        keeper = a_keeper(session)
        person = add_person(session, keeper, PersonTold(name="B. Nobody"))
    with recording(engine, actor="person:1", now=NOON) as session:
        changes = {"name": "Bea Nobody"}
        change_person(session, keeper, person.id, changes, based_on=1)
    with recording(engine, actor="person:1", now=NOON) as session:
        erase_name(session, keeper, person.id, "asked for it")
    with read_session(engine) as session:
        payloads = [entry.payload or "" for entry in session.exec(select(LogEntry))]
        assert [payload for payload in payloads if "Nobody" in payload] == []
        assert [person.name for person in people(session)] == ["K. Inventa", "erased person 2"]
        assert verify_log(session) == []
