import json
from datetime import UTC, datetime

from sqlalchemy import Engine
from sqlmodel import Session, SQLModel, col, select

from models.actions.change_log import recording, verify_log
from models.database import read_session
from models.tables.log import LogEntry
from models.tables.materials import Material, MaterialFigures, find_material_by_name
from models.tables.terms import FindingTerm, MountMethod, TreatmentTerm
from models.tables.works import Technique
from models.vocabulary import Freeing, Mechanism, PatResult, Surface
from seed_data.load import load_reference_data
from seed_data.shipped import (
    read_finding_terms,
    read_materials,
    read_mount_methods,
    read_techniques,
    read_treatment_terms,
)

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TABLES: tuple[type[SQLModel], ...] = (
    Material,
    MaterialFigures,
    Technique,
    FindingTerm,
    MountMethod,
    TreatmentTerm,
)


def load(engine: Engine) -> None:
    with recording(engine, actor="command", now=NOON) as session:
        load_reference_data(session)


def stored(session: Session) -> list[dict[str, object]]:
    return [
        row.model_dump()
        for table in TABLES
        for row in session.exec(select(table).order_by(col(table.id)))  # type: ignore[attr-defined]
    ]


def test_everything_shipped_is_in_the_book_and_the_log_is_whole(engine: Engine) -> None:
    load(engine)
    with read_session(engine) as session:
        counts = [len(session.exec(select(table)).all()) for table in TABLES]
        assert counts == [
            len(read_materials()),
            len(read_materials()),
            len(read_techniques()),
            len(read_finding_terms()),
            len(read_mount_methods()),
            len(read_treatment_terms()),
        ]
        assert verify_log(session) == []


def test_loading_twice_changes_nothing(engine: Engine) -> None:
    load(engine)
    with read_session(engine) as session:
        before = stored(session)
    load(engine)
    with read_session(engine) as session:
        assert stored(session) == before
        assert len(session.exec(select(LogEntry)).all()) == 1


def test_figures_come_with_their_basis_and_sizes_in_whole_micrometres(engine: Engine) -> None:
    load(engine)
    with read_session(engine) as session:
        material = find_material_by_name(session, "Cotton rag mat board, 4-ply, buffered")
        assert material is not None
        figures = session.exec(
            select(MaterialFigures).where(MaterialFigures.material_id == material.id)
        ).one()
        basis = json.loads(figures.basis)
        told = figures.model_dump(exclude={"id", "material_id", "basis"})
    assert told == {
        "edition": 1,
        "grade": "cotton rag board, buffered",
        "hold_grade": None,
        "frees_by": None,
        "ph": 8.0,
        "alkaline_reserve_percent": 2.0,
        "kappa": 5.0,
        "pat": PatResult.NOT_TESTED,
        "pat_on": None,
        "buffered": "yes",
        "barrier": False,
        "thickness_um": 1500,
        "mass_g_per_m2": 1050.0,
        "sheet_height_um": 813_000,
        "sheet_width_um": 1_016_000,
        "uv_block_percent": None,
    }
    assert basis["alkaline_reserve_percent"].startswith("published source (Library of Congress")
    assert basis["thickness_mm"] == "common practice, no source"


def test_words_come_back_as_the_types_of_the_trade(engine: Engine) -> None:
    load(engine)
    with read_session(engine) as session:
        pastel = session.exec(select(Technique).where(Technique.name == "pastel")).one()
        burn = session.exec(select(FindingTerm).where(FindingTerm.term == "mat burn")).one()
        mould = session.exec(select(FindingTerm).where(FindingTerm.term == "active mould")).one()
        hinge = session.exec(select(MountMethod).where(MountMethod.name == "T-hinge")).one()
        assert (pastel.surface, pastel.process_group) == (Surface.FRIABLE, "none")
        assert (burn.suggests_mechanism, burn.urgent_sign) == (Mechanism.ACID_MIGRATION, "")
        assert (mould.urgency, mould.urgent_sign) == ("does not wait", "active mould")
        assert (hinge.frees_by, hinge.floats) == (Freeing.WATER, False)


def test_what_a_keeper_changed_or_named_first_is_left_alone(engine: Engine) -> None:
    with recording(engine, actor="person:1", now=NOON) as session:
        own = Material(name="groundwood MAT board", kind="mat board", note="as we call it")
        session.add(own)
    load(engine)
    with recording(engine, actor="person:1", now=NOON) as session:
        hinge = session.exec(select(MountMethod).where(MountMethod.name == "T-hinge")).one()
        hinge.hazard = "Ours has never stained."
        session.add(hinge)
        glass = find_material_by_name(session, "Float glass, 2 mm")
        assert glass is not None
        session.add(MaterialFigures(material_id=glass.id or 0, edition=2, uv_block_percent=50))
    load(engine)
    with read_session(engine) as session:
        assert find_material_by_name(session, "Groundwood mat board") is None
        kept = session.exec(select(MountMethod).where(MountMethod.name == "T-hinge")).one()
        assert kept.hazard == "Ours has never stained."
        of_glass = select(MaterialFigures).where(MaterialFigures.material_id == glass.id)
        editions = session.exec(of_glass.order_by(col(MaterialFigures.edition))).all()
        assert [(f.edition, f.uv_block_percent) for f in editions] == [(1, 45), (2, 50)]
        assert verify_log(session) == []
