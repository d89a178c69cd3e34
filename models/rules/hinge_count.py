"""How many hinges should carry a sheet, and what do too few cost?

Two at least, and one more for every 380 mm beyond the first span between
hinges that stand 40 mm in from the corners. Fewer than that carry more each and
let go sooner: the typical life of the hold shrinks as the count to the rule's.
An adhesive that lies all over, pockets and strips are not counted.
"""

from math import ceil

# Common practice: a hinge every 25 to 38 cm, 25 to 50 mm in from the corners.
FEWEST_HINGES = 2
INSET_MM = 40.0
LARGEST_SPACING_MM = 380.0

# The holds that are hinges: rows of *hold failure*.
HINGES = frozenset(
    {
        "paper hinges with starch or cellulose ether",
        "gummed tape hinges",
        "acrylic pressure-sensitive hinges or film",
        "rubber pressure-sensitive tape",
        "heat-set tissue or film",
    }
)


def usual_hinge_count(width_mm: float) -> int:
    """Return the number of hinges that the rule of thumb asks for along a top edge."""
    spans = ceil((width_mm - 2 * INSET_MM) / LARGEST_SPACING_MM)
    return max(FEWEST_HINGES, 1 + spans)


def hold_life_factor(
    grade: str, *, count: int | None, width_mm: float | None, covers_all: bool
) -> float:
    """Return what multiplies the typical life of a hold; 1 where count or width is not known."""
    if grade not in HINGES or covers_all or count is None or width_mm is None:
        return 1.0
    return min(1.0, count / usual_hinge_count(width_mm))
