"""A work that a walk did not find is away until it is before somebody again, or moved."""

import pytest
from sqlmodel import Session

from models.actions.due import what_waits_besides
from models.actions.stays import MoveTold, move_works
from models.actions.visit_corrections import correct_visit, withdraw_visit
from models.actions.visits import record_visit
from models.actions.walks import WalkTold, record_walk_round
from models.rules.half_known_dates import read_date
from models.rules.visit_as_told import VisitTold
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.vocabulary import VisitKind
from tests.builders import a_keeper, a_place, a_work, an_owner, key_of

TODAY = read_date("2026-11-25").first_day or 0
ROOM = "Gannet House / Stair"
FIRST, SECOND = "2026-11-20", "2026-11-24"


@pytest.fixture
def keeper(session: Session, reference_data: None) -> Viewer:
    return a_keeper(session)


def _walked(session: Session, keeper: Viewer, on: str, *missing: int) -> None:
    room = key_of(a_place(session, ROOM))
    record_walk_round(session, keeper, room, WalkTold(on=on, not_found=missing), today=TODAY)


def _away(session: Session, viewer: Viewer) -> list[tuple[int, str]]:
    return [(row.work_id, row.on_edtf) for row in what_waits_besides(session, viewer).missing]


def _looked(session: Session, keeper: Viewer, work_id: int, on: str) -> int:
    told = VisitTold(on=on, kind=VisitKind.LOOK)
    return record_visit(session, keeper, work_id, told, today=TODAY).visit_id


def test_it_is_away_since_the_first_walk_that_missed_it(session: Session, keeper: Viewer) -> None:
    other, missed = (key_of(a_work(session, number=n, place=ROOM)) for n in ("A", "B"))
    _walked(session, keeper, FIRST, missed)
    _walked(session, keeper, SECOND, missed, other)
    assert _away(session, keeper) == [(other, SECOND), (missed, FIRST)]
    assert what_waits_besides(session, an_owner(session)).missing == []


def test_a_visit_of_that_day_finds_it_and_taken_back_it_is_away_again(
    session: Session, keeper: Viewer
) -> None:
    _, missed = (key_of(a_work(session, number=n, place=ROOM)) for n in ("A", "B"))
    _walked(session, keeper, SECOND, missed)
    # What was seen before that says nothing of it.
    _looked(session, keeper, missed, FIRST)
    assert _away(session, keeper) == [(missed, SECOND)]
    visit = _looked(session, keeper, missed, SECOND)
    assert _away(session, keeper) == []
    version = session.get_one(Visit, visit).version
    changed = {"on": FIRST}
    version = correct_visit(session, keeper, visit, changed, based_on=version, today=TODAY)
    assert _away(session, keeper) == [(missed, SECOND)]
    changed = {"on": SECOND}
    correct_visit(session, keeper, visit, changed, based_on=version, today=TODAY)
    assert _away(session, keeper) == []
    withdraw_visit(session, keeper, visit, "the wrong print", today=TODAY)
    assert _away(session, keeper) == [(missed, SECOND)]


def test_the_next_walk_finds_it(session: Session, keeper: Viewer) -> None:
    _, missed = (key_of(a_work(session, number=n, place=ROOM)) for n in ("A", "B"))
    _walked(session, keeper, FIRST, missed)
    _walked(session, keeper, SECOND)
    assert _away(session, keeper) == []


def test_moved_on_record_it_is_missed_no_longer(session: Session, keeper: Viewer) -> None:
    _, missed = (key_of(a_work(session, number=n, place=ROOM)) for n in ("A", "B"))
    _walked(session, keeper, SECOND, missed)
    a_place(session, "Gannet House / Attic")
    told = MoveTold(place="Gannet House / Attic")
    move_works(session, keeper, [missed], told, today=TODAY)
    assert _away(session, keeper) == []
