"""The pages on which a date is put off and the load is levelled."""

from collections.abc import Callable

from sqlalchemy import Engine

from models.actions.change_log import recording
from models.actions.recalls import recall_material
from tests.actions.test_postponements import TODAY, a_sound_work, a_whole_mount
from tests.builders import a_keeper, a_material, a_work, key_of
from tests.pages.page_read import text_of
from tests.with_app import NOON, Browser


def a_work_on_record(engine: Engine) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_sound_work(session))


def test_a_date_is_put_off_with_a_reason_and_taken_back(framer: Browser, engine: Engine) -> None:
    work = a_work_on_record(engine)
    told = {"kind": "unframing", "until": "May 2029", "reason": "on loan until then"}
    answer = framer.send_form(f"/works/{work}/put-off", {**told})
    assert answer.status_code == 303
    said = text_of(framer.get(f"/works/{work}/put-off").text)
    assert "Unframing. Until 31 May 2029, since 25 November 2026: on loan until then" in said
    page = text_of(framer.get(f"/works/{work}").text)
    assert "Put off on 25 November 2026 until 31 May 2029: on loan until then" in page
    answer = framer.send_form(f"/works/{work}/put-off/1/take-back", {})
    assert answer.status_code == 303
    assert "Until 31 May 2029" not in text_of(framer.get(f"/works/{work}/put-off").text)


def test_what_cannot_be_is_said_beside_its_field_and_what_was_typed_stays(
    framer: Browser, engine: Engine
) -> None:
    work = a_work_on_record(engine)
    told = {"kind": "unframing", "until": "May 1999", "reason": "no time"}
    answer = framer.send_form(f"/works/{work}/put-off", {**told})
    assert answer.status_code == 422
    assert "31 May 1999 is no day to put off to. A day after 25 November 2026" in text_of(
        answer.text
    )
    assert 'value="May 1999"' in answer.text
    assert 'value="no time"' in answer.text


def test_blanks_alone_are_no_reason_to_put_a_date_off(framer: Browser, engine: Engine) -> None:
    work = a_work_on_record(engine)
    told = {"kind": "unframing", "until": "May 2029", "reason": "  "}
    answer = framer.send_form(f"/works/{work}/put-off", {**told})
    assert answer.status_code == 422
    assert "The reason is missing." in text_of(answer.text)


def test_a_work_with_a_sign_that_does_not_wait_offers_no_form(
    framer: Browser, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        work, board = a_work(session), a_material(session)
        a_whole_mount(session, work, board)
        keeper = a_keeper(session)
        recall_material(session, keeper, key_of(board), "yellows at the bevel", today=TODAY)
        number = key_of(work)
    page = framer.get(f"/works/{number}/put-off")
    assert "Nothing here can wait: recalled layer touching." in text_of(page.text)
    assert 'name="until"' not in page.text


def test_the_load_is_shown_levelled_and_taken_back(keeper: Browser, engine: Engine) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        for nth in range(20):
            a_sound_work(session, f"W{nth}", looked="2018-01-01")
    page = text_of(keeper.get("/due/level").text)
    assert "3 dates would be moved." in page
    assert keeper.send_form("/due/level", {}).status_code == 303
    page = text_of(keeper.get("/due/level").text)
    assert "No date has to be moved." in page
    assert "Take the levelling back (3 dates)" in page
    assert keeper.send_form("/due/level/take-back", {}).status_code == 303
    assert "3 dates would be moved." in text_of(keeper.get("/due/level").text)


def test_levelling_what_is_level_is_refused_in_words(keeper: Browser, engine: Engine) -> None:
    a_work_on_record(engine)
    answer = keeper.send_form("/due/level", {})
    assert answer.status_code == 422
    assert "No date has to be moved, or none can be." in text_of(answer.text)


def test_two_dates_put_off_are_both_said_and_the_page_of_the_work_takes_no_statement_more(
    framer: Browser, engine: Engine, statements_of: Callable[[Browser, str], int]
) -> None:
    work = a_work_on_record(engine)
    for kind, reason in (("look", "the house is let"), ("unframing", "on loan; until then")):
        told = {"kind": kind, "until": "May 2029", "reason": reason}
        assert framer.send_form(f"/works/{work}/put-off", {**told}).status_code == 303
    said = text_of(framer.get(f"/works/{work}").text)
    assert "until 31 May 2029: the house is let" in said
    assert "until 31 May 2029: on loan; until then" in said
    assert statements_of(framer, f"/works/{work}") <= 12
