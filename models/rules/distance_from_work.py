"""How near is each layer to the work, and on which side?

Read the layers outward from the work. The first layer on each side touches it.
Later layers in front face it, whatever lies between, because the window is
open: the top mat of a double mat faces. Later layers behind face it too, unless
a barrier lies between: then they are apart. Tape that only joins mat to board,
sealing tape and the frame are apart wherever they are listed; spacers and the
lining of a box face. The window mat of a float does not touch, it faces.

An adhesive touches and hides nothing: the board behind a hinge touches as well.
A person may overrule the distance and the side. Where the work itself is not
listed, the role of each layer decides its side.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from models.rules.package_facts import LayerFacts, PackageFacts
from models.vocabulary import Distance, KnownBy, LayerRole, LayerSide

# What multiplies the typical time to harm. Defaults of this project (judgement).
DISTANCE_FACTOR = {Distance.TOUCHES: 1.0, Distance.FACES: 2.5, Distance.APART: 8.0}

# A board of 4-ply is 1.4 to 1.6 mm (common practice); thinner is no barrier.
FOUR_PLY_MM = 1.4

# Boards free of lignin: the only ones that stop what comes from behind them.
SOUND_BOARDS = frozenset(
    {
        "alpha-cellulose board, buffered",
        "alpha-cellulose board, unbuffered",
        "cotton rag board, buffered",
        "cotton rag board, unbuffered",
    }
)

_SIDE_BY_ROLE = {
    LayerRole.GLAZING: LayerSide.FRONT,
    LayerRole.SPACER: LayerSide.FRONT,
    LayerRole.OVERMAT: LayerSide.FRONT,
    LayerRole.WINDOW_MAT: LayerSide.FRONT,
    LayerRole.INTERLEAF: LayerSide.FRONT,
    LayerRole.WORK: LayerSide.BEHIND,
    LayerRole.ADHESIVE: LayerSide.BEHIND,
    LayerRole.LINING: LayerSide.BEHIND,
    LayerRole.CARRIER: LayerSide.BEHIND,
    LayerRole.MOUNT_BOARD: LayerSide.BEHIND,
    LayerRole.BARRIER: LayerSide.BEHIND,
    LayerRole.BACKING: LayerSide.BEHIND,
    LayerRole.SEALING_TAPE: LayerSide.BEHIND,
    LayerRole.MAT_TO_BOARD_TAPE: LayerSide.BEHIND,
    LayerRole.FRAME: LayerSide.FRONT,
    LayerRole.FOLDER: LayerSide.BEHIND,
    LayerRole.BOX_LINING: LayerSide.BEHIND,
}

# Known wherever they stand, and nothing that lies between the work and the next layer.
_LIES_BESIDE = {
    LayerRole.ADHESIVE: Distance.TOUCHES,
    LayerRole.SEALING_TAPE: Distance.APART,
    LayerRole.MAT_TO_BOARD_TAPE: Distance.APART,
    LayerRole.FRAME: Distance.APART,
}
_NEVER_TOUCHES = frozenset({LayerRole.SPACER, LayerRole.BOX_LINING})
_MATS = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT})
_DOUBTFULLY_KNOWN = frozenset({KnownBy.TOLD, KnownBy.GUESSED, None})


@dataclass(frozen=True)
class PlacedLayer:
    """A layer with the side and the distance at which it lies."""

    layer: LayerFacts
    side: LayerSide
    distance: Distance


def place_layers(package: PackageFacts) -> tuple[PlacedLayer, ...]:
    """Return every layer but the work, in the order given, each with its side and distance."""
    sides = _sides(package.layers)
    front = [i for i, side in enumerate(sides) if side is LayerSide.FRONT][::-1]
    behind = [i for i, side in enumerate(sides) if side is LayerSide.BEHIND]
    distances = _outward(package, front, LayerSide.FRONT) | _outward(
        package, behind, LayerSide.BEHIND
    )
    return tuple(
        PlacedLayer(layer, side, layer.distance or distances[i])
        for i, (layer, side) in enumerate(zip(package.layers, sides, strict=True))
        if side is not None
    )


def side_by_role(role: LayerRole) -> LayerSide:
    """Return the side on which a layer of this role lies where nobody says where the work is."""
    return _SIDE_BY_ROLE[role]


def is_always_apart(role: LayerRole) -> bool:
    """Say whether a layer of this role neither touches nor faces the work, wherever it stands."""
    return _LIES_BESIDE.get(role) is Distance.APART


def is_beside(role: LayerRole) -> bool:
    """Say whether a layer of this role lies between nothing: adhesive, tapes, the frame."""
    return role in _LIES_BESIDE


def is_barrier(layer: LayerFacts) -> bool:
    """Say whether nothing harmful comes through: metal, glass, polyester film, sound 4-ply board.

    A board of unrecorded thickness is none: unknown is suspect.
    """
    if layer.is_barrier:
        return True
    if layer.grade not in SOUND_BOARDS or layer.known_by in _DOUBTFULLY_KNOWN:
        return False
    return layer.thickness_mm is not None and layer.thickness_mm >= FOUR_PLY_MM


def _sides(layers: Sequence[LayerFacts]) -> list[LayerSide | None]:
    """Return each layer's side; None for the work itself."""
    roles = [layer.role for layer in layers]
    work = roles.index(LayerRole.WORK) if LayerRole.WORK in roles else None
    return [_side(layer, i, work) for i, layer in enumerate(layers)]


def _side(layer: LayerFacts, index: int, work: int | None) -> LayerSide | None:
    if layer.role is LayerRole.WORK:
        return None
    if layer.side is not None:
        return layer.side
    if work is None:
        return _SIDE_BY_ROLE[layer.role]
    return LayerSide.FRONT if index < work else LayerSide.BEHIND


def _outward(package: PackageFacts, indexes: Sequence[int], side: LayerSide) -> dict[int, Distance]:
    """Return the distance of each layer of one side, nearest first."""
    found: dict[int, Distance] = {}
    something_between = barrier_between = False
    for i in indexes:
        layer = package.layers[i]
        if layer.role in _LIES_BESIDE:
            found[i] = _LIES_BESIDE[layer.role]
            continue
        found[i] = _next_distance(package, layer, something_between, barrier_between)
        something_between = True
        barrier_between |= side is LayerSide.BEHIND and is_barrier(layer)
    return found


def _next_distance(
    package: PackageFacts,
    layer: LayerFacts,
    something_between: bool,
    barrier_between: bool,
) -> Distance:
    if barrier_between:
        return Distance.APART
    of_a_float = package.floats and layer.role in _MATS
    if something_between or of_a_float or layer.role in _NEVER_TOUCHES:
        return Distance.FACES
    return Distance.TOUCHES
