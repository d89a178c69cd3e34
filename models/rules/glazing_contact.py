"""Can the work touch its glazing?

It can where there is glazing in front of it and neither a spacer nor a mat between
the two, or where it was pressed against the glazing on purpose. A thin sheet
between them, tissue or film, keeps nothing away. A work whose front nobody knows
is judged as lying behind a mat of unknown board, which is bad enough and keeps it
off. A print that is stuck to its acrylic sheet does not stick to it by chance.
"""

from collections.abc import Sequence

from models.rules.distance_from_work import PlacedLayer
from models.vocabulary import LayerRole, LayerSide, Surface

PRESSED = "pressed against the glazing"
_STUCK_TO_IT = frozenset({"face-mounted", "laminated"})
_KEEPS_OFF = frozenset({LayerRole.SPACER, LayerRole.WINDOW_MAT, LayerRole.OVERMAT})

# The rows of *sticking to the glazing*.
GRADE_OF_SURFACE = {
    Surface.FRIABLE: "friable surface",
    Surface.GELATIN: "gelatin surface",
    Surface.OTHER: "other surface",
}


def can_touch_glazing(placed: Sequence[PlacedLayer], method: str = "") -> bool:
    """Say whether a work held by this method can touch its glazing; blanks must be filled."""
    if method in _STUCK_TO_IT:
        return False
    if method == PRESSED:
        return True
    front = {one.layer.role for one in placed if one.side is LayerSide.FRONT}
    return LayerRole.GLAZING in front and not front & _KEEPS_OFF
