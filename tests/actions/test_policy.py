"""A keeper sees what a change of policy would move before they make it, and then it is so."""

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from models.actions.change_log import recording, verify_log
from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.policy import (
    FigureTold,
    PolicyChange,
    change_policy,
    preview_policy,
    read_policy,
)
from models.actions.renewal import work_off_marks
from models.database import read_session, write_session
from models.errors import BadValue, NotAllowed, Stale
from models.rules.calendar_days import day_number
from models.tables.forecasts import Forecast
from models.tables.renewal import count_stale
from models.tables.visible import Viewer
from models.vocabulary import Mechanism
from tests.builders import (
    a_framer,
    a_keeper,
    a_layer,
    a_material,
    a_mount,
    a_poor_mount,
    a_visit,
    a_work,
    key_of,
)

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = day_number(NOON.date())
STRICT = PolicyChange(settings={"allowed_unique": 0.01})
ACID, GROUNDWOOD = Mechanism.ACID_MIGRATION, "groundwood board"


@pytest.fixture
def keeper(engine: Engine) -> Viewer:
    """A house with a few works in poor and in good packages, looked at once."""
    with recording(engine, actor="test", now=NOON) as session:
        keeper = a_keeper(session)
        poor, good = a_material(session, "Pulp", grade=GROUNDWOOD), a_material(session, "Rag")
        keys = []
        for number in range(6):
            work = a_work(session, number=f"GH {number}")
            if number < 3:
                a_poor_mount(session, work, poor)
            else:
                a_layer(session, a_mount(session, work, mounted=f"201{number}"), good)
            a_visit(session, work, on=f"202{number}", seen_front=True, seen_margins=True)
            keys.append(key_of(work))
        session.flush()
        refresh_forecasts(session, keys, today=TODAY)
    return keeper


def due_days(engine: Engine) -> dict[int, int | None]:
    with read_session(engine) as session:
        return {row.work_id: row.due_on for row in session.exec(select(Forecast))}


def save(engine: Engine, keeper: Viewer, change: PolicyChange, *, based_on: int = 1) -> int:
    with recording(engine, actor=f"person:{keeper.person_id}", now=NOON) as session:
        return change_policy(
            session,
            keeper,
            change,
            reason="two faded in the hall",
            based_on=based_on,
            today=TODAY,
            now=NOON,
        )


@pytest.mark.parametrize(
    "change",
    [
        STRICT,
        PolicyChange(settings={"look_latest_display_months": 3, "box_check_months": 1}),
        PolicyChange(figures={(ACID, GROUNDWOOD): FigureTold(median=60, shape=2)}),
    ],
)
def test_what_was_previewed_is_what_saving_does(
    engine: Engine, keeper: Viewer, change: PolicyChange
) -> None:
    before = due_days(engine)
    with read_session(engine) as session:
        seen = preview_policy(session, keeper, change, today=TODAY)
    assert due_days(engine) == before, "a preview keeps nothing"
    save(engine, keeper, change)
    after = due_days(engine)
    moved = {key: (day, after[key]) for key, day in before.items() if day != after[key]}
    assert {one.work_id: (one.before, one.after) for one in seen.examples} == moved
    assert (seen.works, seen.compared, seen.moved) == (6, 6, len(moved))
    with read_session(engine) as session:
        assert faults_of_stored(session, list(after)) == []


def test_less_allowed_chance_never_moves_a_date_later(engine: Engine, keeper: Viewer) -> None:
    with read_session(engine) as session:
        seen = preview_policy(session, keeper, STRICT, today=TODAY)
    assert seen.later == 0
    assert seen.moved > 0


