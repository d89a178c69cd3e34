"""The usual builds of the house."""

import pytest

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
