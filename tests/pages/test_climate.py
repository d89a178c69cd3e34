"""A logger's file brought in by forms, and the climate of a place as a page."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine

from api.logger_jobs import JobState
from models.actions.change_log import recording
from models.tables.climate import ReadingJob
from tests.builders import a_place, a_work, key_of
from tests.with_app import NOON, OWNER, Browser, Clock

BEGUN = datetime(2025, 11, 20, tzinfo=UTC)


def hourly(days: int, begun: datetime = BEGUN) -> bytes:
    """A file of as many days, cool by night; a hole of two days in its middle."""
    moments = (begun + timedelta(hours=n) for n in range(24 * days))
    rows = [
        f"{at:%Y-%m-%d %H:%M},{22 if 8 <= at.hour < 20 else 18},{48 + at.day % 5},{100}"
        for at in moments
        if not days // 2 <= (at - begun).days < days // 2 + 2
    ]
    return "\n".join(["Date,T °C,RH %,lux", *rows, "End,,,"]).encode()


AMBIGUOUS = "Date;T °C;RH %\n01/02/2026 12:00;20,5;45\n02/02/2026 12:00;20,5;45\n".encode("cp1252")


@pytest.fixture
def stair(app: object, engine: Engine) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_place(session, "Gannet House / Stair"))


def look_at(keeper: Browser, place: int, content: bytes) -> str:
    """Send a file, and return where it is shown."""
    data = {"form_token": keeper.form_token}
    files = {"file": ("stair log.csv", content, "text/csv")}
    sent = keeper.post(f"/places/{place}/climate/file", data=data, files=files)
    assert sent.status_code == 303, sent.text
    return str(sent.headers["location"])


def bring_in(keeper: Browser, place: int, content: bytes, **choices: str | list[str]) -> str:
    """Bring a file in as it is understood, and return the page that tells of it."""
    where = look_at(keeper, place, content)
    form = {"name": "stair log.csv", "time_zone": "UTC", **choices}
    begun = keeper.send_form(where.partition("?")[0], form)
    assert begun.status_code == 303, begun.text
    return keeper.get(begun.headers["location"]).text


def test_a_place_without_a_record_says_what_is_assumed(keeper: Browser, stair: int) -> None:
    page = keeper.get(f"/places/{stair}/climate").text
    assert "No logger has read here: 20 °C and 50 % are assumed" in page
    assert "Forecasts reckon with 1.00 from now on: assumed." in page
    assert f'href="/places/{stair}/climate"' in keeper.get(f"/places/{stair}").text


def test_a_file_is_looked_at_before_it_is_brought_in(keeper: Browser, stair: int) -> None:
    preview = keeper.get(look_at(keeper, stair, hourly(10))).text
    assert "stair log.csv" in preview
    assert "192 of 193 rows can be brought in, 20 November 2025 to 29 November 2025" in preview
    assert "1 with no date and time that can be read" in preview
    assert "2025-11-20 00:00:00" in preview
    assert keeper.get(f"/api/places/{stair}/readings").json() == []


def test_after_that_it_goes_in_and_says_what_became_of_it(keeper: Browser, stair: int) -> None:
    done = bring_in(keeper, stair, hourly(10))
    assert "192 new readings, 20 November 2025 to 29 November 2025" in done
    page = keeper.get(f"/places/{stair}/climate").text
    assert page.count('class="record-line"') == 2
    # Two pens of each line: one before the hole, one after it.
    paths = [rest.partition('"')[0] for rest in page.split('class="record-line" d="')[1:]]
    assert [path.count("M") for path in paths] == [2, 2]
    assert "form A, divisor 365, “IPI fit”" in page
    assert "November 2025" in page
    again = bring_in(keeper, stair, hourly(10))
    assert "on record already; nothing was changed" in again


def test_a_record_of_a_year_is_what_forecasts_reckon_with(keeper: Browser, stair: int) -> None:
    bring_in(keeper, stair, hourly(370))
    page = keeper.get(f"/places/{stair}/climate").text
    assert "measured, over the year to" in page
    assert "count as 20 °C and 50 %" in page


def test_the_order_of_day_and_month_is_asked(keeper: Browser, stair: int) -> None:
    where = look_at(keeper, stair, AMBIGUOUS)
    asked = keeper.get(where).text
    assert "can be read with the day or with the month first" in asked
    assert "Bring it in" not in asked
    chosen = keeper.get(where, params={"name": "stair log.csv", "date_order": "month first"}).text
    assert "2026-01-02 12:00:00" in chosen
    assert "Bring it in" in chosen


def test_another_column_may_hold_the_temperature(keeper: Browser, stair: int) -> None:
    content = b"Date,a,b\n2026-01-31 12:00,20.5,45\n"
    where = look_at(keeper, stair, content)
    assert "No column is known to hold temperature" in keeper.get(where).text
    told = {"column-date": "1: Date", "column-temperature": "2: a", "column-humidity": "3: b"}
    chosen = keeper.get(where, params=told).text
    assert "<td>20.5</td><td>45</td>" in chosen


def test_what_is_no_logger_file_is_said_in_words(keeper: Browser, stair: int) -> None:
    answer = keeper.get(look_at(keeper, stair, b"Dear keeper,"))
    assert (answer.status_code, "There are no readings in this file" in answer.text) == (422, True)
    data = {"form_token": keeper.form_token}
    nothing = keeper.post(f"/places/{stair}/climate/file", data=data)
    assert (nothing.status_code, "No file was sent" in nothing.text) == (422, True)


def test_an_import_that_cannot_be_says_so_on_its_page(keeper: Browser, stair: int) -> None:
    failed = bring_in(keeper, stair, AMBIGUOUS)
    assert "can be read with the day or with the month first" in failed
    assert "Look at the file again" in failed


def test_an_import_under_way_survives_a_reload_and_a_dead_server(
    keeper: Browser, stair: int, engine: Engine, clock: Clock
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        job = ReadingJob(
            place_id=stair,
            file_digest="0" * 64,
            file_name="stair log.csv",
            choices="{}",
            by_id=1,
            state=JobState.STORING.value,
            rows=105_120,
            begun_at=clock(),
            seen_at=clock(),
        )
        session.add(job)
        session.flush()
        where = f"/places/{stair}/climate/imports/{job.id}"
    under_way = keeper.get(where).text
    assert "Storing the readings. 105120 rows." in under_way
    assert 'http-equiv="refresh"' in under_way
    clock.now += timedelta(minutes=4)
    cut_off = keeper.get(where).text
    assert "It was cut off, and nothing of it was kept." in cut_off
    assert 'http-equiv="refresh"' not in cut_off


def test_an_import_is_taken_back_with_a_reason(keeper: Browser, stair: int) -> None:
    bring_in(keeper, stair, hourly(10))
    back = keeper.send_form(f"/places/{stair}/climate/withdraw/1", {"reason": "wrong place"})
    assert back.status_code == 303
    page = keeper.get(f"/places/{stair}/climate").text
    assert "Withdrawn: wrong place" in page
    assert "No logger has read here" in page


def test_a_span_is_chosen(keeper: Browser, stair: int) -> None:
    bring_in(keeper, stair, hourly(40))
    where = f"/places/{stair}/climate"
    page = keeper.get(where, params={"since": "2025-11-21", "until": "2025-11-23"}).text
    assert "21 Nov" in page
    assert "December 2025" not in page.partition("Files brought in")[0].partition("Month by")[2]
    wrong = keeper.get(where, params={"since": "2025-11-21", "until": "2025-11-01"})
    assert (wrong.status_code, "ends before it begins" in wrong.text) == (422, True)


def test_the_record_of_the_house_holds_in_its_rooms(
    keeper: Browser, stair: int, engine: Engine
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        house = key_of(a_place(session, "Gannet House"))
        cabinet = a_place(session, "Gannet House / Cabinet")
        cabinet.rh_percent = 40
        session.flush()
        dry = key_of(cabinet)
    bring_in(keeper, house, hourly(10))
    assert "Read in Gannet House from" in keeper.get(f"/places/{stair}/climate").text
    assert "20 °C and 40 % are assumed" in keeper.get(f"/places/{dry}/climate").text


def test_owners_look_and_bring_nothing_in(owner: Browser, engine: Engine, stair: int) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        a_work(session, owner=OWNER, place="Gannet House / Stair")
        hall = key_of(a_place(session, "Tern House / Hall"))
    page = owner.get(f"/places/{stair}/climate")
    assert (page.status_code, "Bring in" in page.text) == (200, False)
    assert owner.get(f"/places/{hall}/climate").status_code == 404
    assert owner.get(f"/places/{stair}/climate/file").status_code == 404
