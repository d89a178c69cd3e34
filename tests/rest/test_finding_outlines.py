"""Findings drawn by programs, on both databases."""

from typing import Any

import pytest
from sqlalchemy import Engine

from models.actions.change_log import recording
from models.risk.colour_difference import colour_difference
from models.tables.works import Work
from tests.actions.test_finding_outlines import a_photograph
from tests.builders import a_work, key_of
from tests.rest.test_photographs import sent
from tests.with_app import NOON, OWNER, Browser

STRAIGHT = [[0.1, 0.1], [0.9, 0.1], [0.9, 0.9], [0.1, 0.9]]
SQUARE = {"shape": "outline", "points": [[0, 0], [42, 0], [42, 30], [0, 30]]}
NOTHING_BEFORE = {"If-Match": '"0"'}


@pytest.fixture
def work(app: object, engine: Engine, reference_data: None) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        row = a_work(session, owner=OWNER, height_um=300_000, width_um=420_000)
        return key_of(row)


@pytest.fixture
def photograph(engine: Engine, work: int) -> int:
    with recording(engine, actor="test", now=NOON) as session:
        return key_of(a_photograph(session, session.get_one(Work, work)))


def seen(program: Browser, work: int, outline: dict[str, Any] | None) -> Any:
    sighting = {"term": "foxing", "change": "new", "severity": "slight", "outline": outline}
    visit = {
        "on": "2026-11-20",
        "kind": "look",
        "report": {"sightings": [sighting]},
        "based_on": program.get(f"/api/works/{work}").json()["version"],
    }
    return program.post(f"/api/works/{work}/visits", json=visit)


def test_an_outline_comes_back_with_the_sighting_it_was_told_of(
    program: Browser, work: int, photograph: int
) -> None:
    answer = seen(program, work, {**SQUARE, "photograph": photograph})
    assert answer.status_code == 201, answer.text
    kept = {
        "version": 1,
        "shape": "outline",
        "photograph": photograph,
        "points": [[0, 0], [42, 0], [42, 30], [0, 30]],
        "on_photograph": False,
        "from_mm": None,
        "to_mm": None,
    }
    (sighting,) = answer.json()["report"]["sightings"]
    # A hundredth of 420 x 300 mm.
    assert (sighting["outline"], sighting["extent_percent"]) == (kept, 1.0)
    (finding,) = program.get(f"/api/works/{work}/findings").json()["items"]
    assert finding["sightings"][0]["outline"] == kept


def test_corners_are_set_once_and_put_right_by_whoever_saw_them(
    program: Browser, photograph: int
) -> None:
    path = f"/api/photographs/{photograph}/corners"
    assert program.get(path).status_code == 404
    first = program.put(path, json={"corners": STRAIGHT}, headers=NOTHING_BEFORE)
    assert first.json() == {"photograph": photograph, "version": 1, "corners": STRAIGHT}
    assert program.put(path, json={"corners": STRAIGHT}).status_code == 428
    assert program.put(path, json={"corners": STRAIGHT}, headers=NOTHING_BEFORE).status_code == 412
    moved = [[0.0, 0.1], *STRAIGHT[1:]]
    again = program.put(path, json={"corners": moved}, headers={"If-Match": first.headers["ETag"]})
    assert again.json() == {"photograph": photograph, "version": 2, "corners": moved}
    assert program.get(path).headers["ETag"] == '"2"'


def test_a_window_lies_on_the_sheet_as_soon_as_its_corners_are_known(
    program: Browser, photograph: int
) -> None:
    path = f"/api/photographs/{photograph}/window-edge"
    window = [[0.2, 0.2], [0.8, 0.2], [0.8, 0.8], [0.2, 0.8]]
    assert program.get(path).status_code == 404
    first = program.put(path, json={"corners": window}, headers=NOTHING_BEFORE).json()
    assert first == {
        "photograph": photograph,
        "version": 1,
        "corners": window,
        "on_sheet_mm": None,
    }
    sheet = f"/api/photographs/{photograph}/corners"
    program.put(sheet, json={"corners": STRAIGHT}, headers=NOTHING_BEFORE)
    # A tenth of the picture is an eighth of 420 x 300 mm.
    on_sheet = [[52.5, 37.5], [367.5, 37.5], [367.5, 262.5], [52.5, 262.5]]
    assert program.get(path).json()["on_sheet_mm"] == on_sheet
    again = program.put(path, json={"corners": window}, headers={"If-Match": '"1"'})
    assert again.json()["on_sheet_mm"] == on_sheet
    back = program.put(path, json={"corners": None}, headers={"If-Match": again.headers["ETag"]})
    assert (back.json()["corners"], back.json()["on_sheet_mm"]) == (None, None)


