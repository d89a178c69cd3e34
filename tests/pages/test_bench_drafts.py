"""A visit is left and come back to: with a script and without one, and from two tablets."""

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine
from sqlmodel import Session, select

from models.tables.mounts import Mount
from models.tables.visits import Treatment, Visit
from tests.builders import a_work, key_of
from tests.exchange.pictures import as_file, four_colours
from tests.pages.bench_work import POOR, RAG, a_bench_work, a_book
from tests.pages.form_filled import Fields
from tests.pages.test_visits import (
    ALL_NO,
    count,
    form_in,
    opened,
    sent,
    shown_after,
)
from tests.pages.test_work_page import statements_for, text_of
from tests.with_app import Browser
from tests.with_database import fresh_url

__all__ = ["fresh_url"]

SCRIPT = {"Accept": "application/json"}


@pytest.fixture(autouse=True)
def _book(app: FastAPI, engine: Engine, reference_data: None) -> None:
    a_book(engine)


def saved(browser: Browser, fields: Fields, **changes: str) -> Fields:
    """Save without a script, and return what the next page shows."""
    return form_in(shown_after(browser, sent(browser, fields, "seen", **changes)).text)


def by_script(browser: Browser, fields: Fields, **changes: str) -> tuple[int, dict[str, object]]:
    told = {n: v for n, v in {**fields, **changes}.items() if n != "key"}
    told["form_token"] = browser.form_token
    answer = browser.post(f"/bench/{fields['key']}/seen", data=told, headers=SCRIPT)
    return answer.status_code, answer.json()


