"""The works in each place are counted anew after every change, and not twice in between."""

from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.place_counts import count_by_place
from models.actions.stays import MoveTold, move_works
from models.actions.works import withdraw_work
from models.database import read_session
from models.tables.visible import THE_HOUSE
from tests.builders import a_keeper, a_place, a_work, key_of
from tests.counting import statements
from tests.with_app import NOON

TODAY = 20_782


def _counted(engine: Engine) -> dict[int, int]:
    with read_session(engine) as session:
        return dict(count_by_place(session, THE_HOUSE))


def test_places_are_counted_once_for_each_state_of_the_record(engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        keeper = a_keeper(session)
        hall, store = (key_of(a_place(session, name)) for name in ("Hall", "Store"))
        one, other, _ = (key_of(a_work(session, place="Hall")) for _ in range(3))
    assert _counted(engine) == {hall: 3}
    with read_session(engine) as session, statements(session) as again:
        assert count_by_place(session, THE_HOUSE) == {hall: 3}
    assert not any("stay" in sent for sent in again)
    with recording(engine, actor="test", now=NOON) as session:
        move_works(session, keeper, [one], MoveTold(place="Store"), today=TODAY)
    assert _counted(engine) == {hall: 2, store: 1}
    with recording(engine, actor="test", now=NOON) as session:
        withdraw_work(session, keeper, other, "never here", today=TODAY)
    assert _counted(engine) == {hall: 1, store: 1}
