"""What a page says of light: of one work, and of all that must come down."""

import re
from collections.abc import Callable
from datetime import date

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.forecasts import refresh_forecasts
from models.rules.calendar_days import day_number
from tests.builders import a_place, a_technique, a_work, key_of
from tests.with_app import Browser

OWN = "The Gannet House"
TODAY = day_number(date(2026, 11, 25))


def hung(
    engine: Engine,
    *,
    number: str = "GH 1",
    light_class: int | None = 2,
    lux: float = 250,
    since: str = "2026-11-24",
    owner: str | None = None,
    technique: str | None = None,
) -> int:
    """A work that was hung in a hall of its own brightness, lit eight hours a day."""
    with Session(engine) as session, session.begin():
        place = a_place(session, f"House / Hall at {lux:g}")
        place.lux, place.hours_per_day, place.uv_uw_per_lm = lux, 8, 10
        place.days_per_year = 365
        path = f"House / Hall at {lux:g}"
        if technique:
            a_technique(session, technique, process_group=technique, light_class=3)
        work = a_work(
            session,
            number=number,
            place=path,
            since=since,
            light_class=light_class,
            owner=owner,
            technique=technique,
        )
        refresh_forecasts(session, [key_of(work)], today=TODAY)
        return key_of(work)


def text_of(page: str) -> str:
    """The page as it is read: without tags, with single spaces."""
    plain = re.sub(r"<[^>]+>", " ", page).replace("\N{NO-BREAK SPACE}", " ")
    return " ".join(plain.replace("&#39;", "'").split())


def test_a_work_says_by_when_it_comes_down_and_why(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{hung(engine)}").text)
    assert "Take down by 1 December 2026: by then the year's light is used up." in said
    assert "This year so far: 2 000 of 15 000 lux hours (13%)" in said
    assert "Class 2 of 8, high responsivity" in said
    assert "50 000 by 0.05 of a noticeable fade a year, 15 000 by CIE 157:2004" in said
    assert "250 lux, 730 000 lux hours a year; more than the 50 lux of CIE 157:2004" in said
    assert "as somebody said of the place; ultraviolet filtered away" in said
    assert "Days a year on show 7.5" in said
    assert "less than a hundredth of one noticeable fade (2 000 lux hours since" in said


def test_taking_turns_is_told_in_a_table(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{hung(engine, lux=50)}").text)
    assert "none: it stays 365 146 000 6.8 years over the limit" in said
    assert "12 30 12 167 82 years within the limit" in said


def test_a_hardy_work_may_stay(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{hung(engine, light_class=5, lux=50)}").text)
    assert "It may stay where it hangs" in said


def test_a_year_that_is_used_up_is_said_first(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{hung(engine, since='2026-01-01')}").text)
    assert "Take it down: what this year may bring is used up." in said


def test_what_nobody_said_is_named_as_assumed(keeper: Browser, engine: Engine) -> None:
    said = text_of(keeper.get(f"/works/{hung(engine, light_class=None)}").text)
    assert "2 of 8, high responsivity assumed: neither the work nor its technique says" in said


def test_a_work_that_is_nowhere_on_record_is_not_said_to_be_in_the_dark(
    keeper: Browser, engine: Engine
) -> None:
    with Session(engine) as session, session.begin():
        work = key_of(a_work(session, number="GH 9"))
    said = text_of(keeper.get(f"/works/{work}").text)
    assert "Nobody recorded where it is: what light it gets there is not counted." in said
    assert "as somebody said of the place" not in said


def test_a_cyanotype_is_told_apart(keeper: Browser, engine: Engine) -> None:
    work = hung(engine, light_class=3, technique="cyanotype")
    said = text_of(keeper.get(f"/works/{work}").text)
    assert "it recovers in part in the dark, so fades are not added up" in said
    assert "15 000 by CIE 157:2004; the only limit that is kept here" in said


def test_the_list_says_what_comes_down_first(keeper: Browser, engine: Engine) -> None:
    hung(engine, number="GH 5", light_class=5, lux=50)
    hung(engine, number="GH 3", light_class=3, lux=50)
    hung(engine, number="GH 1", since="2026-01-01")
    said = text_of(keeper.get("/light").text)
    assert "2 works in all." in said
    assert re.search(r"take down today GH 1 .* lux hours over .* GH 3", said)
    assert "GH 5" not in said


def test_an_empty_list_says_what_makes_one(keeper: Browser) -> None:
    assert "No work has to come down for its light." in keeper.get("/light").text


def test_an_owner_sees_what_is_theirs(owner: Browser, engine: Engine) -> None:
    hung(engine, number="GH 8", owner=OWN)
    hung(engine, number="GH 9")
    said = text_of(owner.get("/light").text)
    assert "GH 8" in said
    assert "GH 9" not in said


@pytest.mark.parametrize("after", ["x", "-1"])
def test_an_address_that_was_bent_is_refused_in_words(keeper: Browser, after: str) -> None:
    assert keeper.get(f"/light?after={after}").status_code == 422


def test_neither_page_takes_more_statements_than_it_may(
    keeper: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    works = [hung(engine, number=f"GH {nth}") for nth in range(1, 60)]
    assert statements_of(keeper, "/light") <= 12
    assert statements_of(keeper, f"/works/{works[0]}") <= 12
    assert "/light?after=50" in keeper.get("/light").text
