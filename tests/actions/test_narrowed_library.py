import pytest
from sqlmodel import Session

from models.actions.materials import NOT_KNOWN, LotState, MaterialsAsked
from models.actions.narrowed_library import narrowed_library
from models.tables.visible import Viewer
from tests.builders import a_keeper, a_lot, a_material
from tests.counting import statements


@pytest.fixture(name="keeper")
def _keeper(session: Session) -> Viewer:
    rag = a_material(session, "Rag board", kind="mat board", grade="cotton rag board, buffered")
    a_lot(session, rag, "L-1").in_use = True
    grey = a_material(session, "Grey board", kind="mat board", grade="unknown board")
    a_lot(session, grey, "L-2").in_use = False
    a_material(
        session, "Tape", kind="tape", grade="acrylic pressure-sensitive",
        hold_grade="acrylic pressure-sensitive hinges or film",
    )  # fmt: skip
    a_material(session, "Glass", kind="glazing", grade=None)
    session.flush()
    return a_keeper(session)


def test_each_choice_is_counted_with_all_else_that_is_asked(
    session: Session, keeper: Viewer
) -> None:
    found = narrowed_library(session, keeper, MaterialsAsked(kind="mat board"))
    assert [one.told.name for one in found.materials] == ["Grey board", "Rag board"]
    assert (found.count, found.of_all) == (2, 4)
    assert found.kinds == {"glazing": 1, "mat board": 2, "tape": 1}
    assert found.grades == {
        "acrylic pressure-sensitive": 0,
        "acrylic pressure-sensitive hinges or film": 0,
        "cotton rag board, buffered": 1,
        "unknown board": 1,
        NOT_KNOWN: 0,
    }
    assert found.lots == {LotState.IN_USE: 1, LotState.NONE_IN_USE: 1}


def test_a_tape_is_found_by_its_grade_and_by_its_grade_as_a_hold(
    session: Session, keeper: Viewer
) -> None:
    for grade in ("acrylic pressure-sensitive", "acrylic pressure-sensitive hinges or film"):
        found = narrowed_library(session, keeper, MaterialsAsked(grade=grade))
        assert [one.told.name for one in found.materials] == ["Tape"]
    found = narrowed_library(session, keeper, MaterialsAsked(grade=NOT_KNOWN))
    assert [one.told.name for one in found.materials] == ["Glass"]


def test_where_nothing_answers_each_thing_given_up_is_counted(
    session: Session, keeper: Viewer
) -> None:
    asked = MaterialsAsked(q="grey", lot=LotState.IN_USE)
    found = narrowed_library(session, keeper, asked)
    assert (found.materials, found.without) == ((), {"q": 1, "lot": 1})


def test_the_library_goes_on_where_it_stopped_and_takes_four_statements(
    session: Session, keeper: Viewer
) -> None:
    with statements(session) as sent:
        first = narrowed_library(session, keeper, MaterialsAsked(limit=3))
    assert (len(sent), first.goes_on_after, first.count) == (4, "Rag board", 4)
    rest = narrowed_library(session, keeper, MaterialsAsked(limit=3, after="Rag board"))
    assert [one.told.name for one in rest.materials] == ["Tape"]
