"""The usual builds of the house."""

import pytest
from sqlalchemy import Engine

from tests.pages.bench_work import a_bench_work, a_book
from tests.pages.form_filled import Fields, fields_of
from tests.with_app import Browser

BUILD = {
    "method": "T-hinge",
    "layers": [
        {"role": "window mat", "material": "Cotton rag mat board, 4-ply, buffered"},
        {"role": "work"},
        {"role": "mount board", "grade": "unknown board"},
    ],
    "holds": [{"material": "Wheat starch paste on Japanese paper", "position": "top", "count": 2}],
}


@pytest.fixture
def _build(app: object, program: Browser, reference_data: None) -> None:
    told = {"name": "Print, 4-ply", "build": BUILD}
    answer = program.post("/api/house-packages", json=told)
    assert answer.status_code == 201, answer.text


@pytest.mark.usefixtures("_build")
def test_a_usual_build_is_shown_front_to_back(framer: Browser) -> None:
    page = framer.get("/house-packages").text
    at = [
        page.index(words)
        for words in (
            *("Print, 4-ply", "edition 1, T-hinge", "Cotton rag mat board, 4-ply, buffered"),
            *("the work", "unknown board", "top", "Wheat starch paste"),
        )
    ]
    assert at == sorted(at)
    assert "Offer it no more" not in page


@pytest.mark.usefixtures("_build")
def test_a_keeper_ends_a_build_and_what_was_built_by_it_stays(
    keeper: Browser, framer: Browser
) -> None:
    assert framer.send_form("/house-packages/1/end", {}).status_code == 403
    assert keeper.send_form("/house-packages/1/end", {}).status_code == 303
    assert "None on record yet" in keeper.get("/house-packages").text
    assert keeper.send_form("/house-packages/1/end", {}).status_code == 409


FORM: Fields = {
    "name": "Float, double",
    "method": "T-hinge",
    "layer/0/order": "1",
    "layer/0/role": "window mat",
    "layer/0/material": "Cotton rag mat board, 4-ply, buffered",
    "layer/1/order": "3",
    "layer/1/role": "mount board",
    "layer/2/order": "2",
    "layer/2/role": "work",
    "layer/3/role": "",
    "hold/0/material": "Wheat starch paste on Japanese paper",
    "hold/0/position": "top",
    "hold/0/count": "2",
}


@pytest.fixture
def _library(app: object, reference_data: None) -> None:
    return None


@pytest.mark.usefixtures("_library")
def test_a_keeper_puts_a_build_on_record_by_hand(keeper: Browser, framer: Browser) -> None:
    assert 'href="/house-packages/new"' in keeper.get("/house-packages").text
    assert framer.get("/house-packages/new").status_code == 404
    page = keeper.get("/house-packages/new").text
    assert page.count('class="build-row"') == 4 + 3 + 1
    assert keeper.send_form("/house-packages/new", FORM).status_code == 303
    shown = framer.get("/house-packages").text
    at = [shown.index(words) for words in ("Float, double", "4-ply", "the work", "mount board")]
    assert at == sorted(at)
    taken = keeper.send_form("/house-packages/new", FORM)
    assert (taken.status_code, "is on record already" in taken.text) == (422, True)


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        ({"name": ""}, "name", "is missing"),
        ({"layer/0/material": "Coton rag"}, "layer/0/material", "There is no material called"),
        ({"layer/3/material": "Felt"}, "layer/3/role", "Nobody has said what it is"),
        ({"hold/0/count": "two"}, "hold/0/count", "Not a number"),
        ({"method": "T-hing"}, "method", "Perhaps T-hinge"),
    ],
)
@pytest.mark.usefixtures("_library")
def test_a_fault_stands_in_the_row_of_its_part_and_nothing_typed_is_lost(
    keeper: Browser, told: Fields, field: str, said: str
) -> None:
    answer = keeper.send_form("/house-packages/new", {**FORM, **told})
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]
    assert 'value="top"' in answer.text


@pytest.mark.usefixtures("_build")
def test_a_change_is_a_new_edition_that_keeps_what_its_rows_do_not_show(
    keeper: Browser, program: Browser
) -> None:
    page = keeper.get("/house-packages/1/change").text
    assert ("Change Print, 4-ply" in page, 'value="unknown board"' in page) == (True, True)
    told: Fields = {**FORM, "layer/1/material": "", "layer/2/material": "unknown board"}
    told |= {"layer/1/role": "work", "layer/2/role": "mount board"}
    told |= {"layer/1/order": "2", "layer/2/order": "3", "note": "Float by 5 mm."}
    assert keeper.send_form("/house-packages/1/change", told).status_code == 303
    build = program.get("/api/house-packages/2").json()
    assert (build["name"], build["edition"], build["build"]["note"]) == (
        "Print, 4-ply",
        2,
        "Float by 5 mm.",
    )
    # A grade that somebody gave by hand is no material of that name.
    assert build["build"]["layers"][2]["grade"] == "unknown board"
    again = keeper.send_form("/house-packages/1/change", told)
    assert (again.status_code, "is not the current one" in again.text) == (422, True)


@pytest.mark.usefixtures("_library")
def test_a_build_is_taken_from_the_package_in_which_a_work_is(
    keeper: Browser, engine: Engine, program: Browser
) -> None:
    a_book(engine)
    work = a_bench_work(engine)
    assert f'href="/house-packages/new?work={work}"' in keeper.get(f"/works/{work}").text
    page = keeper.get(f"/house-packages/new?work={work}").text
    assert "Filled in from the package" in page
    told = {**fields_of(page, "/house-packages/new"), "name": "As that one"}
    assert keeper.send_form("/house-packages/new", told).status_code == 303
    kept = program.get("/api/house-packages/1").json()["build"]
    assert [layer["role"] for layer in kept["layers"]].count("work") == 1
    assert keeper.get("/house-packages/new?work=x").status_code == 404
