"""What is in front of the work, what is behind it, and what holds it?

Every recorded package must answer the three questions with *none*, *unknown*,
or what it is. A question that nobody answered is unknown: a blank is not a good
package. For an unknown front or back stands a sheet of unknown board that
touches the work; for an unknown hold stands an unknown hold with an unknown
adhesive. The frame, the seal and tape between boards answer nothing. A planned
package is complete as it is listed.
"""

from dataclasses import replace

from models.rules.distance_from_work import PlacedLayer, place_layers
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts
from models.vocabulary import (
    UNKNOWN_ADHESIVE,
    UNKNOWN_BOARD,
    UNKNOWN_HOLD,
    Answer,
    LayerRole,
    LayerSide,
    Question,
)

NOT_RECORDED = "not recorded"

UNKNOWN_IN_FRONT = LayerFacts(
    role=LayerRole.WINDOW_MAT,
    side=LayerSide.FRONT,
    grade=UNKNOWN_BOARD,
    material=NOT_RECORDED,
    known_by=None,
)
UNKNOWN_BEHIND = replace(UNKNOWN_IN_FRONT, role=LayerRole.MOUNT_BOARD, side=LayerSide.BEHIND)
UNKNOWN_HOLDING = HoldFacts(
    grade=UNKNOWN_HOLD,
    adhesive_grade=UNKNOWN_ADHESIVE,
    material=NOT_RECORDED,
    known_by=None,
)

_ANSWERS_NOTHING = frozenset(
    {
        LayerRole.WORK,
        LayerRole.ADHESIVE,
        LayerRole.SEALING_TAPE,
        LayerRole.MAT_TO_BOARD_TAPE,
        LayerRole.FRAME,
    }
)

# A layer of one of these roles is board or paper: with no material named it is unknown board.
_BOARD_OR_PAPER = frozenset(
    {
        LayerRole.OVERMAT,
        LayerRole.WINDOW_MAT,
        LayerRole.INTERLEAF,
        LayerRole.LINING,
        LayerRole.CARRIER,
        LayerRole.MOUNT_BOARD,
        LayerRole.BACKING,
        LayerRole.FOLDER,
        LayerRole.BOX_LINING,
    }
)


def answers(package: PackageFacts) -> dict[Question, Answer]:
    """Return the answer to each question; what was never answered is unknown."""
    placed = place_layers(package)
    return {
        Question.IN_FRONT: _answer(package.front, _lies(placed, LayerSide.FRONT)),
        Question.BEHIND: _answer(package.behind, _lies(placed, LayerSide.BEHIND)),
        Question.HOLDS: _answer(package.held, bool(package.holds)),
    }


def unanswered(package: PackageFacts) -> tuple[Question, ...]:
    """Return the questions whose answer is not known; none of a planned package."""
    if not package.is_recorded:
        return ()
    return tuple(q for q, answer in answers(package).items() if answer is Answer.UNKNOWN)


def with_blanks_filled(package: PackageFacts) -> PackageFacts:
    """Return the package as it must be judged: what is unknown stands in it as unknown."""
    open_questions = unanswered(package)
    layers = tuple(_with_grade(layer) for layer in package.layers)
    if Question.IN_FRONT in open_questions:
        layers = _before_the_work(layers)
    if Question.BEHIND in open_questions:
        layers = _behind_the_work(layers)
    holds = package.holds or _stand_in_hold(package, open_questions)
    return replace(package, layers=layers, holds=holds)


def _answer(given: Answer | None, is_listed: bool) -> Answer:
    # What somebody called unknown stays so until somebody answers: a glass or an outer
    # back that is listed does not say what touches the work.
    if given is Answer.UNKNOWN:
        return Answer.UNKNOWN
    if is_listed:
        return Answer.THIS
    return Answer.NONE if given is Answer.NONE else Answer.UNKNOWN


def _lies(placed: tuple[PlacedLayer, ...], side: LayerSide) -> bool:
    return any(p.side is side and p.layer.role not in _ANSWERS_NOTHING for p in placed)


def _with_grade(layer: LayerFacts) -> LayerFacts:
    """Name what a blank material may be; a named material without a grade harms by none."""
    if layer.grade is not None or layer.material:
        return layer
    if layer.role is LayerRole.ADHESIVE:
        return replace(layer, grade=UNKNOWN_ADHESIVE)
    return replace(layer, grade=UNKNOWN_BOARD) if layer.role in _BOARD_OR_PAPER else layer


def _work_at(layers: tuple[LayerFacts, ...]) -> int | None:
    return next((i for i, layer in enumerate(layers) if layer.role is LayerRole.WORK), None)


def _before_the_work(layers: tuple[LayerFacts, ...]) -> tuple[LayerFacts, ...]:
    at = _work_at(layers)
    at = 0 if at is None else at
    return (*layers[:at], UNKNOWN_IN_FRONT, *layers[at:])


def _behind_the_work(layers: tuple[LayerFacts, ...]) -> tuple[LayerFacts, ...]:
    at = _work_at(layers)
    at = len(layers) if at is None else at + 1
    return (*layers[:at], UNKNOWN_BEHIND, *layers[at:])


def _stand_in_hold(
    package: PackageFacts, open_questions: tuple[Question, ...]
) -> tuple[HoldFacts, ...]:
    if Question.HOLDS not in open_questions:
        return ()
    # An adhesive listed as a layer is known to hold; only how long it will is not.
    known_adhesive = next(
        (layer.grade for layer in package.layers if layer.role is LayerRole.ADHESIVE),
        None,
    )
    return (replace(UNKNOWN_HOLDING, adhesive_grade=known_adhesive or UNKNOWN_ADHESIVE),)
