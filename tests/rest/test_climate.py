"""Readings of loggers through REST."""

import pytest
from sqlalchemy import Engine

from api.settings import Settings
from models.actions.change_log import recording
from tests.builders import a_place, a_work, key_of
from tests.with_app import NOON, OWNER, Browser

CSV = (
    b"Date,T \xc2\xb0C,RH %,lux\n"
    b"2026-01-31 10:00,20,50,100\n2026-01-31 11:00,20,50,100\n"
    b"2026-01-31 12:00,20,140,100\n2026-01-31 13:00,20,50,100\n"
)
AMBIGUOUS = b"Date,T \xc2\xb0C,RH %\n01/02/2026 12:00,20,45\n"


@pytest.fixture
def stair(engine: Engine) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_place(session, "Gannet House / Stair"))


def sent(program: Browser, place: int, content: bytes = CSV, **choices: str):  # type: ignore[no-untyped-def]
    files = {"file": ("stair.csv", content, "text/csv")}
    return program.post(f"/api/places/{place}/readings", files=files, data=choices)


def test_a_file_is_brought_in_once_and_kept_byte_for_byte(
    program: Browser, stair: int, settings: Settings
) -> None:
    first, again = sent(program, stair), sent(program, stair)
    assert (first.status_code, again.status_code) == (201, 200)
    told = first.json()
    assert {
        name: told[name] for name in ("file_name", "rows", "new_rows", "refused_rows", "refused")
    } == {
        "file_name": "stair.csv",
        "rows": 4,
        "new_rows": 3,
        "refused_rows": 1,
        "refused": [{"why": "a humidity below 0 or above 100 %", "rows": 1}],
    }
    assert again.json() == {**told, "already_on_record": True}
    kept = settings.data / "logger-files" / told["file_sha256"]
    assert kept.read_bytes() == CSV
    assert program.get(f"/api/places/{stair}/readings").json() == [told]


def test_what_the_file_leaves_open_is_asked(program: Browser, stair: int) -> None:
    asked = sent(program, stair, AMBIGUOUS)
    assert asked.status_code == 422
    assert [error["pointer"] for error in asked.json()["errors"]] == ["/date_order"]
    told = sent(program, stair, AMBIGUOUS, date_order="day first", time_zone="Europe/Berlin")
    assert (told.status_code, told.json()["first"]) == (201, "2026-02-01T11:00:00Z")


def test_the_climate_of_a_place_is_measured_or_assumed(program: Browser, stair: int) -> None:
    assumed = program.get(f"/api/places/{stair}/climate").json()
    assert (assumed["climate_record"], assumed["air"], assumed["assumed_rh_percent"]) == (
        None,
        None,
        50,
    )
    sent(program, stair)
    told = program.get(f"/api/places/{stair}/climate").json()
    assert told["climate_record"]["path"] == "Gannet House / Stair"
    assert (told["first_day"], told["last_day"]) == ("2026-01-31", "2026-01-31")
    assert told["air"]["index_form"] == "form A, divisor 365, “IPI fit”"
    assert told["air"]["index_years"] == pytest.approx(44.62, abs=0.005)
    assert told["light"]["lux_hours"] == pytest.approx(350)
    assert [row["month"] for row in told["months"]] == ["2026-01"]
    # A record of a day says nothing of the years to come.
    assert (told["paper_rate_ahead"], told["is_ahead_measured"]) == (pytest.approx(1), False)


def test_a_span_may_be_named_and_must_not_end_before_it_begins(
    program: Browser, stair: int
) -> None:
    sent(program, stair)
    where = f"/api/places/{stair}/climate"
    empty = program.get(where, params={"since": "2025-01-01", "until": "2025-02-01"}).json()
    assert (empty["air"], empty["months"]) == (None, [])
    wrong = program.get(where, params={"since": "2026-03-01", "until": "2026-02-01"})
    assert wrong.status_code == 422


def test_a_file_is_taken_back(program: Browser, stair: int) -> None:
    one = sent(program, stair).json()["id"]
    where = f"/api/places/{stair}/readings/{one}/withdraw"
    back = program.post(where, json={"reason": "wrong place"})
    assert back.json()["withdrawn_reason"] == "wrong place"
    assert program.get(f"/api/places/{stair}/climate").json()["air"] is None


def test_owners_read_what_they_may_see_and_bring_nothing_in(
    owner: Browser, program: Browser, engine: Engine, stair: int
) -> None:
    with recording(engine, actor="test", now=NOON) as session:
        hall = key_of(a_place(session, "Tern House / Hall"))
        a_work(session, owner=OWNER, place="Gannet House / Stair")
    sent(program, stair)
    assert owner.get(f"/api/places/{stair}/climate").json()["air"]["readings"] == 3
    assert owner.get(f"/api/places/{hall}/climate").status_code == 404
    owner.headers["X-Form-Token"] = owner.form_token
    assert sent(owner, stair).status_code == 403


def test_a_file_that_cannot_be_read_is_refused_in_words(program: Browser, stair: int) -> None:
    answer = sent(program, stair, b"Dear keeper,")
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/file")
    assert "There are no readings" in answer.text
