"""Which of two materials of the library is better, where, and on how many works is each?"""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from models.actions.in_force import figures_now
from models.actions.materials import FiguresTold, MaterialOnRecord
from models.rules.calendar_days import day_number
from models.rules.material_comparison import Compared, MaterialWeighed, compare_materials
from models.rules.permissions import Deed, require
from models.rules.proposed_package import StockMaterial
from models.rules.record_values import exact_um, size_mm
from models.tables.material_uses import Target, WorksCounted, count_works
from models.tables.visible import Viewer


@dataclass(frozen=True)
class MaterialsCompared:
    """What the rules say of both, and on how many works of this person each is or was."""

    compared: Compared
    works: tuple[WorksCounted, WorksCounted]


def compare_two(
    session: Session,
    viewer: Viewer,
    first: MaterialOnRecord,
    second: MaterialOnRecord,
    *,
    today: int,
) -> MaterialsCompared:
    """Compare two materials by the figures in force. Three statements where these are kept."""
    require(viewer.role, Deed.READ)
    figures = figures_now(session)
    compared = compare_materials(_weighed(first), _weighed(second), figures, today=today)
    return MaterialsCompared(
        compared,
        (
            count_works(session, viewer, Target(first.id)),
            count_works(session, viewer, Target(second.id)),
        ),
    )


def _weighed(material: MaterialOnRecord) -> MaterialWeighed:
    return MaterialWeighed(
        material=_stock(material, material.figures),
        uv_block_percent=material.figures.uv_block_percent,
        is_recalled=material.is_recalled,
    )


def _stock(material: MaterialOnRecord, figures: FiguresTold) -> StockMaterial:
    thick = figures.thickness_mm
    return StockMaterial(
        name=material.told.name,
        kind=material.told.kind,
        grade=figures.grade,
        hold_grade=figures.hold_grade,
        thickness_mm=None if thick is None else size_mm(exact_um(thick)),
        ph=figures.ph,
        alkaline_reserve_percent=figures.alkaline_reserve_percent,
        kappa=figures.kappa,
        buffered=figures.buffered,
        pat=figures.pat,
        pat_day=None if figures.pat_on is None else day_number(date.fromisoformat(figures.pat_on)),
        is_barrier=figures.barrier,
        frees_by=figures.frees_by,
    )
