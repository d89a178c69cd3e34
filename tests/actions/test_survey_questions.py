"""The question worth asking, of the works that the first survey shows."""

from sqlmodel import Session

from models.actions.due import first_survey
from models.actions.forecasts import refresh_forecasts
from models.actions.survey_questions import with_questions
from models.tables.mounts import Package
from models.tables.visible import THE_HOUSE
from models.vocabulary import UNKNOWN_BOARD, Answer
from tests.actions.remats_at_hand import NOW
from tests.builders import a_material, a_poor_mount, a_work, key_of


def test_a_work_behind_a_board_that_nobody_knows_has_its_question(session: Session) -> None:
    unknown = a_material(session, "Cream board", grade=UNKNOWN_BOARD, buffered=None)
    work = a_work(session, number="GH 1")
    mount = a_poor_mount(session, work, unknown)
    package = session.get_one(Package, mount.package_id)
    package.in_front = package.behind = mount.held = Answer.THIS
    refresh_forecasts(session, [key_of(work)], today=NOW)
    page = first_survey(session, THE_HOUSE, today=NOW)
    assert [item.asks for item in page.items] == [""]
    (item,) = with_questions(session, THE_HOUSE, page.items, today=NOW)
    assert item.asks.startswith("Worth asking: ")


def test_nothing_is_asked_where_nothing_waits(session: Session) -> None:
    assert with_questions(session, THE_HOUSE, (), today=NOW) == ()
