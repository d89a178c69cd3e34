"""Which layers and holds act upon a photograph, and which harm a cyanotype by alkali?

What failed the Photographic Activity Test (ISO 18916) acts on a silver or dye
photograph that it touches or faces; what was never tested is suspect where it
touches; what passed does nothing. Only boards, papers and adhesives are asked
for a test: glass, metal and polyester film are inert, and so is a spacer that
does not touch. A failed test counts whatever the layer is. A work whose process
nobody knows is not taken for a photograph: every board of every drawing would
stand untested.

A buffered board or paper that touches a cyanotype may bleach it. Whether a board
is buffered is on record, or its grade says so.
"""

from dataclasses import dataclass

from models.rules.distance_from_work import DISTANCE_FACTOR, PlacedLayer, is_barrier
from models.rules.freeing import adhesive_of_hold
from models.rules.material_fitness import is_photograph
from models.rules.package_facts import HoldFacts, LayerFacts
from models.vocabulary import Distance, LayerRole, PatResult, ProcessGroup

FAILED, NOT_TESTED = "test failed", "not tested"
ALKALI = "alkaline reserve against cyanotype"

_INERT = frozenset({LayerRole.GLAZING, LayerRole.FRAME, LayerRole.SPACER})
BUFFERED_GRADES = frozenset(
    {
        "groundwood core, buffered facing",
        "alpha-cellulose board, buffered",
        "cotton rag board, buffered",
    }
)


@dataclass(frozen=True)
class Acting:
    """By which grade of photo-activity something acts, and what its distance makes of the time."""

    grade: str
    factor: float
    because: str


def acts_on_photograph(placed: PlacedLayer, process_group: str) -> Acting | None:
    """Return how a layer acts on the image of the work, None where it does not."""
    layer, distance = placed.layer, placed.distance
    if not is_photograph(process_group) or distance is Distance.APART:
        return None
    if layer.pat is PatResult.FAILED:
        return Acting(
            FAILED,
            DISTANCE_FACTOR[distance],
            f"it failed the Photographic Activity Test and {distance.value} a photograph",
        )
    if layer.pat is PatResult.NOT_TESTED and distance is Distance.TOUCHES and _is_asked(layer):
        return _not_tested()
    return None


def hold_acts_on_photograph(hold: HoldFacts, process_group: str) -> Acting | None:
    """Return how a hold acts on the image; one without adhesive is asked when it failed only."""
    if not is_photograph(process_group):
        return None
    if hold.pat is PatResult.FAILED:
        return Acting(
            FAILED, 1.0, "it failed the Photographic Activity Test and holds a photograph"
        )
    if hold.pat is PatResult.NOT_TESTED and adhesive_of_hold(hold) is not None:
        return _not_tested()
    return None


def is_alkali_on_cyanotype(placed: PlacedLayer, process_group: str) -> bool:
    """Say whether an alkaline reserve touches a cyanotype."""
    if process_group != ProcessGroup.CYANOTYPE or placed.distance is not Distance.TOUCHES:
        return False
    layer = placed.layer
    return layer.buffered is True or (layer.buffered is None and layer.grade in BUFFERED_GRADES)


def _is_asked(layer: LayerFacts) -> bool:
    # A sound 4-ply board is a barrier to what lies behind it and still touches the print.
    is_inert = layer.role in _INERT or (layer.grade is None and is_barrier(layer))
    return layer.grade is not None and not is_inert


def _not_tested() -> Acting:
    return Acting(NOT_TESTED, 1.0, "it touches a photograph and no activity test is on record")
