"""The light ledger of a work as programs see it."""

from sqlalchemy import Engine
from sqlmodel import Session

from tests.builders import a_place, a_work, key_of
from tests.with_app import Browser


def a_lit_work(engine: Engine, *, owner: str | None = None) -> int:
    """A work of class 2 that was hung yesterday at 250 lx."""
    with Session(engine) as session, session.begin():
        place = a_place(session, "House / Hall")
        place.lux, place.hours_per_day, place.uv_uw_per_lm = 250, 8, 10
        place.days_per_year = 365
        work = a_work(session, place="House / Hall", since="2026-11-24", light_class=2, owner=owner)
        return key_of(work)


def test_a_ledger_says_what_was_shown_and_what_is_left(program: Browser, engine: Engine) -> None:
    work = a_lit_work(engine)
    answer = program.get(f"/api/works/{work}/light")
    assert answer.status_code == 200
    told = answer.json()
    turns = told.pop("turns")
    assert told == {
        "work_id": work,
        "light_class": 2,
        "is_class_assumed": False,
        "uv_filtered": True,
        "counted_from": "2026-11-24",
        "lux_hours_so_far": 2_000,
        "days_so_far": 1,
        "days_measured": 0,
        "fades_so_far": 0.002,
        "lux_hours_this_year": 2_000,
        "budget_lux_hours": 15_000,
        "budget_by_fade": 50_000,
        "budget_by_cie": 15_000,
        "left_lux_hours": 13_000,
        "take_down_by": "2026-12-01",
        "days_per_year": 7.5,
        "lux": 250,
        "cie_limit_lux": 50,
        "is_lux_assumed": False,
        "is_measured": False,
        "lux_hours_a_year": 730_000,
        "years_to_fade": 1e6 / 730_000,
    }
    assert turns[1] == {
        "turns": 2,
        "days_a_year": 182.5,
        "lux_hours_a_year": 365_000,
        "years_to_fade": 1e6 / 365_000,
        "is_within_budget": False,
    }


def test_a_work_that_is_not_yours_has_no_ledger(owner: Browser, engine: Engine) -> None:
    assert owner.get(f"/api/works/{a_lit_work(engine)}/light").status_code == 404
    own = a_lit_work(engine, owner="The Gannet House")
    assert owner.get(f"/api/works/{own}/light").status_code == 200
