"""How many dates lie in each span of days, as they are counted in both databases."""

from collections import defaultdict

import pytest
from sqlmodel import Session

from models.tables.base import FIRST_DAY
from models.tables.due_loads import due_loads
from models.tables.remats import RematScore
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import Advice, DueKind, Role
from tests.builders import (
    a_forecast,
    a_keeper,
    a_visit,
    a_work,
    added,
    an_incident,
    an_owner,
    key_of,
)
from tests.counting import statements

TODAY, NEXT_MONTH, MONTH_AFTER = 20_782, 20_788, 20_819
BOUNDS = (FIRST_DAY, TODAY, NEXT_MONTH, MONTH_AFTER)
OWNER = "The Gannet House"

# By span and kind: how many works, of how many the hours are known, and these hours.
Counted = dict[tuple[int, DueKind], tuple[int, int, float]]


@pytest.fixture
def keeper(session: Session) -> Viewer:
    return a_keeper(session)


def counted(session: Session, viewer: Viewer) -> Counted:
    found: Counted = defaultdict(lambda: (0, 0, 0.0))
    for load in due_loads(session, viewer, BOUNDS):
        works, known, hours = found[load.span_no, load.kind]
        sums = (works + load.works, known + load.known, hours + load.hours)
        found[load.span_no, load.kind] = sums
    return {place: sums for place, sums in found.items() if sums != (0, 0, 0.0)}


def due(session: Session, on: int, kind: DueKind, **columns: object) -> Work:
    work = a_work(session, **columns)  # type: ignore[arg-type]
    a_forecast(session, work, due_on=on, due_kind=kind)
    return work


def a_score(session: Session, work_id: int, hours: float) -> None:
    score = RematScore(
        work_id=work_id,
        cure=Advice.REMAT,
        is_listed=True,
        hours=hours,
        reduced=0.1,
        lost_now=0.1,
        lost_then=0.0,
        risk_of_remat=0.0,
        chance_now=0.1,
        chance_then=0.0,
        cost=100.0,
    )
    added(session, score)


def test_each_bound_begins_its_span_and_ends_the_one_before(
    session: Session, keeper: Viewer
) -> None:
    for on in (FIRST_DAY, TODAY - 1, TODAY, NEXT_MONTH - 1, NEXT_MONTH, MONTH_AFTER):
        due(session, on, DueKind.LOOK)
    due(session, NEXT_MONTH, DueKind.UNFRAMING)
    due(session, TODAY, DueKind.URGENT)
    a_forecast(session, a_work(session))
    assert counted(session, keeper) == {
        (0, DueKind.LOOK): (2, 0, 0.0),
        (1, DueKind.LOOK): (2, 0, 0.0),
        (1, DueKind.URGENT): (1, 0, 0.0),
        (2, DueKind.LOOK): (1, 0, 0.0),
        (2, DueKind.UNFRAMING): (1, 0, 0.0),
    }


def test_remats_come_with_the_hours_that_were_worked_out_and_of_how_many(
    session: Session, keeper: Viewer
) -> None:
    for hours in (3.0, 4.5, None):
        work = due(session, NEXT_MONTH, DueKind.REMAT)
        if hours is not None:
            a_score(session, key_of(work), hours)
    # Of a work that is only looked at next, what a remat would take is not counted.
    a_score(session, key_of(due(session, NEXT_MONTH, DueKind.LOOK)), 9.0)
    due(session, TODAY, DueKind.REMAT)
    assert counted(session, keeper) == {
        (1, DueKind.REMAT): (1, 0, 0.0),
        (2, DueKind.REMAT): (3, 2, 7.5),
        (2, DueKind.LOOK): (1, 0, 0.0),
    }


def test_a_look_after_an_incident_counts_until_it_is_made(session: Session, keeper: Viewer) -> None:
    work = a_work(session)
    an_incident(session, work, "2026-11-20", "2026-12-10", "2027-06-01")
    an_incident(session, work, "2026-12-10", withdrawn_reason="never was")
    assert counted(session, keeper) == {
        (0, DueKind.FOLLOW_UP): (1, 0, 0.0),
        (2, DueKind.FOLLOW_UP): (1, 0, 0.0),
    }


def test_a_work_to_be_taken_down_for_its_light_counts_beside_what_is_due_first(
    session: Session, keeper: Viewer
) -> None:
    for owner, withdrawn in ((OWNER, None), ("The Tern House", None), (OWNER, "sold")):
        work = a_work(session, owner=owner, withdrawn_reason=withdrawn)
        on = {"due_on": NEXT_MONTH, "due_kind": DueKind.LOOK, "take_down_on": TODAY}
        a_forecast(session, work, **on)
    assert counted(session, keeper) == {
        (1, DueKind.TAKE_DOWN): (2, 0, 0.0),
        (2, DueKind.LOOK): (2, 0, 0.0),
    }
    assert counted(session, an_owner(session, OWNER)) == {
        (1, DueKind.TAKE_DOWN): (1, 0, 0.0),
        (2, DueKind.LOOK): (1, 0, 0.0),
    }


def test_boxes_and_works_off_the_register_are_not_counted(session: Session, keeper: Viewer) -> None:
    due(session, TODAY, DueKind.BOX_CHECK)
    due(session, TODAY, DueKind.LOOK)
    for kind in (DueKind.LOOK, DueKind.UNFRAMING, DueKind.REMAT, DueKind.URGENT):
        gone = due(session, TODAY, kind, withdrawn_reason="sold")
        an_incident(session, gone, "2026-11-25")
    assert counted(session, keeper) == {(1, DueKind.LOOK): (1, 0, 0.0)}


def test_an_owner_is_told_the_number_of_their_own_works_alone(
    session: Session, keeper: Viewer
) -> None:
    for owner in (OWNER, "The Tern House", None):
        for kind in (DueKind.LOOK, DueKind.REMAT):
            work = due(session, TODAY, kind, owner=owner)
            a_visit(session, work)
        an_incident(session, work, "2026-11-25")
    due(session, TODAY, DueKind.LOOK, owner=OWNER, withdrawn_reason="sold")
    kinds = (DueKind.LOOK, DueKind.REMAT, DueKind.FOLLOW_UP)
    one, three = (1, 0, 0.0), (3, 0, 0.0)
    assert counted(session, an_owner(session, OWNER)) == {(1, kind): one for kind in kinds}
    assert counted(session, keeper) == {(1, kind): three for kind in kinds}
    # Somebody who is an owner of nothing sees nothing.
    assert counted(session, Viewer(person_id=1, role=Role.OWNER)) == {}


def test_all_spans_take_one_statement(session: Session, keeper: Viewer) -> None:
    with statements(session) as sent:
        counted(session, keeper)
    assert len(sent) == 1
