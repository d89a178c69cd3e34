"""Logger files brought into places: kept once, merged, counted, taken back, proved."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from sqlmodel import Session

from models.actions.change_log import seal, watch
from models.actions.climate import (
    FileSent,
    ImportDone,
    faults_of_readings,
    import_readings,
    list_imports,
    withdraw_import,
)
from models.actions.forecasts import faults_of_stored, refresh_forecasts
from models.actions.place_climates import climate_records
from models.actions.places import place_tree
from models.actions.stays import MoveTold, move_works
from models.errors import BadValue, NotAllowed, NotFound, RuleBroken
from models.exchange.logger_file import Choices, read_logger_file
from models.tables.climate import CLIMATE, LIGHT, days_of_place, readings_between
from models.tables.visible import Viewer
from tests.builders import (
    a_framer,
    a_keeper,
    a_material,
    a_place,
    a_poor_mount,
    a_work,
    an_owner,
    key_of,
    stored_forecast,
)

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = 20_782
HEAD = "Date,T °C,RH %\n"
MORNING = HEAD + "2026-01-31 10:00,20,50\n2026-01-31 11:00,21,50\n2026-01-31 12:00,22,50\n"
# Overlaps by an hour that is the same, and one that is not.
NOON = HEAD + "2026-01-31 11:00,21,50\n2026-01-31 12:00,25,50\n2026-01-31 13:00,23,50\n"
LIGHT_ALONE = "Date,lux,UV µW/lm\n2026-01-31 10:00,100,10\n2026-01-31 12:00,100,30\n"
ALWAYS = (315_532_800, 4_000_000_000)


def brought(session: Session, viewer: Viewer, place: int, text: str, name: str = "a") -> ImportDone:
    choices = Choices()
    sent = FileSent(name=f"{name}.csv", digest=f"{hash(text):064x}"[-64:], byte_count=len(text))
    file = read_logger_file(text.encode(), choices)
    return import_readings(session, viewer, place, sent, file, choices, now=NOW, today=TODAY)


def temperatures(session: Session, place: int) -> list[float]:
    return list(readings_between(session, CLIMATE, place, *ALWAYS)[1][:, 0].tolist())


def test_a_file_comes_into_a_place_and_says_what_became_of_its_rows(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    done = brought(session, keeper, place, MORNING + "2026-01-31 13:00,20,140\nEnd,,\n")
    told = done.on_record
    assert (told.rows, told.new_rows, told.same_rows, told.differing_rows, told.refused_rows) == (
        5,
        3,
        0,
        0,
        2,
    )
    assert told.refused_why == (
        ("no date and time that can be read", 1),
        ("a humidity below 0 or above 100 %", 1),
    )
    assert temperatures(session, place) == [20, 21, 22]
    assert list_imports(session, keeper, place) == [told]


def test_the_same_file_twice_changes_nothing_and_says_so(session: Session) -> None:
    framer, place = a_framer(session), key_of(a_place(session, "Stair"))
    first = brought(session, framer, place, MORNING)
    again = brought(session, framer, place, MORNING, "another name")
    assert (first.is_again, again.is_again) == (False, True)
    assert again.on_record == first.on_record
    assert len(list_imports(session, framer, place)) == 1


def test_files_that_overlap_are_merged_and_what_differs_is_counted(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    brought(session, keeper, place, MORNING)
    told = brought(session, keeper, place, NOON).on_record
    assert (told.new_rows, told.same_rows, told.differing_rows) == (1, 1, 1)
    assert temperatures(session, place) == [20, 21, 22, 23]


def test_light_from_another_logger_stands_beside_the_climate(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    brought(session, keeper, place, MORNING)
    assert brought(session, keeper, place, LIGHT_ALONE).on_record.new_rows == 2
    assert readings_between(session, LIGHT, place, *ALWAYS)[1].tolist() == [[100, 10], [100, 30]]
    assert temperatures(session, place) == [20, 21, 22]
    row = days_of_place(session, place)
    assert row is not None
    # Two hours and a half of 100 lx; the readings at both ends stand for a quarter each.
    assert row.days[0, -2:].tolist() == pytest.approx([250, 100 * (2 * 20 + 0.25 * 40)])


def test_the_days_are_those_of_all_files_together(session: Session) -> None:
    keeper = a_keeper(session)
    apart, together = (key_of(a_place(session, name)) for name in ("Stair", "Hall"))
    days = [
        f"2026-02-0{day} {hour:02}:00,{15 + hour},55\n" for day in (1, 2, 3) for hour in range(24)
    ]
    for part in (days[:30], days[20:50], days[48:]):
        brought(session, keeper, apart, HEAD + "".join(part))
    brought(session, keeper, together, HEAD + "".join(days))
    rows = [days_of_place(session, place) for place in (apart, together)]
    assert rows[0] is not None
    assert rows[1] is not None
    assert rows[0].first_day == rows[1].first_day
    np.testing.assert_allclose(rows[0].days, rows[1].days)


def test_an_import_taken_back_leaves_no_trace_in_the_place(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    before = brought(session, keeper, place, MORNING).on_record
    wrong = brought(session, keeper, place, NOON).on_record
    told = withdraw_import(session, keeper, place, wrong.id, "wrong place", today=TODAY)
    assert told.withdrawn_reason == "wrong place"
    assert temperatures(session, place) == [20, 21, 22]
    withdraw_import(session, keeper, place, before.id, "wrong as well", today=TODAY)
    assert days_of_place(session, place) is None
    with pytest.raises(RuleBroken, match="taken back already"):
        withdraw_import(session, keeper, place, wrong.id, "again", today=TODAY)
    # What was taken back may come again.
    assert not brought(session, keeper, place, NOON).is_again
    assert temperatures(session, place) == [21, 25, 23]


def test_an_import_is_taken_back_with_a_reason_and_where_it_is(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    elsewhere = key_of(a_place(session, "Hall"))
    told = brought(session, keeper, place, MORNING).on_record
    with pytest.raises(BadValue, match="Say why"):
        withdraw_import(session, keeper, place, told.id, " ", today=TODAY)
    with pytest.raises(NotFound):
        withdraw_import(session, keeper, elsewhere, told.id, "why", today=TODAY)


def test_what_is_open_must_be_chosen_first(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    with pytest.raises(BadValue) as refused:
        brought(session, keeper, place, HEAD + "01/02/2026 12:00,20,45\n")
    assert [(f.pointer, f.right) for f in refused.value.faults] == [
        ("/date_order", "Choose day first or month first.")
    ]
    with pytest.raises(BadValue, match="No row of this file can be kept: 1 with a humidity"):
        brought(session, keeper, place, HEAD + "2026-01-31 12:00,20,145\n")


def test_owners_bring_nothing_in_and_a_place_must_be_there(session: Session) -> None:
    place = key_of(a_place(session, "Stair"))
    with pytest.raises(NotAllowed):
        brought(session, an_owner(session), place, MORNING)
    with pytest.raises(NotFound):
        brought(session, a_keeper(session), 999, MORNING)


def test_an_import_is_one_change_in_the_log_and_proves_its_readings(session: Session) -> None:
    keeper, place = a_keeper(session), key_of(a_place(session, "Stair"))
    watch(session)
    brought(session, keeper, place, MORNING)
    brought(session, keeper, place, LIGHT_ALONE)
    entry = seal(session, actor="test", now=NOW)
    assert entry is not None
    assert (entry.payload or "").count('"table":"reading_import"') == 2
    assert "climate_reading" not in (entry.payload or "")
    assert faults_of_readings(session, place) == []
    session.connection().exec_driver_sql(
        "UPDATE climate_reading SET temperature_c = 30 WHERE temperature_c = 21"
    )
    assert faults_of_readings(session, place) == ["Import 1: its readings were changed."]


def a_hot_year(session: Session, keeper: Viewer, place: int) -> None:
    """A record of 366 days at 30 degC and 60 %, read every six hours."""
    begun = datetime(2025, 11, 20, tzinfo=UTC)
    rows = (f"{begun + timedelta(hours=6 * n):%Y-%m-%d %H:%M},30,60\n" for n in range(4 * 366))
    brought(session, keeper, place, HEAD + "".join(rows))


def test_a_work_ages_as_its_place_was_measured_and_so_do_those_that_have_left(
    session: Session,
) -> None:
    board = a_material(session)
    stair, hall = "Gannet House / Stair", "Gannet House / Hall"
    there, left, elsewhere = (
        a_work(session, number=number, place=place)
        for number, place in (("A 1", stair), ("A 2", stair), ("A 3", hall))
    )
    for work in (there, left, elsewhere):
        a_poor_mount(session, work, board)
    works = [key_of(work) for work in (there, left, elsewhere)]
    a_place(session, hall).temperature_c = 20.0
    keeper = a_keeper(session)
    move_works(session, keeper, [works[1]], MoveTold(place=hall, on="2026-06-01"), today=TODAY)
    refresh_forecasts(session, works, today=TODAY)
    before = [stored(session, work) for work in works]
    a_hot_year(session, keeper, key_of(a_place(session, "Gannet House")))
    after = [stored(session, work) for work in works]
    # A nearer figure beats a farther record: the hall is said to have 20 degC.
    assert after[2] == before[2]
    assert after[0] > before[0]
    assert after[1] > before[1]
    assert faults_of_stored(session, works) == []
    records = climate_records(session, place_tree(session))
    assert [record.read_days for record in records.values()] == [pytest.approx(365.77, abs=0.01)]


def stored(session: Session, work: int) -> float:
    """The stored chance that something unseen has happened to a work."""
    forecast = stored_forecast(session, work)
    assert forecast is not None
    assert forecast.chance_unseen is not None
    return forecast.chance_unseen
