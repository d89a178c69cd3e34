"""An unknown board is taken as what its bench tests say, and that can be taken back."""

from datetime import date

import pytest
from sqlmodel import Session, select

from models.actions.grade_decisions import GradeDecided, decide_grade, take_back_grade
from models.errors import NotAllowed, NotFound, RuleBroken
from models.rules.calendar_days import day_number
from models.tables.grade_decisions import GradeDecision, standing_decision
from models.tables.mounts import Layer
from models.tables.visits import LayerTest
from models.tables.works import Work
from models.vocabulary import BenchTest, KnownBy, LayerRole, Verdict
from tests.builders import (
    a_framer,
    a_hold,
    a_keeper,
    a_layer,
    a_mount,
    a_visit,
    a_work,
    added,
    an_owner,
    key_of,
    stored_forecast,
)

TODAY = day_number(date(2026, 11, 25))


def a_tested_board(session: Session, *results: tuple[BenchTest, str]) -> tuple[Work, Layer]:
    """A work of the Gannet House on a board that nobody knows, with tests of it."""
    work = a_work(session, owner="The Gannet House")
    mount = a_mount(session, work, mounted="1990-05-01")
    a_layer(session, mount, role=LayerRole.WORK, fitted="1990-05-01")
    board = a_layer(session, mount, fitted="1990-05-01", known_by=KnownBy.TOLD)
    a_hold(session, mount)
    visit = a_visit(session, work)
    for test, result in results:
        row = LayerTest(visit_id=key_of(visit), layer_id=key_of(board), test=test, result=result)
        added(session, row)
    return work, board


BROWN = (BenchTest.BEVEL_COLOUR, "brown")


def test_a_brown_bevel_makes_the_board_groundwood_from_then_on(session: Session) -> None:
    work, board = a_tested_board(session, BROWN)
    framer = a_framer(session)
    decided = decide_grade(session, framer, key_of(board), today=TODAY)
    # Design table: 0.8639 after a brown bevel, 1980 to 2000.
    assert decided == GradeDecided(
        layer_id=key_of(board),
        grade="groundwood board",
        likely=decided.likely,
        tests="bevel colour: brown",
        grade_before=None,
    )
    assert decided.likely == pytest.approx(0.8639, abs=5e-5)
    assert (board.grade, board.known_by) == ("groundwood board", KnownBy.TESTED)
    decision = standing_decision(session, key_of(board))
    assert decision is not None
    assert (decision.decided_on, decision.decided_by_id) == (TODAY, framer.person_id)
    stored = stored_forecast(session, work)
    assert stored is not None
    assert (stored.verdict, stored.weak_layer) == (Verdict.HARMFUL, "mount board")


def test_taking_it_back_puts_there_what_was_said_before(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    keeper = a_keeper(session)
    decide_grade(session, keeper, key_of(board), today=TODAY)
    take_back_grade(session, keeper, key_of(board), today=TODAY)
    assert (board.grade, board.known_by) == (None, KnownBy.TOLD)
    assert standing_decision(session, key_of(board)) is None
    (kept,) = session.exec(select(GradeDecision)).all()
    assert (kept.taken_back_on, kept.taken_back_by_id) == (TODAY, keeper.person_id)


def test_what_somebody_said_since_is_not_undone(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    keeper = a_keeper(session)
    decide_grade(session, keeper, key_of(board), today=TODAY)
    board.grade = "paper-faced foam board"
    take_back_grade(session, keeper, key_of(board), today=TODAY)
    assert board.grade == "paper-faced foam board"


def test_it_can_be_decided_again_after_it_was_taken_back(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    keeper = a_keeper(session)
    for _time in range(2):
        decide_grade(session, keeper, key_of(board), today=TODAY)
        take_back_grade(session, keeper, key_of(board), today=TODAY)
    assert len(session.exec(select(GradeDecision)).all()) == 2


def test_tests_that_say_too_little_decide_nothing(session: Session) -> None:
    _work, board = a_tested_board(session, (BenchTest.PH_PEN, "acid"))
    with pytest.raises(RuleBroken, match="do not say enough") as refused:
        decide_grade(session, a_keeper(session), key_of(board), today=TODAY)
    assert refused.value.code == "tests_say_too_little"


def test_one_decision_stands_at_a_time(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    keeper = a_keeper(session)
    decide_grade(session, keeper, key_of(board), today=TODAY)
    with pytest.raises(RuleBroken, match="take it back first"):
        decide_grade(session, keeper, key_of(board), today=TODAY)


def test_an_owner_decides_nothing(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    with pytest.raises(NotAllowed):
        decide_grade(session, an_owner(session), key_of(board), today=TODAY)


def test_there_must_be_such_a_layer_and_such_a_decision(session: Session) -> None:
    _work, board = a_tested_board(session, BROWN)
    keeper = a_keeper(session)
    with pytest.raises(NotFound):
        decide_grade(session, keeper, 99_999, today=TODAY)
    with pytest.raises(NotFound):
        take_back_grade(session, keeper, key_of(board), today=TODAY)
