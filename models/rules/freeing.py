"""How does a work come out of its mount?

Each hold is freed by what frees its adhesive; a hold without adhesive on the
work lifts out. The worst of what touches the work decides. An adhesive that
lies all over is worse than the same adhesive at a hinge: the water or solvent
must reach the middle of the sheet. Nobody knows what frees an unknown hold;
until somebody has looked it counts as solvent or heat at a hinge, and as not
without harm all over.

What an earlier mount left on the work does not hold it in this one and is not
counted here; see remains.
"""

from collections.abc import Iterable

from models.rules.package_facts import HoldFacts, LayerFacts
from models.vocabulary import UNKNOWN_ADHESIVE, UNKNOWN_HOLD, Freeing

EASIEST_FIRST = tuple(Freeing)

# Grades of *adhesive ageing*: freed at a hinge, freed when it lies all over.
# Common practice, no source, where the preservation manuals do not say it.
FREEING_OF_ADHESIVE: dict[str, tuple[Freeing, Freeing]] = {
    "starch paste": (Freeing.WATER, Freeing.WATER),
    "cellulose ether paste": (Freeing.WATER, Freeing.WATER),
    "gummed paper or linen tape": (Freeing.WATER, Freeing.WATER),
    "animal glue": (Freeing.WATER, Freeing.NOT_WITHOUT_HARM),
    "acrylic pressure-sensitive": (Freeing.SOLVENT_OR_HEAT, Freeing.NOT_WITHOUT_HARM),
    "rubber pressure-sensitive": (Freeing.SOLVENT_OR_HEAT, Freeing.NOT_WITHOUT_HARM),
    "heat-set tissue or film": (Freeing.SOLVENT_OR_HEAT, Freeing.SOLVENT_OR_HEAT),
    "spray or rubber cement": (Freeing.NOT_WITHOUT_HARM, Freeing.NOT_WITHOUT_HARM),
    "hot-melt": (Freeing.SOLVENT_OR_HEAT, Freeing.NOT_WITHOUT_HARM),
    UNKNOWN_ADHESIVE: (Freeing.SOLVENT_OR_HEAT, Freeing.NOT_WITHOUT_HARM),
}

# Grades of *hold failure* and the adhesive each implies when no other is named.
ADHESIVE_OF_HOLD: dict[str, str | None] = {
    "corner pockets or edge strips": None,
    "paper hinges with starch or cellulose ether": "starch paste",
    "gummed tape hinges": "gummed paper or linen tape",
    "acrylic pressure-sensitive hinges or film": "acrylic pressure-sensitive",
    "rubber pressure-sensitive tape": "rubber pressure-sensitive",
    "heat-set tissue or film": "heat-set tissue or film",
    "spray or rubber cement": "spray or rubber cement",
    UNKNOWN_HOLD: UNKNOWN_ADHESIVE,
}


def worst_freeing(freeings: Iterable[Freeing]) -> Freeing:
    """Return the hardest way out; with nothing that sticks the work lifts out."""
    return max(freeings, key=EASIEST_FIRST.index, default=Freeing.NO_ADHESIVE)


def freeing_of_adhesive(grade: str | None, *, covers_all: bool = False) -> Freeing:
    """Return what frees an adhesive of this grade; no grade means no adhesive."""
    if grade is None:
        return Freeing.NO_ADHESIVE
    at_hinge, all_over = FREEING_OF_ADHESIVE[grade]
    return all_over if covers_all else at_hinge


def adhesive_of_hold(hold: HoldFacts) -> str | None:
    """Return the grade of the adhesive on the work: as recorded, or as the hold implies."""
    return hold.adhesive_grade or ADHESIVE_OF_HOLD[hold.grade]


def freeing_of_hold(hold: HoldFacts) -> Freeing:
    """Return what frees one hold: the material's own word, made worse when it lies all over."""
    by_grade = freeing_of_adhesive(adhesive_of_hold(hold), covers_all=hold.covers_all)
    return _as_recorded(hold.frees_by, by_grade, covers_all=hold.covers_all)


def freeing_of_adhesive_layer(layer: LayerFacts) -> Freeing:
    """Return what frees an adhesive that is recorded as a layer touching the work."""
    by_grade = freeing_of_adhesive(layer.grade or UNKNOWN_ADHESIVE, covers_all=layer.covers_all)
    return _as_recorded(layer.frees_by, by_grade, covers_all=layer.covers_all)


def _as_recorded(recorded: Freeing | None, by_grade: Freeing, *, covers_all: bool) -> Freeing:
    if recorded is None:
        return by_grade
    return worst_freeing([recorded, by_grade]) if covers_all else recorded
