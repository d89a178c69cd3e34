"""Can a material of this kind have been what a record says that it is in a package?

This is not whether it should be: newspaper was a backing and a hinge, and a record of what
was found must take it, to judge it by its grade. A mat board, though, was never a pane. What is
offered for a place of a package is narrower: `models/rules/fit_choices.py`. A kind that
no table here names is a keeper's own word and passes, as nobody knows what it can be.
"""

from models.errors import BadValue
from models.vocabulary import LayerRole

_BOARDS = ("mat board", "mount board", "backing board", "folder or box board")
_SHEETS = ("paper", "tissue", "interleaf", "film")
_STICKS = ("paste", "glue", "tape", "adhesive")
_PANE = "glazing"

# What each layer can be, and was in practice (common practice, no source): panes of thin film,
# prints between two sheets of glass, spacers cut from board, frames of bound-over tape.
POSSIBLE_KINDS: dict[LayerRole, tuple[str, ...]] = {
    LayerRole.GLAZING: (_PANE, "film"),
    LayerRole.SPACER: ("spacer", *_BOARDS, "paper", "tape", "frame", "metal", _PANE),
    LayerRole.OVERMAT: (*_BOARDS, "paper"),
    LayerRole.WINDOW_MAT: (*_BOARDS, "paper"),
    LayerRole.INTERLEAF: (*_SHEETS, *_BOARDS),
    LayerRole.ADHESIVE: _STICKS,
    LayerRole.LINING: (*_SHEETS, *_BOARDS),
    LayerRole.CARRIER: (*_SHEETS, *_BOARDS),
    LayerRole.MOUNT_BOARD: (*_BOARDS, *_SHEETS, "metal", _PANE),
    LayerRole.BARRIER: (*_SHEETS, *_BOARDS, "seal", "metal", _PANE),
    LayerRole.BACKING: (*_BOARDS, *_SHEETS, "metal", _PANE),
    LayerRole.SEALING_TAPE: ("seal", "tape", "paper", "tissue", "film"),
    LayerRole.MAT_TO_BOARD_TAPE: (*_STICKS, "seal", "paper", "tissue"),
    LayerRole.FRAME: ("frame", "metal", "tape", "seal"),
    LayerRole.FOLDER: (*_BOARDS, *_SHEETS, "metal"),
    LayerRole.BOX_LINING: (*_BOARDS, *_SHEETS),
}
# What can hold a work; a board does where it is coated to stick, as its figures then say.
_POSSIBLE_HOLDS = (*_STICKS, "seal", "corner pocket", "edge strip", "metal", *_SHEETS)
_NAMED_KINDS = frozenset(_POSSIBLE_HOLDS).union(*POSSIBLE_KINDS.values())
_OR_UNTOLD = "Or leave the material out, and say in the note what it is."


def refuse_impossible_layer(role: LayerRole, name: str, kind: str, *, sticks: bool) -> None:
    """Raise BadValue for a layer that no material of this kind can be.

    `sticks` is whether the figures of the material call it an adhesive, as those of a
    film for dry mounting do.
    """
    possible = POSSIBLE_KINDS.get(role)
    if possible is None or (role is LayerRole.ADHESIVE and sticks):
        return
    _refuse_other_kinds(possible, name, kind, f"the {role}")


def refuse_impossible_hold(name: str, kind: str, *, holds: bool) -> None:
    """Raise BadValue for a hold that no material of this kind can be.

    `holds` is whether the figures of the material give it a grade as a hold.
    """
    if not holds:
        _refuse_other_kinds(_POSSIBLE_HOLDS, name, kind, "what holds a work")


def _refuse_other_kinds(possible: tuple[str, ...], name: str, kind: str, purpose: str) -> None:
    shelf = kind.strip().casefold()
    if shelf in _NAMED_KINDS and shelf not in possible:
        raise BadValue.at(
            "",
            f"{name} is of the kind “{shelf}” and cannot be {purpose}.",
            f"Wanted is one of these kinds: {', '.join(possible)}. {_OR_UNTOLD}",
        )
