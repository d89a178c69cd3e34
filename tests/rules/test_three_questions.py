import pytest

from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts
from models.rules.three_questions import answers, unanswered, with_blanks_filled
from models.vocabulary import (
    UNKNOWN_ADHESIVE,
    UNKNOWN_BOARD,
    UNKNOWN_HOLD,
    Answer,
    LayerRole,
    Question,
)

WORK = LayerFacts(role=LayerRole.WORK)
MAT = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board")
BOARD = LayerFacts(role=LayerRole.MOUNT_BOARD, grade="cotton rag board, buffered")
POCKETS = HoldFacts(grade="corner pockets or edge strips", count=4)


def test_a_blank_package_answers_none_of_the_three_questions() -> None:
    assert unanswered(PackageFacts()) == tuple(Question)


def test_a_blank_is_judged_as_unknown_board_on_both_sides_and_an_unknown_hold() -> None:
    filled = with_blanks_filled(PackageFacts(layers=(WORK,)))
    assert [(layer.role, layer.grade) for layer in filled.layers] == [
        (LayerRole.WINDOW_MAT, UNKNOWN_BOARD),
        (LayerRole.WORK, None),
        (LayerRole.MOUNT_BOARD, UNKNOWN_BOARD),
    ]
    assert [(hold.grade, hold.adhesive_grade) for hold in filled.holds] == [
        (UNKNOWN_HOLD, UNKNOWN_ADHESIVE)
    ]


def test_none_is_an_answer_and_stands_for_nothing() -> None:
    bare = PackageFacts(layers=(WORK,), front=Answer.NONE, behind=Answer.NONE, held=Answer.NONE)
    assert unanswered(bare) == ()
    assert with_blanks_filled(bare) == bare


def test_a_complete_package_is_judged_as_it_is() -> None:
    package = PackageFacts(layers=(MAT, WORK, BOARD), holds=(POCKETS,))
    assert set(answers(package).values()) == {Answer.THIS}
    assert with_blanks_filled(package) == package


@pytest.mark.parametrize(
    "role",
    [LayerRole.FRAME, LayerRole.SEALING_TAPE, LayerRole.MAT_TO_BOARD_TAPE, LayerRole.ADHESIVE],
)
def test_frame_and_tape_do_not_say_what_is_behind(role: LayerRole) -> None:
    package = PackageFacts(layers=(MAT, WORK, LayerFacts(role=role)), holds=(POCKETS,))
    assert unanswered(package) == (Question.BEHIND,)


def test_a_board_whose_material_nobody_named_is_unknown_board() -> None:
    nameless = LayerFacts(role=LayerRole.WINDOW_MAT)
    package = PackageFacts(layers=(nameless, WORK, BOARD), holds=(POCKETS,))
    assert with_blanks_filled(package).layers[0].grade == UNKNOWN_BOARD


def test_a_planned_package_is_complete_as_it_is_listed() -> None:
    planned = PackageFacts(layers=(MAT, WORK), is_recorded=False)
    assert with_blanks_filled(planned) == planned
