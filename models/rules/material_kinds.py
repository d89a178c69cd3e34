"""What does a material without a grade count as?

Glass, film, pockets and strips harm by none of the grades. A board or paper of
which nobody knows the grade is an unknown board, whatever its label claims; a
paste or tape an unknown adhesive. A shelf that nobody has named here holds
boards until somebody says otherwise.
"""

from models.vocabulary import UNKNOWN_ADHESIVE, UNKNOWN_BOARD

HARMS_BY_NO_GRADE = frozenset(
    {"film", "glazing", "corner pocket", "edge strip", "spacer", "frame", "metal"}
)
STICKS = frozenset({"paste", "glue", "tape", "adhesive", "seal"})


def grade_of_kind(
    kind: str, *, grade: str | None, hold_grade: str | None, is_barrier: bool
) -> str | None:
    """Return the grade as told, or what stands in for one that nobody knows.

    A tape whose grade as a hold is known implies its adhesive.
    """
    if grade is not None:
        return grade
    shelf = kind.strip().casefold()
    if shelf in STICKS:
        return UNKNOWN_ADHESIVE if hold_grade is None else None
    return None if is_barrier or shelf in HARMS_BY_NO_GRADE else UNKNOWN_BOARD
