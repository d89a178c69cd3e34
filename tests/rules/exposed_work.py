"""A work in its package and place, for tests of what else than its layers can harm it."""

import csv
from pathlib import Path

from models.rules.calendar_days import add_years
from models.rules.default_figures import DefaultFigures, read_default_figures
from models.rules.package_components import Circumstances, ComponentRow, component_rows
from models.rules.package_facts import (
    ClimateFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.vocabulary import Answer, LayerRole, Mechanism, Shown

TODAY = 20_000
WORK = LayerFacts(role=LayerRole.WORK)
GLASS = LayerFacts(role=LayerRole.GLAZING, material="Float glass, 2 mm")
FRAME = LayerFacts(role=LayerRole.FRAME, material="Hardwood frame")
SEAL = LayerFacts(role=LayerRole.SEALING_TAPE, material="Aluminium tape", key=9)
RAG = LayerFacts(role=LayerRole.WINDOW_MAT, grade="cotton rag board, unbuffered", key=1)
BACK = LayerFacts(role=LayerRole.MOUNT_BOARD, grade="cotton rag board, unbuffered", key=2)
POCKETS = HoldFacts(grade="corner pockets or edge strips", key=3, count=4, clearance_mm=3.0)
FRAMED = (GLASS, RAG, WORK, BACK, FRAME)
SEALED = (*FRAMED, SEAL)
ROOM = ClimateFacts()

with (Path(__file__).resolve().parents[2] / "seed_data" / "risk_defaults.csv").open(
    newline="", encoding="utf-8"
) as _file:
    FIGURES: DefaultFigures = read_default_figures(csv.DictReader(_file))


def package(
    *layers: LayerFacts,
    hold: HoldFacts = POCKETS,
    years: float = 10,
    method: str = "",
    recorded: bool = True,
) -> PackageFacts:
    return PackageFacts(
        layers=layers,
        holds=(hold,),
        front=Answer.NONE,
        behind=Answer.NONE,
        held=Answer.THIS,
        method=method,
        mounted_day=add_years(TODAY, -years),
        is_recorded=recorded,
    )


def rows_of(
    of: PackageFacts,
    *,
    work: WorkFacts | None = None,
    climate: ClimateFacts = ROOM,
    past: tuple[tuple[int, ClimateFacts], ...] = (),
    seen: SeenFacts | None = None,
    experience: dict[tuple[Mechanism, str], float] | None = None,
) -> tuple[ComponentRow, ...]:
    return component_rows(
        Circumstances(
            package=of,
            work=work or WorkFacts(technique="etching", width_mm=400, height_mm=300),
            climate=climate,
            past=past,
            seen=seen or SeenFacts(),
            figures=FIGURES,
            experience=experience or {},
            today=TODAY,
        )
    )


def told(mechanism: Mechanism, rows: tuple[ComponentRow, ...]) -> list[tuple[str, Shown, float]]:
    """Return grade, place and typical time of each row of one mechanism."""
    return [(r.grade, r.shown, r.median) for r in rows if r.mechanism is mechanism]


def one(mechanism: Mechanism, rows: tuple[ComponentRow, ...]) -> ComponentRow:
    (row,) = [row for row in rows if row.mechanism is mechanism]
    return row
