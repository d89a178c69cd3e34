"""The windows of a mat are told at the bench, said on the page of the work, and drawn."""

import pytest
from sqlalchemy import Engine

from tests.pages.bench_work import a_bench_work, a_book
from tests.pages.page_read import text_of
from tests.with_app import Browser


@pytest.fixture
def work(app: object, engine: Engine, reference_data: None) -> int:
    a_book(engine)
    return a_bench_work(engine)


TWO: dict[str, str | list[str]] = {
    "version": "1",
    "count": "",
    "0/height_mm": "210",
    "0/width_mm": "148,5",
    "0/left_mm": "60",
    "0/top_mm": "50",
    "0/shows": "the print",
    "1/height_mm": "20",
    "1/width_mm": "80",
}


def test_two_windows_are_told_said_drawn_and_put_right(framer: Browser, work: int) -> None:
    path = f"/works/{work}/layers/1/windows"
    assert f'href="{path}">Tell its windows' in framer.get(f"/works/{work}").text
    answer = framer.send_form(path, TWO)
    assert answer.headers["location"] == f"/works/{work}#package"
    page = framer.get(f"/works/{work}").text
    said = "2 windows: 210 \N{MULTIPLICATION SIGN} 148.5 mm, 60 mm from the left, 50 from the top"
    assert said in text_of(page)
    assert "Cut across its windows" in page
    form = framer.get(path).text
    assert 'name="0/width_mm" type="text" value="148.5"' in form
    # Who was quicker is not overwritten, and what was typed stays in its field.
    again = framer.send_form(path, {**TWO, "0/shows": "another"})
    assert again.status_code == 409
    assert 'value="another"' in again.text
    assert f'data-put-in="0/shows" data-value="{TWO["0/shows"]}"' in again.text
    assert framer.send_form(path, {"version": "2", "count": "3"}).status_code == 303
    assert "3 windows" in text_of(framer.get(f"/works/{work}").text)
    assert framer.send_form(path, {"version": "3", "count": ""}).status_code == 303
    assert "3 windows" not in text_of(framer.get(f"/works/{work}").text)


def test_what_cannot_be_is_refused_beside_its_field(framer: Browser, work: int) -> None:
    path = f"/works/{work}/layers/1/windows"
    answer = framer.send_form(path, {**TWO, "0/top_mm": "", "1/width_mm": "wide", "count": "1"})
    assert answer.status_code == 422
    page = text_of(answer.text)
    assert "Not a length. Write mm" in page
    assert "1 windows, and something is told of number 2" in page
    half = framer.send_form(path, {**TWO, "0/top_mm": ""})
    assert "go together" in text_of(half.text)


def test_of_a_layer_that_is_no_mat_or_of_another_work_there_is_no_page(
    framer: Browser, owner: Browser, engine: Engine, work: int
) -> None:
    other = a_bench_work(engine, number="GH 2")
    assert framer.get(f"/works/{work}/layers/3/windows").status_code == 404
    assert framer.get(f"/works/{other}/layers/1/windows").status_code == 404
    assert owner.get(f"/works/{work}/layers/1/windows").status_code == 404


def test_programs_tell_windows_with_a_mount_and_put_them_right(program: Browser, work: int) -> None:
    path = f"/api/works/{work}/mounts"
    (mat, *_) = program.get(path).json()["items"][0]["layers"]
    assert mat["windows"] == []
    windows = [{"height_mm": 200, "width_mm": 150}, {"shows": "the title"}]
    answer = program.patch(
        f"/api/layers/{mat['id']}", json={"windows": windows}, headers={"If-Match": '"1"'}
    )
    assert answer.status_code == 200, answer.text
    (mat, *_) = program.get(path).json()["items"][0]["layers"]
    nowhere = {"left_mm": None, "top_mm": None}
    assert mat["windows"] == [
        {"height_mm": 200, "width_mm": 150, "shows": "", **nowhere},
        {"height_mm": None, "width_mm": None, "shows": "the title", **nowhere},
    ]
    glazing = {"role": "glazing", "windows": [{}]}
    visit = {
        "on": "2026-11-20",
        "kind": "unframing",
        "layers_fitted": [{**glazing, "replaces": mat["id"]}],
        "layers_removed": [{"layer": mat["id"]}],
        "based_on": program.get(f"/api/works/{work}").json()["version"],
    }
    refusal = program.post(f"/api/works/{work}/visits", json=visit).json()
    assert [e["pointer"] for e in refusal["errors"]] == ["/layers_fitted/0/windows"]
    assert refusal["errors"][0]["message"] == "A glazing has no windows."
