"""A night's renewal from kept rows: the same days as from the records, on both databases."""

import numpy as np
import pytest
from sqlalchemy import text
from sqlmodel import Session

from models.actions.bulk_renewal import DatesIf, dates_if, renew_block, works_of_figures
from models.actions.bulk_renewal import renew_from_rows as renew_all
from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.in_force import in_force
from models.rules.kept_years import HELD_NIGHTS
from models.rules.package_components import Experience
from models.rules.policy import Policy
from models.vocabulary import LayerRole, Mechanism
from tests.builders import (
    a_hold,
    a_layer,
    a_material,
    a_mount,
    a_poor_mount,
    a_visit,
    a_work,
    key_of,
    stored_forecast,
)

# 2026-11-25.
TODAY = 20_782
GROUNDWOOD = (Mechanism.ACID_MIGRATION, "groundwood board")


@pytest.fixture
def works(session: Session) -> list[int]:
    """A work in rag, one in groundwood, one never mounted on record, one mounted in nothing."""
    pulp = a_material(session, "Pulp", grade="groundwood board")
    good, poor, bare, odd = (a_work(session, number=n, recorded_on=TODAY) for n in "ABCD")
    mount = a_mount(session, good, mounted="2015-03-01")
    a_layer(session, mount, a_material(session), role=LayerRole.WINDOW_MAT)
    a_hold(session, mount)
    a_poor_mount(session, poor, pulp)
    a_mount(session, odd)
    for work in (good, poor, odd):
        a_visit(session, work, on="2021-06-01", seen_front=True, seen_margins=True)
    ids = [key_of(work) for work in (good, poor, bare, odd)]
    refresh_forecasts(session, ids, today=TODAY)
    return ids


def renew(
    session: Session,
    today: int,
    *,
    policy: Policy | None = None,
    experience: Experience | None = None,
    batch: int = 2,
) -> int:
    session.flush()
    figures = in_force(session).figures
    return renew_all(
        session.connection(), figures, policy or Policy(), experience or {}, today, batch
    )


def asked(session: Session, policy: Policy, experience: Experience | None = None) -> DatesIf:
    figures = in_force(session).figures
    return dates_if(session.connection(), figures, policy, experience or {}, TODAY, 3)


@pytest.mark.parametrize("later", [0, 1, 400, 3000])
def test_renewed_from_rows_is_worked_out_from_records(
    session: Session, works: list[int], later: int
) -> None:
    assert renew(session, TODAY + later) == len(works)
    # Each is worked out again from its records, at the day of its score.
    assert faults_of_stored(session, works) == []
    days = {row.score_day for key in works if (row := stored_forecast(session, key))}
    assert days == {TODAY + later}


def test_night_after_night_is_the_same_as_once(session: Session, works: list[int]) -> None:
    for later in range(0, 1500, 250):
        renew(session, TODAY + later)
    assert faults_of_stored(session, works) == []


def test_a_renewal_can_stop_and_go_on_where_it_was(session: Session, works: list[int]) -> None:
    connection, figures = session.connection(), in_force(session).figures
    first = renew_block(connection, figures, Policy(), {}, TODAY + 9, after=0, most=3)
    assert first is not None
    assert (first.last_work_id, first.works) == (works[2], 3)
    rest = renew_block(connection, figures, Policy(), {}, TODAY + 9, after=works[2])
    assert rest is not None
    assert rest.works == 1
    assert renew_block(connection, figures, Policy(), {}, TODAY + 9, after=works[3]) is None


def test_a_night_on_which_nothing_comes_due_moves_no_day(
    session: Session, works: list[int]
) -> None:
    connection, figures = session.connection(), in_force(session).figures
    done = renew_block(connection, figures, Policy(), {}, TODAY + 1, after=0)
    assert done is not None
    assert (done.works, done.moved) == (len(works), 0)


def test_a_keeper_who_asks_what_if_changes_nothing(session: Session, works: list[int]) -> None:
    before = [stored_forecast(session, key) for key in works]
    days = [None if row is None else row.due_on for row in before]
    same = asked(session, Policy())
    assert (same.work_ids.tolist(), same.moved) == (works, 0)
    sooner = asked(session, Policy(look_latest_display_months=6, allowed_unique=0.01))
    assert sooner.moved > 0
    is_known = ~np.isnan(sooner.new)
    assert (sooner.new[is_known] <= sooner.old[is_known]).all()
    after = [stored_forecast(session, key) for key in works]
    assert [None if row is None else row.due_on for row in after] == days


