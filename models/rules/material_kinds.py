"""What does a material without a grade count as, and what can a layer be made of?

Glass, film, pockets and strips harm by none of the grades. A board or paper of
which nobody knows the grade is an unknown board, whatever its label claims; a
paste or tape an unknown adhesive. A shelf that nobody has named here holds
boards until somebody says otherwise.

What is found in old packages is odder than anything that one would choose: a newspaper
behind the work, a pane of glass as its backing, tape around glass in place of a frame. All of
that can be told. Only what cannot be there is refused: a mat board is no glazing.
"""

from models.errors import BadValue
from models.vocabulary import UNKNOWN_ADHESIVE, UNKNOWN_BOARD, LayerRole

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


_BOARDS = frozenset({"mat board", "mount board", "backing board", "folder or box board"})
_THIN = frozenset({"paper", "tissue", "interleaf", "film"})
_SHEETS = _BOARDS | _THIN
_STRIPS = frozenset({"tape", "seal", "paper", "tissue"})
# Of which kinds a layer can be (common practice, no source); the work itself has no material.
CAN_BE: dict[LayerRole, frozenset[str]] = {
    LayerRole.GLAZING: frozenset({"glazing", "film"}),
    LayerRole.SPACER: _BOARDS | {"spacer", "frame", "tape", "paper", "metal"},
    LayerRole.OVERMAT: _BOARDS | {"paper"},
    LayerRole.WINDOW_MAT: _BOARDS | {"paper"},
    LayerRole.INTERLEAF: _THIN,
    # Dry-mount tissue is a film of wax or plastic.
    LayerRole.ADHESIVE: STICKS | {"film", "tissue"},
    LayerRole.LINING: _SHEETS,
    LayerRole.CARRIER: _SHEETS,
    LayerRole.MOUNT_BOARD: _SHEETS | {"metal", "glazing"},
    LayerRole.BARRIER: _SHEETS | {"metal", "glazing", "seal"},
    LayerRole.BACKING: _SHEETS | {"metal", "glazing"},
    LayerRole.SEALING_TAPE: _STRIPS | {"film"},
    LayerRole.MAT_TO_BOARD_TAPE: _STRIPS | STICKS,
    LayerRole.FRAME: frozenset({"frame", "metal", "tape", "seal"}),
    LayerRole.FOLDER: _SHEETS,
    LayerRole.BOX_LINING: _SHEETS,
}
_NAMED = frozenset().union(*CAN_BE.values()) | HARMS_BY_NO_GRADE


def refuse_what_it_cannot_be(role: LayerRole, kind: str, name: str) -> None:
    """Raise BadValue where a layer of this role cannot be of a material of this kind.

    A shelf that nobody has named here may hold anything.
    """
    shelf, kinds = kind.strip().casefold(), CAN_BE.get(role)
    if kinds is None or shelf in kinds or shelf not in _NAMED:
        return
    message = f"{name} is of the kind {shelf}: that cannot be the {role}."
    right = f"a material of the kind {' or '.join(sorted(kinds))}"
    raise BadValue.at("", message, right)
