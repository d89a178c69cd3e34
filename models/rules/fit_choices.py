"""For what may a layer of this work be swapped, and what may hold it anew, the fittest first?

Every material of the library that suits the place is judged as if it lay there: sound
before doubtful before harmful, then what is at hand as a lot in use, then what stays
harmless longest. What was recalled is left out. Nothing unfit is hidden: it stands last,
with its reason.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import PlacedLayer
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.package_verdict import (
    WORST_LAST,
    LayerVerdict,
    verdict_of_hold,
    verdict_of_layer,
)
from models.rules.proposed_package import KINDS_FOR_ROLE, StockMaterial
from models.vocabulary import KnownBy, LayerRole, Mechanism, Verdict

# Of which kinds a layer may be, besides those of which one is proposed by itself.
KINDS: dict[LayerRole, tuple[str, ...]] = {
    **KINDS_FOR_ROLE,
    LayerRole.GLAZING: ("glazing",),
    LayerRole.LINING: ("tissue", "paper"),
    LayerRole.ADHESIVE: ("paste", "glue"),
    LayerRole.SEALING_TAPE: ("seal", "tape"),
    LayerRole.MAT_TO_BOARD_TAPE: ("tape",),
    LayerRole.FRAME: ("frame",),
}


@dataclass(frozen=True)
class LibraryMaterial:
    """A material with its newest figures and the number of the lot in use, if there is one."""

    material: StockMaterial
    lot: str = ""
    is_recalled: bool = False


@dataclass(frozen=True)
class FitChoice:
    """A material, and how it would be judged in this place of this work."""

    name: str
    verdict: Verdict
    why: str
    lot: str
    thickness_mm: float | None


def choices_for_layer(
    placed: PlacedLayer,
    package: PackageFacts,
    library: Iterable[LibraryMaterial],
    work: WorkFacts,
    figures: DefaultFigures,
    *,
    today: int,
) -> tuple[FitChoice, ...]:
    """Return what a layer may be swapped for, the fittest first."""
    kinds = KINDS.get(placed.layer.role, ())
    judged = [
        (
            one,
            verdict_of_layer(in_place(placed, one.material, today), package, work, figures, today),
        )
        for one in library
        if one.material.kind in kinds and not one.is_recalled
    ]
    return _fittest_first(judged)


def choices_for_hold(
    library: Iterable[LibraryMaterial], work: WorkFacts, figures: DefaultFigures, *, today: int
) -> tuple[FitChoice, ...]:
    """Return what may hold the work anew, the fittest first."""
    adhesives = figures.grades(Mechanism.ADHESIVE_AGEING)
    judged = [
        (one, verdict_of_hold(as_hold(one.material, adhesives), work, figures, today))
        for one in library
        if one.material.hold_grade is not None and not one.is_recalled
    ]
    return _fittest_first(judged)


def in_place(placed: PlacedLayer, material: StockMaterial, today: int) -> PlacedLayer:
    """Return this layer as if it were of this material, fitted today."""
    layer = LayerFacts(
        role=placed.layer.role,
        side=placed.side,
        distance=placed.distance,
        grade=material.grade,
        material=material.name,
        known_by=KnownBy.SEEN,
        fitted_first_day=today,
        thickness_mm=material.thickness_mm,
        ph=material.ph,
        alkaline_reserve_percent=material.alkaline_reserve_percent,
        kappa=material.kappa,
        buffered=material.buffered,
        pat=material.pat,
        pat_day=material.pat_day,
        frees_by=material.frees_by,
        is_barrier=material.is_barrier,
    )
    return PlacedLayer(layer, placed.side, placed.distance)


def as_hold(material: StockMaterial, adhesives: Sequence[str]) -> HoldFacts:
    """Return a hold of this material; `adhesives` are the grades by which something sticks."""
    return HoldFacts(
        grade=material.hold_grade or "",
        adhesive_grade=material.grade if material.grade in adhesives else None,
        material=material.name,
        frees_by=material.frees_by,
        pat=material.pat,
        pat_day=material.pat_day,
    )


def _fittest_first(
    judged: Sequence[tuple[LibraryMaterial, LayerVerdict]],
) -> tuple[FitChoice, ...]:
    ordered = sorted(judged, key=_order)
    return tuple(
        FitChoice(one.material.name, its.verdict, _why(its), one.lot, one.material.thickness_mm)
        for one, its in ordered
    )


def _order(pair: tuple[LibraryMaterial, LayerVerdict]) -> tuple[int, int, bool, float, str]:
    one, its = pair
    # What harms by no way lasts longest; a remark is advice and comes after the verdict.
    years = its.typical_years or float("inf")
    return WORST_LAST.index(its.verdict), len(its.remarks), not one.lot, -years, one.material.name


def _why(its: LayerVerdict) -> str:
    return " ".join([its.why, *(remark.sentence for remark in its.remarks)])