def test_own_experience_counts_from_the_next_night_on(session: Session, works: list[int]) -> None:
    def chance() -> float:
        session.expire_all()
        row = stored_forecast(session, works[1])
        assert row is not None
        assert row.chance_new_5y is not None
        return row.chance_new_5y

    renew(session, TODAY)
    as_shipped = chance()
    renew(session, TODAY, experience={GROUNDWOOD: 0.5})
    assert chance() < as_shipped


def kept_years(session: Session, works: list[int]) -> list[bytes | None]:
    """Return what is kept of the search for the dates of each work."""
    session.expire_all()
    rows = [stored_forecast(session, key) for key in works]
    return [None if row is None else row.kept_years for row in rows]


def dues(session: Session, works: list[int]) -> list[tuple[int | None, int | None]]:
    session.expire_all()
    rows = [stored_forecast(session, key) for key in works]
    return [(row.due_on, row.unframing_on) for row in rows if row is not None]


def of_another_work(session: Session, one: int, other: int) -> None:
    """Keep for one work the years that were found for another, as no deed of ours can."""
    session.connection().execute(
        text(
            "UPDATE forecast SET kept_years = (SELECT o.kept_years FROM forecast o"
            " WHERE o.work_id = :other) WHERE work_id = :one"
        ),
        {"one": one, "other": other},
    )


def test_what_a_night_found_is_kept_until_somebody_records_anything(
    session: Session, works: list[int]
) -> None:
    assert kept_years(session, works) == [None] * len(works)
    renew(session, TODAY)
    found = kept_years(session, works)
    assert None not in found
    renew(session, TODAY + 400)
    assert kept_years(session, works) == found
    refresh_forecasts(session, works[:1], today=TODAY + 401)
    assert kept_years(session, works) == [None, *found[1:]]


def test_a_night_after_a_change_of_policy_finds_what_a_night_without_anything_kept_does(
    session: Session, works: list[int]
) -> None:
    stricter = Policy(allowed_unique=0.01, look_latest_display_months=6)
    renew(session, TODAY)
    as_shipped = dues(session, works)
    renew(session, TODAY + 1, policy=stricter)
    found = dues(session, works)
    assert found != as_shipped
    session.connection().execute(text("UPDATE forecast SET kept_years = NULL"))
    renew(session, TODAY + 1, policy=stricter)
    assert dues(session, works) == found


def test_kept_years_that_are_wrong_are_found_out_and_last_thirty_nights_at_most(
    session: Session, works: list[int]
) -> None:
    renew(session, TODAY)
    found = dues(session, works)
    of_another_work(session, works[1], works[0])
    assert faults_of_stored(session, works) == ["B: stored kept years differ."]
    nights = range(TODAY, TODAY + HELD_NIGHTS)
    turn = next(night for night in nights if (works[1] + night) % HELD_NIGHTS == 0)
    renew(session, turn)
    assert faults_of_stored(session, works) == []
    assert dues(session, works) == found


def test_the_works_that_rest_on_a_figure_are_found(session: Session, works: list[int]) -> None:
    found = works_of_figures(session.connection(), [GROUNDWOOD], batch=3)
    assert [key for block in found for key in block] == [works[1]]


def test_a_kept_row_that_is_wrong_is_found_out(session: Session, works: list[int]) -> None:
    told = {"one": works[0], "other": works[1]}
    session.connection().execute(
        text(
            "UPDATE component_rows SET packed_rows = (SELECT o.packed_rows FROM component_rows o"
            " WHERE o.work_id = :other) WHERE work_id = :one"
        ),
        told,
    )
    session.connection().execute(
        text("DELETE FROM component_rows WHERE work_id = :other"), {"other": works[3]}
    )
    assert faults_of_stored(session, works) == [
        "A: stored kept rows differ.",
        "D: stored kept rows (there are none) differ.",
    ]
