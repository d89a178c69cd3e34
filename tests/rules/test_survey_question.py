"""Which question is worth asking before a work of the first survey is opened."""

import pytest

from models.rules.package_facts import BenchFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.survey_question import questions_worth_asking
from models.rules.work_forecast import WorkCase
from models.vocabulary import UNKNOWN_BOARD, BenchTest, LayerRole
from tests.rules.exposed_work import BACK, FIGURES, GLASS, TODAY, WORK, package

WINDOW = LayerFacts(role=LayerRole.WINDOW_MAT, grade=UNKNOWN_BOARD, key=1)
UNKNOWN_BACK = LayerFacts(role=LayerRole.MOUNT_BOARD, grade=UNKNOWN_BOARD, key=2)


def a_case(of: PackageFacts | None) -> WorkCase:
    return WorkCase(
        work=WorkFacts(technique="etching", width_mm=400, height_mm=300),
        figures=FIGURES,
        today=TODAY,
        package=of,
        was_ever_examined=False,
    )


def test_of_an_unknown_window_the_lignin_test_tells_most() -> None:
    (found,) = questions_worth_asking([a_case(package(GLASS, WINDOW, WORK, BACK, years=20))])
    assert found is not None
    assert (found.test, found.role) == (BenchTest.LIGNIN_SPOT, LayerRole.WINDOW_MAT)
    red, none = found.answers
    assert (red.result, none.result) == ("red", "none")
    # Framed after 2000: 0.35 groundwood, 0.35 white-core, 0.30 better, which show red in 0.97,
    # 0.10 and 0.01 of cases.
    assert red.likely == pytest.approx(0.35 * 0.97 + 0.35 * 0.10 + 0.30 * 0.01)
    assert red.likely + none.likely == pytest.approx(1)
    assert red.on is not None
    assert none.on is not None
    assert red.on < none.on


def test_the_sentence_names_both_dates() -> None:
    (found,) = questions_worth_asking([a_case(package(GLASS, WINDOW, WORK, BACK, years=1))])
    assert found is not None
    assert found.sentence.startswith(
        "Worth asking: what does the lignin spot test say of the window mat? Red: due "
    )
    assert "; none: due " in found.sentence


def test_a_young_bevel_is_not_asked_about_and_a_board_behind_has_none() -> None:
    young = LayerFacts(
        role=LayerRole.WINDOW_MAT,
        grade=UNKNOWN_BOARD,
        tests=(
            BenchFacts(test=BenchTest.LIGNIN_SPOT, result="none"),
            BenchFacts(test=BenchTest.PH_PEN, result="acid"),
        ),
    )
    behind = LayerFacts(role=LayerRole.MOUNT_BOARD, grade=UNKNOWN_BOARD, tests=young.tests)
    window = a_case(package(GLASS, young, WORK, BACK, years=9))
    back = a_case(package(GLASS, WORK, behind, years=30))
    assert questions_worth_asking([window, back]) == [None, None]


def test_a_known_package_has_no_such_question() -> None:
    known = LayerFacts(role=LayerRole.WINDOW_MAT, grade="groundwood board", key=1)
    assert questions_worth_asking([a_case(package(GLASS, known, WORK, BACK))]) == [None]
    assert questions_worth_asking([]) == []


def test_where_nothing_at_all_is_known_one_answer_moves_nothing() -> None:
    assert questions_worth_asking([a_case(None)]) == [None]


def test_works_together_are_asked_the_same_as_one_by_one() -> None:
    cases = [
        a_case(package(GLASS, WINDOW, WORK, BACK, years=20)),
        a_case(package(GLASS, BACK, WORK, UNKNOWN_BACK, years=5)),
        a_case(None),
    ]
    together = questions_worth_asking(cases)
    assert together == [questions_worth_asking([case])[0] for case in cases]
