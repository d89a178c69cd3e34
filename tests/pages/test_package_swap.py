"""What the part of the page says while layers are swapped, and that nothing of it is stored."""

import re

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from models.tables.mounts import Layer, Mount
from models.tables.visits import Visit
from tests.pages.bench_work import GROUNDWOOD, PASTE, POOR, RAG, a_bench_work, a_book
from tests.pages.form_filled import Fields
from tests.pages.test_visits import ALL_NO, OFF, count, opened, sent
from tests.pages.test_work_page import text_of
from tests.with_app import Browser

GLASS = "Float glass, 2 mm"
CHANGED: Fields = {"mount/layers/0/act": "swapped", "mount/layers/0/material": RAG}


@pytest.fixture(autouse=True)
def _book(engine: Engine, reference_data: None) -> None:
    a_book(engine)


def tried(browser: Browser, work: int, fields: Fields) -> str:
    told = {name: value for name, value in fields.items() if name != "key"}
    answer = browser.send_form(f"/works/{work}/package-tried", told)
    assert answer.status_code == 200, answer.text
    return str(answer.text)


def test_a_sound_mat_for_a_poor_one_changes_verdict_date_and_chance_at_once(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work) | CHANGED | {"mount/how": "changed"}
    part = tried(framer, work, fields)
    said = text_of(part)
    assert "<html" not in part
    assert said.startswith("As it would be: sound now harmful")
    assert re.search(r"Unframe again by \w+ 20\d\d now: today", said)
    assert re.search(
        r"\d %\) [\d.]+ % would show at a look, [\d.]+ % would show only when it is opened", said
    )
    assert "now: almost certain (over 95 %)" in said
    assert "Every layer is sound." in said
    assert (count(engine, Visit), count(engine, Mount)) == (1, 1)


def test_a_weak_layer_is_named_with_what_would_be_sound_in_its_place(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | {"mount/how": "changed"}
    fields |= {"mount/layers/0/act": "swapped", "mount/layers/0/material": GROUNDWOOD}
    said = text_of(tried(framer, work, fields))
    assert "The weakest link is the window mat (Groundwood mat board), harmful." in said
    assert "Sound in its place: Cotton rag mat board" in said


def test_each_part_of_the_drawing_leads_to_its_row(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work) | CHANGED
    changed = tried(framer, work, fields | {"mount/how": "changed"})
    anew = tried(framer, work, fields | {"mount/how": "built"})
    assert set(re.findall('data-part="([^"]+)"', changed)) == {
        *("mount/layers/0", "layer/2", "layer/3", "hold-1"),
    }
    rows = {"mount/layers/0", "mount/layers/1", "mount/layers/2", "mount/holds/0"}
    assert set(re.findall('data-part="([^"]+)"', anew)) == rows


def test_a_pane_typed_as_a_window_mat_is_refused_and_never_called_sound(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine)
    glass: Fields = {"mount/layers/0/act": "swapped", "mount/layers/0/material": GLASS}
    fields = opened(framer, work) | glass | {"mount/how": "changed"}
    said = text_of(tried(framer, work, fields))
    assert f"{GLASS} is of the kind “glazing” and cannot be the window mat." in said
    assert "sound" not in said


def test_what_cannot_be_is_said_instead_of_a_package(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | {"mount/how": "built", "mount/layers/0/act": "swapped"}
    part = tried(framer, work, fields | {"mount/layers/0/material": ""})
    assert "It is changed, and not for what." in text_of(part)
    assert "<svg" not in part


def test_layers_changed_around_a_work_that_stays_on_its_mount_are_recorded(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work) | ALL_NO | CHANGED | {"mount/how": "changed"}
    fields |= {"layer/1/condition": "brown at the bevel", "layer/1/kept": "kept"}
    assert sent(framer, fields).status_code == 303
    assert count(engine, Mount) == 1
    with Session(engine) as session:
        assert len(session.exec(select(Layer)).all()) == 4
    page = text_of(framer.get(f"/works/{work}").text)
    assert "window mat Cotton rag mat board, 4-ply, buffered" in page
    assert "brown at the bevel" in page


def test_one_more_layer_goes_in_where_its_order_says(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    fields = opened(framer, work) | ALL_NO | {"mount/how": "changed"}
    fields |= {"mount/layers/3/role": "backing board", "mount/layers/3/material": RAG}
    fields |= {"mount/layers/3/order": "9"}
    fields |= {"mount/layers/4/role": "glazing", "mount/layers/4/material": "Float glass, 2 mm"}
    assert sent(framer, fields | {"mount/layers/4/order": "0.5"}).status_code == 303
    page = framer.get(f"/works/{work}").text
    drawn = re.search("Front to back: ([^<]+)", page)
    assert drawn is not None
    roles = [part.partition(",")[0] for part in drawn[1].rstrip(".").split("; ")]
    assert roles == ["glazing", "window mat", "the work", "hold", "mount board", "backing board"]


def test_a_layer_taken_out_is_not_in_the_new_package(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine, mount=POOR)
    fields = opened(framer, work) | ALL_NO | OFF
    fields |= {"mount/how": "built", "mount/layers/0/act": "out", "mount/in_front": "none"}
    assert sent(framer, fields).status_code == 303
    page = text_of(framer.get(f"/works/{work}").text)
    assert "Nothing lies in front of the work." in page


def test_changed_layers_without_a_word_how_it_was_closed_are_asked_about(
    framer: Browser, engine: Engine
) -> None:
    work = a_bench_work(engine, mount=POOR)
    answer = sent(framer, opened(framer, work) | ALL_NO | CHANGED)
    assert answer.status_code == 422
    assert "Layers are changed, but not how the work was closed." in text_of(answer.text)


def test_materials_for_a_work_stand_the_fittest_first(framer: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    page = framer.get(f"/works/{work}/fit-materials").text
    mat = page[page.index('data-for="1"') : page.index('data-for="3"')]
    names = re.findall('data-material="([^"]+)"', mat)
    assert names[0].startswith("Cotton rag mat board")
    assert names.index(RAG) < names.index(GROUNDWOOD)
    holds = re.findall('data-material="([^"]+)"', page[page.index('data-for="0"') :])
    assert holds.index(PASTE) < holds.index("Rubber masking tape")


def test_an_owner_tries_no_package(owner: Browser, engine: Engine) -> None:
    work = a_bench_work(engine)
    assert owner.get(f"/works/{work}/fit-materials").status_code == 404
    assert owner.send_form(f"/works/{work}/package-tried", {"on": "2026"}).status_code == 403
