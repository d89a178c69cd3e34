"""At which of the five places of a mounted work does a finding show?

What a board does to a sheet shows at the margins when the board lies in front,
and on the verso when it lies behind; what an adhesive does shows under the
hinges. A stain that follows the edge of the window lies under the mat. All else
on the recto is seen from the front.
"""

from models.vocabulary import Mechanism, Shown, Side

_UNDER_A_BOARD = frozenset(
    {Mechanism.ACID_MIGRATION, Mechanism.PHOTO_ACTIVITY, Mechanism.ALKALI_CONTACT}
)


def where_it_shows(side: Side, mechanism: Mechanism | None, *, follows_window_edge: bool) -> Shown:
    """Return the place at which somebody must look to see this finding again."""
    if mechanism is Mechanism.ADHESIVE_AGEING:
        return Shown.UNDER_HINGES
    if side is Side.VERSO:
        return Shown.VERSO
    if follows_window_edge or mechanism in _UNDER_A_BOARD:
        return Shown.MARGINS
    return Shown.FRONT