def test_only_looking_begins_no_visit(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    first, second = opened(framer, work), opened(framer, work)
    assert first["key"] != second["key"]
    assert framer.get(f"/bench/{first['key']}").status_code == 404


def test_without_a_script_each_step_is_saved_and_the_next_one_shown(
    framer: Browser, engine: Engine
) -> None:
    going_on = opened(framer, a_bench_work(engine)) | ALL_NO | {"to": "seen"}
    answer = sent(framer, going_on | {"summary": "Brown."}, "start")
    assert answer.headers["location"].endswith("/seen")
    page = framer.get(answer.headers["location"]).text
    assert form_in(page)["summary"] == ["Brown."]
    assert '<section class="step" data-step="start" hidden>' in page
    assert '<section class="step" data-step="seen">' in page


def test_a_script_is_told_the_version_and_when_it_was_saved(
    framer: Browser, engine: Engine
) -> None:
    fields = opened(framer, a_bench_work(engine))
    assert by_script(framer, fields) == (200, {"version": 2, "saved": "12:00"})
    # The same page again, as after an answer that was lost.
    assert by_script(framer, fields, summary="Brown.")[0] == 200


def test_the_way_to_a_new_visit_leads_to_the_one_that_lies_open(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    again = saved(framer, opened(framer, work) | {"to": "came-off", "step": "came-off"})
    answer = framer.get(f"/works/{work}/visits/new?kind=unframing")
    assert answer.headers["location"] == f"/bench/{again['key']}"
    assert framer.get(f"/bench/{again['key']}").headers["location"].endswith("/came-off")
    look = text_of(framer.get(f"/works/{work}/visits/new?kind=look").text)
    assert "Unframing of this work lies on the bench: go on with it" in look


def test_what_another_tablet_saved_is_shown_beside_what_was_typed_here(
    framer: Browser, engine: Engine
) -> None:
    mine = saved(framer, opened(framer, a_bench_work(engine)), summary="Brown.")
    theirs = {**mine, "hand": "another tablet"}
    assert by_script(framer, theirs, summary="Foxed.")[0] == 200
    assert by_script(framer, mine, summary="Torn.") == (409, {"version": 3})
    both = sent(framer, mine, "seen", summary="Torn.")
    assert both.status_code == 409
    assert "summary Foxed. Torn." in text_of(both.text)
    kept = saved(framer, form_in(both.text))
    assert kept["summary"] == ["Torn."]


def test_a_visit_is_finished_once_however_often_it_is_sent(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = saved(framer, opened(framer, work, "look"))
    first, again = sent(framer, fields), sent(framer, fields)
    assert first.headers["location"] == again.headers["location"] == f"/works/{work}?visit=2"
    late = sent(framer, fields, summary="More.")
    assert (late.status_code, count(engine, Visit)) == (409, 2)
    assert "recorded already" in late.text
    assert (
        framer.get(f"/bench/{fields['key']}/seen").headers["location"] == f"/works/{work}?visit=2"
    )


def test_what_will_be_recorded_and_the_next_dates_are_read_before(
    framer: Browser, engine: Engine
) -> None:
    fields = opened(framer, a_bench_work(engine), "look") | {"summary": "As before."}
    answer = sent(framer, fields, "outcome")
    page = text_of(answer.text)
    assert "What will be recorded As before." in page
    assert "What comes next Next: " in page
    assert count(engine, Visit) == 1


@pytest.mark.parametrize("seen", ["front", "margins"])
def test_an_unframing_that_saw_nothing_inside_says_what_follows(
    framer: Browser, engine: Engine, seen: str
) -> None:
    fields = opened(framer, a_bench_work(engine)) | ALL_NO | {"seen": [seen]}
    page = text_of(sent(framer, fields, "outcome").text)
    assert ("Nothing that lies inside is ticked" in page) is (seen == "front")
    assert "Nothing is told of its package" not in page


@pytest.mark.parametrize("method", ["T-hinge", "gummed tape hinges"])
def test_a_way_of_holding_that_its_hold_is_not_is_questioned(
    framer: Browser, engine: Engine, method: str
) -> None:
    fields = opened(framer, a_bench_work(engine)) | ALL_NO | {"seen": ["margins"]}
    fields |= {"dismount/done": "1", "dismount/1/outcome": "freed", "dismount/1/freed_by": "lifted"}
    fields |= {"mount/how": "built", "mount/method": method}
    page = text_of(sent(framer, fields, "outcome").text)
    assert f"Mounted: {method} (mount 2), held by Wheat starch paste" in page
    assert ("“How it is held” says gummed tape hinges" in page) is (method != "T-hinge")


def test_an_unframing_without_a_package_says_what_follows(framer: Browser, engine: Engine) -> None:
    with Session(engine) as session, session.begin():
        work = key_of(a_work(session, number="GH 9"))
    fields = opened(framer, work) | ALL_NO | {"seen": ["margins"]}
    page = text_of(sent(framer, fields, "outcome").text)
    assert "Nothing is told of its package" in page


def test_nobody_else_comes_upon_a_visit_on_the_bench(
    framer: Browser, keeper: Browser, engine: Engine
) -> None:
    fields = saved(framer, opened(framer, a_bench_work(engine)))
    assert keeper.get(f"/bench/{fields['key']}/seen").status_code == 404
    assert sent(keeper, {**fields, "form_token": keeper.form_token}, "seen").status_code == 404


def test_twelve_statements_for_each_step(app: FastAPI, framer: Browser, engine: Engine) -> None:
    fields = saved(framer, opened(framer, a_bench_work(engine)))
    assert statements_for(app, framer, f"/bench/{fields['key']}/finish") <= 12


def test_a_visit_is_put_away_and_taken_up_again(framer: Browser, engine: Engine) -> None:
    fields = saved(framer, opened(framer, a_bench_work(engine)), summary="Brown.")
    assert "GH 1 Tern over the Outer Bar Unframing, begun 25 November 2026" in text_of(
        framer.get("/bench").text
    )
    away = framer.send_form(f"/bench/{fields['key']}/put-away", {})
    page = text_of(framer.get(away.headers["location"]).text)
    assert "Put away. It is kept for 30 days, then cleared. Take it up again" in page
    assert "Nothing lies on the bench." in page
    framer.send_form(f"/bench/{fields['key']}/take-up", {})
    again = framer.get(f"/bench/{fields['key']}/seen").text
    assert form_in(again)["summary"] == ["Brown."]


def test_slips_carry_numbers_and_never_whose_it_is(framer: Browser, engine: Engine) -> None:
    fields = saved(framer, opened(framer, a_bench_work(engine)))
    page = text_of(framer.get(f"/bench/{fields['key']}/slips").text)
    for part in ("the work", "its frame", "its old back"):
        assert f"GH 1 {part} " in page
    assert "Gannet House" not in page
    assert "Tern over the Outer Bar" not in page


BY_WATER: Fields = {
    "dismount/done": "1",
    "dismount/1/outcome": "freed",
    "dismount/1/freed_by": "water",
}


@pytest.mark.parametrize(("way", "is_open"), [("water", True), ("lifted", False)])
def test_what_is_asked_before_water_stands_open_where_water_was_chosen(
    framer: Browser, engine: Engine, way: str, *, is_open: bool
) -> None:
    told = BY_WATER | {"dismount/1/freed_by": way}
    fields = saved(framer, opened(framer, a_bench_work(engine)) | told)
    page = framer.get(f"/bench/{fields['key']}/came-off").text
    assert ('data-of="/freed_by" open' in page) is is_open


def test_before_water_three_more_questions_do_not_pass_in_silence(
    framer: Browser, engine: Engine
) -> None:
    fields = opened(framer, a_bench_work(engine)) | ALL_NO | BY_WATER
    unasked = sent(framer, fields)
    assert unasked.status_code == 422
    assert all(f'id="fault-wet/{i}"' in unasked.text for i in range(3))
    assert '<section class="step" data-step="came-off">' in unasked.text
    told: Fields = {"wet/0": "yes", "wet/1": "yes", "wet/2": "no"}
    without_reason = sent(framer, fields | told)
    assert 'id="fault-wet/why"' in without_reason.text
    assert sent(framer, fields | told | {"wet/why": "small paste tabs"}).status_code == 303
    with Session(engine) as session:
        assert session.exec(select(Mount)).one().dismount_reason == (
            "Before water: medium tested; owner agreed; conservator not asked (small paste tabs)"
        )


TREATED: Fields = {"treatments/0/term": "tape removal, with solvent", "treatments/0/note": "Verso."}


def test_before_a_treatment_with_solvent_the_same_three_are_asked_and_kept_with_it(
    framer: Browser, engine: Engine
) -> None:
    fields = opened(framer, a_bench_work(engine), kind="look") | TREATED
    page = framer.get(f"/bench/{saved(framer, fields)['key']}/finish").text
    # What the chosen word asks for stands there without a script too.
    assert 'data-of="treatments/0/term" open' in page
    assert "Solvents are flammable" in text_of(page).partition("Treatment")[2]
    unasked = sent(framer, fields)
    assert unasked.status_code == 422
    assert all(f'id="fault-treatments/0/wet/{i}"' in unasked.text for i in range(3))
    told: Fields = {f"treatments/0/wet/{i}": "yes" for i in range(3)}
    assert sent(framer, fields | told).status_code == 303
    with Session(engine) as session:
        assert session.exec(select(Treatment)).one().note == (
            "Verso. Before solvent: medium tested; owner agreed; conservator asked"
        )


@pytest.mark.parametrize("known", ["came off by it", "old notes"])
def test_before_a_treatment_nothing_is_asked_twice_nor_of_old_notes(
    framer: Browser, engine: Engine, known: str
) -> None:
    off: Fields = BY_WATER | {f"wet/{i}": "yes" for i in range(3)}
    notes: Fields = {"stop/from_notes": "1"}
    fields = opened(framer, a_bench_work(engine)) | ALL_NO
    told = TREATED | {"treatments/0/term": "washing"} | (off if known != "old notes" else notes)
    assert sent(framer, fields | told).status_code == 303
    with Session(engine) as session:
        assert session.exec(select(Treatment)).one().note == "Verso."


def test_the_page_of_a_work_leads_to_its_visit_on_the_bench(
    app: FastAPI, framer: Browser, keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    saved(framer, fields := opened(framer, work), summary="Brown.")
    page = framer.get(f"/works/{work}").text
    assert (
        f'An unframing of it lies on your bench. <a class="button" href="/bench/{fields["key"]}"'
        in page
    )
    assert statements_for(app, framer, f"/works/{work}") <= 12
    assert "lies on your bench" not in keeper.get(f"/works/{work}").text
    framer.send_form(f"/bench/{fields['key']}/put-away", {})
    assert "lies on your bench" not in framer.get(f"/works/{work}").text


def test_the_bench_is_one_tap_from_every_page_for_whoever_works_at_it(
    framer: Browser, owner: Browser
) -> None:
    assert '<a href="/bench">On the bench</a>' in framer.get("/works").text
    assert "/bench" not in owner.get("/works").text


def test_what_was_photographed_at_a_visit_stands_in_its_step_in_the_order_taken(
    framer: Browser, keeper: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    key = opened(framer, work)["key"]
    for view, stage in (("verso", "in frame"), ("verso", "back off")):
        data = {"form_token": framer.form_token, "view": view, "stage": stage, "draft_key": key}
        files = {"file": ("back.jpg", as_file(four_colours()), "image/jpeg")}
        assert framer.post(f"/works/{work}/photographs", data=data, files=files).status_code == 303
    part = framer.get(f"/bench/{key}/photographs-taken").text
    assert text_of(part) == (
        "Taken at this visit Verso, in frame Take anew Take away"
        " Verso, back off Take anew Take away"
    )
    assert 'data-again="2" data-of-view="verso" data-of-stage="back off"' in part
    assert text_of(framer.get("/bench/another/photographs-taken").text) == ""


def test_before_it_is_finished_each_next_date_stands_beside_what_it_was(
    framer: Browser, engine: Engine
) -> None:
    fields = saved(framer, opened(framer, a_bench_work(engine, mount=POOR)) | ALL_NO)
    told = {name: value for name, value in fields.items() if name != "key"}
    told |= {
        "mount/how": "changed",
        "mount/layers/0/act": "swapped",
        "mount/layers/0/material": RAG,
    }
    answer = framer.send_form(f"/bench/{fields['key']}/outcome", told)
    assert "before this visit:" in text_of(answer.text)


@pytest.mark.parametrize("told", [{"kept:dismount/done": "1"}, {"kept:mount/how": "none"}])
def test_what_a_look_does_not_record_of_an_unframing_is_said(
    framer: Browser, engine: Engine, told: Fields
) -> None:
    fields = opened(framer, a_bench_work(engine), "look") | told
    page = text_of(sent(framer, fields, "outcome").text)
    assert ("belongs to an unframing, and a look does not" in page) is (
        "kept:dismount/done" in told
    )
