"""The policy page: what is set, what a change would move, and the change with its reason."""

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.forecasts import refresh_forecasts
from models.tables.renewal import mark_works
from tests.builders import a_material, a_poor_mount, a_visit, a_work, key_of
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser

TODAY = 20_782
FIGURE = "acid migration/groundwood board"


@pytest.fixture(autouse=True)
def _three_works(app: object, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        pulp = a_material(session, "Pulp", grade="groundwood board")
        keys = []
        for nth in range(3):
            work = a_work(session, number=f"GH {nth}", title="Weir")
            a_poor_mount(session, work, pulp)
            a_visit(session, work, on=f"202{nth}", seen_front=True, seen_margins=True)
            keys.append(key_of(work))
        session.flush()
        refresh_forecasts(session, keys, today=TODAY)


def test_each_field_has_its_unit_its_range_and_the_shipped_figure(keeper: Browser) -> None:
    page = text_of(keeper.get("/policy").text)
    assert "From 0.001 to 0.9 of 1, so 0.05 is 5 %. Shipped: 0.05, default of this project" in page
    assert "7 years at 20 C/50 %, shape 2.5, severity 0.6" in page


def test_a_change_shows_what_would_move_and_is_kept_with_a_reason(keeper: Browser) -> None:
    sent: dict[str, str | list[str]] = {
        "version": "1",
        "allowed_unique": "0.001",
        "look_latest_display_months": "2",
    }
    seen = keeper.send_form("/policy/preview", sent)
    assert seen.status_code == 200
    told = text_of(seen.text)
    assert "Allowed chance, unique works (of 1, so 0.05 is 5 %): 0.05 now, 0.001 then." in told
    assert "Of 3 works" in told
    assert "Nothing is kept yet" in told
    without = keeper.send_form("/policy", {**sent, "reason": ""})
    assert (without.status_code, "The reason is missing." in without.text) == (422, True)
    done = keeper.send_form("/policy", {**sent, "reason": "two faded in the hall"})
    assert done.headers["location"] == "/policy"
    page = text_of(keeper.get("/policy").text)
    assert "Changed on 25 November 2026 by" in page
    assert "two faded in the hall" in page


def test_a_figure_is_changed_on_its_own_page_the_shipped_one_beside(keeper: Browser) -> None:
    form: dict[str, str | list[str]] = {
        "version": "1",
        "of": FIGURE,
        "median": "9",
        "basis": "12 of our own mounts",
    }
    seen = keeper.send_form("/policy/preview", form)
    assert "9 years at 20 C/50 %, shape 2.5, severity 0.6 then." in text_of(seen.text)
    keeper.send_form("/policy", {**form, "reason": "seen on our own mounts"})
    page = text_of(keeper.get("/policy/figure", params={"of": FIGURE}).text)
    assert "In force 9 years at 20 C/50 %, shape 2.5, severity 0.6" in page
    assert "Shipped 7 years at 20 C/50 %, shape 2.5, severity 0.6" in page
    assert "12 of our own mounts" in page


def test_a_value_that_cannot_be_stays_typed_with_what_would_be_right(keeper: Browser) -> None:
    wrong = keeper.send_form("/policy/preview", {"version": "1", "allowed_unique": "7"})
    assert wrong.status_code == 422
    assert 'value="7"' in wrong.text
    assert "From 0.001 to 0.9 of 1, so 0.05 is 5 %." in text_of(wrong.text)
    of_figure = keeper.send_form("/policy/preview", {"version": "1", "of": FIGURE, "median": "0"})
    assert of_figure.status_code == 422
    assert "The median cannot be this." in text_of(of_figure.text)


def test_what_is_as_it_is_in_force_is_no_change(keeper: Browser) -> None:
    same = keeper.send_form("/policy/preview", {"version": "1", "allowed_unique": "0.05"})
    assert (same.status_code, "Nothing was changed" in same.text) == (422, True)


def test_who_was_slower_is_told(keeper: Browser) -> None:
    sent: dict[str, str | list[str]] = {"version": "1", "allowed_unique": "0.02", "reason": "first"}
    keeper.send_form("/policy", sent)
    late = keeper.send_form("/policy", {**sent, "allowed_unique": "0.03", "reason": "second"})
    assert (late.status_code, "Somebody changed this" in late.text) == (409, True)
    assert 'data-put-in="allowed_unique" data-value="0.02"' in late.text


def test_owners_read_it_without_a_form(owner: Browser) -> None:
    page = owner.get("/policy")
    assert page.status_code == 200
    assert "See what would move" not in page.text
    assert owner.get("/policy/figure", params={"of": "acid migration/none"}).status_code == 404


def test_lists_say_how_many_of_ones_own_works_are_being_worked_out_anew(
    keeper: Browser, owner: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        works = [key_of(a_work(session, number=f"T {n}", owner="The Tern House")) for n in "AB"]
        mark_works(session, works)
    for path in ("/due", "/remat", "/policy"):
        assert "2 forecasts are being worked out anew" in text_of(keeper.get(path).text)
        assert "being worked out anew" not in text_of(owner.get(path).text)