def test_a_setting_is_kept_with_who_when_and_why_and_can_be_set_back(
    engine: Engine, keeper: Viewer
) -> None:
    before = due_days(engine)
    save(engine, keeper, STRICT)
    with read_session(engine) as session:
        policy = read_policy(session, keeper)
        one = next(s for s in policy.settings if s.setting.name == "allowed_unique")
        assert verify_log(session) == []
    assert (one.value, one.shipped, policy.version) == (0.01, 0.05, 2)
    assert one.touched is not None
    assert (one.touched.by, one.touched.at) == ("K. Inventa", NOON)
    assert one.touched.reason == "two faded in the hall"
    save(engine, keeper, PolicyChange(settings={"allowed_unique": None}), based_on=2)
    with read_session(engine) as session:
        assert read_policy(session, keeper).version == 3
    assert due_days(engine) == before


def test_the_shipped_figure_stays_beside_the_keepers(engine: Engine, keeper: Viewer) -> None:
    own = FigureTold(median=9, basis="12 of our own mounts")
    save(engine, keeper, PolicyChange(figures={(ACID, GROUNDWOOD): own}))
    with read_session(engine) as session:
        shown = next(f for f in read_policy(session, keeper).figures if f.is_own)
    assert (shown.figure.median, shown.shipped.median) == (9, 7)
    assert shown.figure.basis == "12 of our own mounts"


def test_only_a_keeper_sets_the_policy(engine: Engine, keeper: Viewer) -> None:
    with write_session(engine) as session:
        framer = a_framer(session)
    with read_session(engine) as session:
        assert read_policy(session, framer).version == 1
        with pytest.raises(NotAllowed, match="what holds for the whole house"):
            preview_policy(session, framer, STRICT, today=TODAY)


def test_who_was_slower_sees_what_is_there(engine: Engine, keeper: Viewer) -> None:
    save(engine, keeper, STRICT)
    with pytest.raises(Stale):
        save(engine, keeper, PolicyChange(settings={"allowed_unique": 0.02}))


def test_every_value_that_cannot_be_set_is_named(engine: Engine, keeper: Viewer) -> None:
    change = PolicyChange(
        settings={"allowed_unique": 2, "hue": 3},
        figures={(ACID, GROUNDWOOD): FigureTold(median=0)},
    )
    with read_session(engine) as session, pytest.raises(BadValue) as refused:
        preview_policy(session, keeper, change, today=TODAY)
    assert [fault.pointer for fault in refused.value.faults] == [
        "/settings/allowed_unique",
        "/settings/hue",
        "/figures/0/median",
    ]


def test_without_a_reason_nothing_is_set(engine: Engine, keeper: Viewer) -> None:
    with pytest.raises(BadValue, match="reason is missing"):
        _without_a_reason(engine, keeper)


def _without_a_reason(engine: Engine, keeper: Viewer) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        change_policy(session, keeper, STRICT, reason=" ", based_on=1, today=TODAY, now=NOON)


def test_a_change_that_touches_many_works_marks_them(
    engine: Engine, keeper: Viewer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.actions.renewal.AT_ONCE", 5)
    before = due_days(engine)
    assert save(engine, keeper, STRICT) == 6
    assert due_days(engine) == before
    assert work_off_marks(engine, today=TODAY) == 6
    assert due_days(engine) != before
    with read_session(engine) as session:
        assert count_stale(session) == 0
        assert faults_of_stored(session, list(before)) == []


def test_of_a_large_house_the_kept_rows_tell_the_same(
    engine: Engine, keeper: Viewer, monkeypatch: pytest.MonkeyPatch
) -> None:
    with read_session(engine) as session:
        by_records = preview_policy(session, keeper, STRICT, today=TODAY)
        monkeypatch.setattr("models.actions.policy.MOST_COMPARED", 3)
        by_rows = preview_policy(session, keeper, STRICT, today=TODAY)
    assert by_rows == by_records


def test_of_a_large_house_an_even_share_is_compared_where_rows_do_not_tell(
    engine: Engine, keeper: Viewer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("models.actions.policy.MOST_COMPARED", 3)
    change = PolicyChange(figures={(ACID, GROUNDWOOD): FigureTold(median=3)})
    with read_session(engine) as session:
        seen = preview_policy(session, keeper, change, today=TODAY)
    assert (seen.works, seen.compared) == (6, 3)
