"""Stored forecasts are worked out anew: a few at once, many later, all of them every night."""

from datetime import UTC, datetime, time, timedelta

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, SQLModel, select

from models.actions import renewal
from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.remat_scores import SCORE_HOLDS_DAYS
from models.actions.renewal import (
    EXPERIENCE,
    FORECASTS,
    Renewer,
    give_back,
    night_of,
    refresh_or_mark,
    refresh_or_mark_all,
    take_lease,
    work_off_marks,
)
from models.database import read_session, write_session
from models.rules.calendar_days import day_number
from models.tables.component_rows import ComponentRows
from models.tables.forecasts import Forecast
from models.tables.remats import RematScore
from models.tables.renewal import count_stale, done_day_of
from models.tables.works import Work
from tests.builders import a_material, a_place, a_poor_mount, a_stay, a_visit, a_work, key_of

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = day_number(NOON.date())
DAY = timedelta(days=1)


def works(session: Session, number: int) -> list[int]:
    a_work(session, number="0")
    row = dict(session.exec(select(Work)).one())
    more = [{**row, "id": row["id"] + n, "number": str(n), "code": None} for n in range(1, number)]
    for n, one in enumerate(more, start=1):
        one["code"] = f"{n:08d}"
    if more:
        session.connection().execute(SQLModel.metadata.tables["work"].insert(), more)
    return [row["id"], *(one["id"] for one in more)]


def stale(engine: Engine) -> int:
    with read_session(engine) as session:
        return count_stale(session)


def days(engine: Engine) -> list[int | None]:
    with read_session(engine) as session:
        return [row.score_day for row in session.exec(select(Forecast))]


def renewer(engine: Engine, holder: str = "one", now: datetime = NOON) -> Renewer:
    return Renewer(engine=engine, holder=holder, clock=lambda: now, renew_at=time(3, 15))


def all_turns(who: Renewer) -> int:
    turns = 0
    while who.turn():
        turns += 1
    return turns


def test_two_hundred_works_are_worked_out_at_once_and_one_more_are_marked(engine: Engine) -> None:
    with write_session(engine) as session:
        keys = works(session, 201)
        refresh_or_mark(session, keys[:200], today=TODAY)
    assert (stale(engine), len(days(engine))) == (0, 200)
    with write_session(engine) as session:
        refresh_or_mark(session, keys, today=TODAY)
        refresh_or_mark(session, keys, today=TODAY)
    assert (stale(engine), len(days(engine))) == (201, 200)
    assert [work_off_marks(engine, today=TODAY, most=150) for _ in range(3)] == [150, 51, 0]
    assert (stale(engine), len(days(engine))) == (0, 201)


def test_every_work_is_marked_when_a_setting_touches_them_all(engine: Engine) -> None:
    with write_session(engine) as session:
        works(session, 201)
        assert refresh_or_mark_all(session, today=TODAY) == 201
    assert stale(engine) == 201


def test_a_mark_that_is_rolled_back_is_none(engine: Engine) -> None:
    with pytest.raises(RuntimeError, match="given up"):
        _mark_and_give_up(engine)
    assert stale(engine) == 0


def _mark_and_give_up(engine: Engine) -> None:
    with write_session(engine) as session:
        refresh_or_mark(session, works(session, 201), today=TODAY)
        raise RuntimeError("given up")


def test_a_lease_is_one_holders_until_it_ends_or_is_given_back(engine: Engine) -> None:
    assert take_lease(engine, FORECASTS, holder="one", now=NOON)
    assert not take_lease(engine, FORECASTS, holder="two", now=NOON)
    assert take_lease(engine, FORECASTS, holder="one", now=NOON), "a holder holds on to it"
    give_back(engine, FORECASTS, holder="two", now=NOON)
    assert not take_lease(engine, FORECASTS, holder="two", now=NOON), "it was not theirs to give"
    give_back(engine, FORECASTS, holder="one", now=NOON)
    assert take_lease(engine, FORECASTS, holder="two", now=NOON)


def test_a_holder_that_was_killed_is_followed_when_its_lease_ends(engine: Engine) -> None:
    with write_session(engine) as session:
        refresh_or_mark(session, works(session, 201), today=TODAY)
    assert take_lease(engine, FORECASTS, holder="killed", now=NOON)
    assert not renewer(engine, "two").turn()
    assert stale(engine) == 201
    assert renewer(engine, "two", NOON + renewal.LEASE_LASTS + timedelta(seconds=1)).turn()
    assert stale(engine) == 0


@pytest.mark.parametrize(
    ("local", "night"),
    [
        (datetime(2026, 11, 25, 3, 14, tzinfo=UTC), TODAY - 1),
        (datetime(2026, 11, 25, 3, 15, tzinfo=UTC), TODAY),
        (datetime(2026, 11, 25, 23, 59, tzinfo=UTC), TODAY),
    ],
)
def test_a_night_begins_at_its_hour(local: datetime, night: int) -> None:
    assert night_of(local, time(3, 15)) == night


