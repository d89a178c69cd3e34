"""Has the sheet room to grow and shrink?

One that is held along all its edges has none: in dry air it is strained, in damp
air it cockles. One in pockets or strips has its clearance on either side; it is
restrained when the dampest air of its places makes it grow by more. It was fitted
at 50 %, as a workshop is kept.

What is not on record: a clearance that nobody measured is taken as the usual
1.5 mm a side (common practice, no source), since pockets are seldom cut tighter
and nobody could say so; a sheet that nobody measured as 700 mm long, the longer
side of a large print. Expansion goes by the support: parchment, resin-coated or
other paper.
"""

from dataclasses import dataclass

from models.risk.paper_movement import (
    PAPER_PER_PERCENT,
    PARCHMENT_PER_PERCENT,
    RESIN_COATED_PER_PERCENT,
    movement_mm,
)
from models.rules.package_facts import HoldFacts, Key, PackageFacts, WorkFacts

GRADE = "sheet cannot move"
FITTED_AT_RH_PERCENT = 50.0
USUAL_CLEARANCE_MM = 1.5
UNMEASURED_MM = 700.0
# Methods that hold a sheet along all its edges, and the grade of holds that leave it loose.
HELD_ALL_ROUND = frozenset({"edge-to-edge paste", "taped all round", "edge-lined on a strainer"})
_LOOSE = "corner pockets or edge strips"


@dataclass(frozen=True)
class Restraint:
    """What leaves the sheet no room, and why."""

    key: Key
    name: str
    because: str


def what_restrains(
    package: PackageFacts, work: WorkFacts, dampest_rh_percent: float
) -> Restraint | None:
    """Return what keeps the sheet from moving in the dampest air of its places, or None."""
    if package.method in HELD_ALL_ROUND:
        key = package.holds[0].key if package.holds else None
        return Restraint(key, package.method, "the sheet is held along all its edges")
    growth = _growth_mm(work, dampest_rh_percent)
    for hold in package.holds:
        clearance = _clearance_mm(hold)
        if clearance is not None and growth / 2 > clearance:
            return Restraint(
                hold.key,
                hold.material or hold.grade,
                f"in air of {dampest_rh_percent:.0f} % it grows {growth / 2:.1f} mm a side"
                f" and has {clearance:.1f} mm",
            )
    return None


def _clearance_mm(hold: HoldFacts) -> float | None:
    """Return the room a hold leaves on each side; None for hinges, which let the sheet hang."""
    if hold.clearance_mm is not None:
        return hold.clearance_mm
    return USUAL_CLEARANCE_MM if hold.grade == _LOOSE else None


def _growth_mm(work: WorkFacts, rh_percent: float) -> float:
    longest = max(work.width_mm or 0.0, work.height_mm or 0.0) or UNMEASURED_MM
    damper = max(0.0, rh_percent - FITTED_AT_RH_PERCENT)
    return float(movement_mm(longest, damper, per_percent=_expansion(work)))


def _expansion(work: WorkFacts) -> float:
    said = f"{work.technique} {work.support}".lower()
    if "parchment" in said or "vellum" in said:
        return PARCHMENT_PER_PERCENT
    return RESIN_COATED_PER_PERCENT if "resin-coated" in said else PAPER_PER_PERCENT
