"""A work on a bench for tests of pages: mounted soundly in 2010, its book with reference data."""

from dataclasses import replace

from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.change_log import recording
from models.actions.visits import RecordedVisit, record_visit
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold, VisitTold
from models.tables.people import find_person_by_name
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import LayerRole, Role, VisitKind
from tests.builders import a_person, a_work, key_of
from tests.with_app import NOON, OWNER

TODAY = read_date("2026-11-25").first_day or 0
RAG = "Cotton rag mat board, 4-ply, buffered"
GROUNDWOOD = "Groundwood mat board"
PASTE = "Wheat starch paste on Japanese paper"
STAIR = "Gannet House / Stair"
SOUND = MountTold(
    method="T-hinge",
    layers=(
        LayerTold(role=LayerRole.WINDOW_MAT, material=RAG),
        LayerTold(role=LayerRole.WORK),
        LayerTold(role=LayerRole.MOUNT_BOARD, material=RAG),
    ),
    holds=(HoldTold(material=PASTE, position="top", count=2),),
)
POOR = replace(
    SOUND, layers=(LayerTold(role=LayerRole.WINDOW_MAT, material=GROUNDWOOD), *SOUND.layers[1:])
)
UNFRAMING = VisitTold(on="2010-03-01", kind=VisitKind.UNFRAMING, by="R. Imaginary")


def a_book(engine: Engine) -> None:
    """Put somebody at the bench on record, in a book with the reference data."""
    with recording(engine, actor="test", now=NOON) as session:
        a_person(session, "R. Imaginary")


def a_bench_work(
    engine: Engine, *, owner: str = OWNER, mount: MountTold | None = SOUND, number: str = "GH 1"
) -> int:
    """Put a work on record, mounted in 2010 unless `mount` is None; return its key."""
    with recording(engine, actor="test", now=NOON) as session:
        work = a_work(
            session,
            number=number,
            title="Tern over the Outer Bar",
            maker="I. Hollow",
            made_edtf="1931~",
            technique="wood engraving",
            owner=owner,
            place=STAIR,
            height_um=390_000,
            width_um=300_000,
            recorded_on=TODAY,
        )
        if mount is not None:
            tell(session, key_of(work), replace(UNFRAMING, mount=mount))
        return key_of(work)


def tell(session: Session, work_id: int, told: VisitTold) -> RecordedVisit:
    """Record a visit that is based on the newest version of the work."""
    version = session.get_one(Work, work_id, populate_existing=True).version
    based = replace(told, based_on=version)
    person = find_person_by_name(session, "R. Imaginary")
    assert person is not None, "a_book puts them on record"
    framer = Viewer(key_of(person), Role.FRAMER)
    return record_visit(session, framer, work_id, based, today=TODAY)


def told(engine: Engine, work_id: int, *visits: VisitTold) -> list[int]:
    """Record visits, oldest first; return their keys."""
    with recording(engine, actor="test", now=NOON) as session:
        return [tell(session, work_id, visit).visit_id for visit in visits]
