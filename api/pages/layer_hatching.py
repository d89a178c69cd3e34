"""By which hatching is a layer of a package told apart, without a colour?

By what it is made of, which its grade says; what harms by no grade is told apart by
what it is there for. What nobody knows is left blank, with a question mark: a hatching
would pass it off as something.
"""

from collections.abc import Mapping
from enum import StrEnum

from models.rules.package_facts import LayerFacts
from models.vocabulary import UNKNOWN_GRADES, LayerRole


class Hatching(StrEnum):
    """A hatching of the drawings, named by what it stands for."""

    GLASS = "glass"
    RAG = "rag"
    ALPHA = "alpha"
    GROUNDWOOD = "groundwood"
    KRAFT = "kraft"
    UNTESTED = "untested"
    FOAM = "foam"
    WOOD = "wood"
    FILM = "film"
    FABRIC = "fabric"
    STRIP = "strip"
    TAPE = "tape"
    PLAIN = "plain"
    UNKNOWN = "unknown"


# How the grades of boards begin; grades are the rows of seed_data/risk_defaults.csv.
OF_GRADE: Mapping[str, Hatching] = {
    "cotton rag": Hatching.RAG,
    "alpha-cellulose": Hatching.ALPHA,
    "groundwood": Hatching.GROUNDWOOD,
    "corrugated": Hatching.KRAFT,
    "white-core": Hatching.UNTESTED,
    "paper-faced foam": Hatching.FOAM,
    "wood": Hatching.WOOD,
}
OF_ROLE: Mapping[LayerRole, Hatching] = {
    LayerRole.GLAZING: Hatching.GLASS,
    LayerRole.SPACER: Hatching.STRIP,
    LayerRole.INTERLEAF: Hatching.FILM,
    LayerRole.BARRIER: Hatching.FILM,
    LayerRole.LINING: Hatching.FABRIC,
}
TAPES = frozenset({LayerRole.SEALING_TAPE, LayerRole.MAT_TO_BOARD_TAPE, LayerRole.ADHESIVE})


def hatching_of(layer: LayerFacts) -> Hatching:
    """Return the hatching of a layer; that of nothing known wherever it is not known."""
    if is_unknown(layer):
        return Hatching.UNKNOWN
    if layer.role in TAPES:
        return Hatching.TAPE
    by_grade = (drawn for begin, drawn in OF_GRADE.items() if (layer.grade or "").startswith(begin))
    by_role = Hatching.FILM if layer.is_barrier else Hatching.PLAIN
    return next(by_grade, OF_ROLE.get(layer.role, by_role))


def is_unknown(layer: LayerFacts) -> bool:
    """Say whether nobody knows what a layer is: of an unknown grade, or without any word."""
    return layer.grade in UNKNOWN_GRADES or not (layer.grade or layer.material)