def test_a_night_that_was_missed_is_caught_up_and_done_once(engine: Engine) -> None:
    with write_session(engine) as session:
        keys = works(session, 3)
        refresh_or_mark(session, keys, today=TODAY - 9)
    assert all_turns(renewer(engine)) == 2, "own experience first, then the forecasts"
    assert days(engine) == [TODAY] * 3
    assert all_turns(renewer(engine)) == 0
    assert all_turns(renewer(engine, now=NOON + DAY)) == 2
    with read_session(engine) as session:
        assert done_day_of(session, FORECASTS) == TODAY + 1


def test_a_renewal_that_stopped_goes_on_with_the_oldest(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(renewal, "BATCH", 2)
    with write_session(engine) as session:
        keys = works(session, 3)
        for ago, key in enumerate(keys, start=1):
            refresh_or_mark(session, [key], today=TODAY - ago)
    who = renewer(engine)
    assert [who.turn(), who.turn()] == [True, True]
    assert sorted(day or 0 for day in days(engine)) == [TODAY - 1, TODAY, TODAY]
    who.stop()
    assert all_turns(renewer(engine, "another")) == 1
    assert days(engine) == [TODAY] * 3


def night_later(engine: Engine, monkeypatch: pytest.MonkeyPatch, days_later: int) -> list[int]:
    """Return how many works a night worked out from their records, batch by batch."""
    asked: list[int] = []

    def told(session: Session, work_ids: list[int], *, today: int) -> None:
        asked.append(len(work_ids))
        refresh_forecasts(session, work_ids, today=today)

    monkeypatch.setattr(renewal, "refresh_forecasts", told)
    all_turns(renewer(engine, now=NOON + days_later * DAY))
    with read_session(engine) as session:
        assert faults_of_stored(session, every_work(session)) == []
    assert set(days(engine)) == {TODAY + days_later}
    return asked


def every_work(session: Session) -> list[int]:
    return [key_of(work) for work in session.exec(select(Work))]


@pytest.fixture
def in_groundwood(engine: Engine) -> Engine:
    """Two works, one of them in a poor mat; everything renewed today."""
    with write_session(engine) as session:
        a_work(session, number="A", recorded_on=TODAY)
        poor = a_work(session, number="B", recorded_on=TODAY)
        a_poor_mount(session, poor, a_material(session, "Pulp", grade="groundwood board"))
        a_visit(session, poor, on="2021-06-01", seen_front=True, seen_margins=True)
        session.flush()
        refresh_or_mark(session, every_work(session), today=TODAY)
    all_turns(renewer(engine))
    return engine


def test_a_night_on_which_no_date_moves_reads_no_records(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert night_later(in_groundwood, monkeypatch, 1) == [0]


def test_a_night_takes_along_the_day_by_which_used_up_light_ends_and_reads_no_records(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with write_session(in_groundwood) as session:
        hall = a_place(session, "House / Hall")
        hall.lux, hall.hours_per_day = 500, 10
        for work in session.exec(select(Work)):
            a_stay(session, work, place="House / Hall", since="2020-01-01")
        refresh_or_mark(session, every_work(session), today=TODAY)
    assert night_later(in_groundwood, monkeypatch, 1) == [0]
    with read_session(in_groundwood) as session:
        taken_down = [row.take_down_on for row in session.exec(select(Forecast))]
    assert taken_down == [TODAY + 1, TODAY + 1]


def test_scores_are_renewed_within_two_months_though_no_date_moves(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert night_later(in_groundwood, monkeypatch, 2 * SCORE_HOLDS_DAYS) == [2]


def test_another_stock_renews_the_scores_in_the_next_night(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with write_session(in_groundwood) as session:
        for score in session.exec(select(RematScore)):
            score.stock = "of another stock"
    assert night_later(in_groundwood, monkeypatch, 1) == [2]


def test_a_work_of_which_no_rows_are_kept_is_worked_out_from_its_records(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    with write_session(in_groundwood) as session:
        session.delete(session.exec(select(ComponentRows)).first())
    assert night_later(in_groundwood, monkeypatch, 1) == [1]


def test_own_experience_that_changed_renews_every_work(
    in_groundwood: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(renewal, "renew_experience", lambda *_: True)
    renewal.renew_factors(in_groundwood, today=TODAY, now=NOON, night=TODAY)
    assert stale(in_groundwood) == 2


def test_who_asks_the_mounts_for_longer_than_a_lease_lasts_holds_on_to_it(
    in_groundwood: Engine,
) -> None:
    begun, minute = NOON + DAY, timedelta(minutes=1)
    readings = iter([begun, begun + 3 * minute])
    slow = Renewer(
        engine=in_groundwood, holder="slow", clock=lambda: next(readings), renew_at=time(3, 15)
    )
    give_back(in_groundwood, FORECASTS, holder="one", now=NOON)
    assert slow.turn()
    with read_session(in_groundwood) as session:
        assert done_day_of(session, EXPERIENCE) == TODAY + 1
    assert not take_lease(in_groundwood, FORECASTS, holder="other", now=begun + 4 * minute)


def test_a_withdrawn_work_is_not_renewed_for_ever(engine: Engine) -> None:
    with write_session(engine) as session:
        work = a_work(session)
        work.withdrawn_reason = "entered twice"
        refresh_or_mark(session, [key_of(work)], today=TODAY - 5)
    assert all_turns(renewer(engine)) == 2
    assert all_turns(renewer(engine)) == 0