def test_four_corners_that_are_no_window_are_refused(program: Browser, photograph: int) -> None:
    path = f"/api/photographs/{photograph}/window-edge"
    told = {"corners": [STRAIGHT[1], STRAIGHT[0], *STRAIGHT[2:]]}
    answer = program.put(path, json=told, headers=NOTHING_BEFORE)
    assert "make no window" in answer.json()["errors"][0]["message"]
    nothing = program.put(path, json={"corners": None}, headers=NOTHING_BEFORE)
    assert "is not marked on this photograph" in nothing.json()["errors"][0]["message"]


def test_what_was_drawn_before_the_corners_were_known_keeps_its_fractions(
    program: Browser, work: int, photograph: int
) -> None:
    point = {
        "shape": "point",
        "photograph": photograph,
        "points": [[0.25, 0.5]],
        "on_photograph": True,
    }
    (sighting,) = seen(program, work, point).json()["report"]["sightings"]
    assert sighting["outline"]["points"] == [[0.25, 0.5]]
    assert sighting["outline"]["on_photograph"] is True


def test_a_stain_is_read_against_clean_paper_from_a_photograph(program: Browser, work: int) -> None:
    (sighting,) = seen(program, work, None).json()["report"]["sightings"]
    assert sighting["contrast"] is None
    photograph = sent(program, work).json()["id"]
    path = f"/api/sightings/{sighting['id']}/contrast"
    told = {"photograph": photograph, "stain": [0.25, 0.25], "clean": [0.75, 0.25]}
    answer = program.put(path, json=told, headers=NOTHING_BEFORE)
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"1"')
    assert program.put(path, json=told, headers=NOTHING_BEFORE).status_code == 412
    (finding,) = program.get(f"/api/works/{work}/findings").json()["items"]
    kept = finding["sightings"][0]["contrast"]
    assert kept == answer.json()
    assert (kept["stain"]["place"], kept["clean"]["place"]) == ([0.25, 0.25], [0.75, 0.25])
    labs = [[kept[spot][axis] for axis in "Lab"] for spot in ("stain", "clean")]
    assert kept["delta_e_2000"] == pytest.approx(float(colour_difference(*labs)), abs=0.02)
    beside = {**told, "stain": [1.2, 0.5]}
    assert program.put(path, json=beside, headers={"If-Match": '"1"'}).status_code == 422
    elsewhere = {**told, "photograph": photograph + 1}
    assert program.put(path, json=elsewhere, headers={"If-Match": '"1"'}).status_code == 404


def test_a_sighting_on_record_is_drawn_afterwards(
    program: Browser, work: int, photograph: int
) -> None:
    (sighting,) = seen(program, work, None).json()["report"]["sightings"]
    assert sighting["outline"] is None
    path = f"/api/sightings/{sighting['id']}/outline"
    answer = program.put(path, json=SQUARE, headers=NOTHING_BEFORE)
    assert (answer.status_code, answer.headers["ETag"]) == (200, '"1"')
    assert program.put(path, json=SQUARE, headers=NOTHING_BEFORE).status_code == 412


@pytest.mark.parametrize(
    ("outline", "pointer"),
    [
        ({"shape": "point", "points": [[900, 10]]}, "/report/sightings/0/outline/points"),
        ({"shape": "band"}, "/report/sightings/0/outline/shape"),
        ({"shape": "outline", "points": [[1, 1]]}, "/report/sightings/0/outline/points"),
    ],
)
def test_what_cannot_be_drawn_is_refused_where_it_stands(
    program: Browser, work: int, outline: dict[str, Any], pointer: str
) -> None:
    answer = seen(program, work, outline)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_corners_that_cross_are_refused(program: Browser, photograph: int) -> None:
    crossed = [STRAIGHT[1], STRAIGHT[0], *STRAIGHT[2:]]
    path = f"/api/photographs/{photograph}/corners"
    answer = program.put(path, json={"corners": crossed}, headers=NOTHING_BEFORE)
    assert answer.status_code == 422
    assert "sides cross or lie in a line" in answer.json()["errors"][0]["message"]
