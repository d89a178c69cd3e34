"""The bench job as a program does it, on both databases."""

import csv
import io
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pytest
from sqlalchemy import Engine

from models.actions.change_log import verify_log
from models.database import read_session
from models.vocabulary import Role
from tests.with_app import Browser, person_who_signs_in

RAG = "Cotton rag mat board, 4-ply, buffered"
PASTE = "Wheat starch paste on Japanese paper"
SOUND: dict[str, Any] = {
    "method": "T-hinge",
    "holds": [{"material": PASTE, "position": "top", "count": 2}],
    "layers": [
        {"role": "window mat", "material": RAG},
        {"role": "work"},
        {"role": "mount board", "material": RAG},
    ],
}
FOUND: dict[str, Any] = {
    "mounted_on": "1985~",
    "layers": [
        {"role": "window mat", "grade": "groundwood board", "known_by": "seen", "ref": "mat"},
        {"role": "work"},
        {"role": "backing board", "grade": "corrugated or brown kraft board"},
    ],
    "holds": [{"grade": "rubber pressure-sensitive tape", "position": "top", "ref": "tape"}],
}
BURN: dict[str, Any] = {
    "term": "mat burn",
    "reach": {"edge": "left", "mm": 12, "follows_window_edge": True},
    "severity": "moderate",
    "change": "found age unknown",
    "cause": {"mechanism": "acid migration", "mount": "this"},
    "colours": [
        {"L": 84.1, "a": 3.2, "b": 18.0, "spot": "stain"},
        {"L": 92.0, "a": 0.1, "b": 7.5, "spot": "clean paper"},
    ],
}


@pytest.fixture
def bench(program: Browser, engine: Engine, reference_data: None) -> Browser:
    """A program with the reference data, a person at the bench and a place."""
    person_who_signs_in(engine, "R. Imaginary", Role.FRAMER)
    program.post("/api/places", json={"path": "Gannet House"})
    return program


def a_work(program: Browser, number: str = "GH 1") -> dict[str, Any]:
    answer = program.post(
        "/api/works",
        json={
            "number": number,
            "title": "The Mill in Winter",
            "technique": "etching",
            "height_mm": 300,
            "width_mm": 420,
            "place": "Gannet House",
        },
    )
    assert answer.status_code == 201, answer.text
    work: dict[str, Any] = answer.json()
    return work


def visit(program: Browser, work: int, **told: Any) -> Any:
    version = program.get(f"/api/works/{work}").json()["version"]
    body = {"on": "2026-11-20", "kind": "unframing", "by": "R. Imaginary", "based_on": version}
    return program.post(f"/api/works/{work}/visits", json={**body, **told})


def the_bench_job(program: Browser) -> tuple[int, dict[str, Any]]:
    work = a_work(program)["id"]
    answer = visit(
        program,
        work,
        found=FOUND,
        report={"summary": "The mat has browned the margin.", "sightings": [BURN]},
        tests=[{"layer": "ref:mat", "test": "bevel colour", "result": "brown"}],
        inscriptions=[{"where": "backing board", "text": "No. 4", "kept": "with the work"}],
        dismount={
            "holds": [
                {"hold": "ref:tape", "freed_by": "solvent", "outcome": "freed", "residue": "gum"}
            ],
            "harm": "slight skinning",
        },
        mount=SOUND,
    )
    assert answer.status_code == 201, answer.text
    stored: dict[str, Any] = answer.json()
    return work, stored


def test_a_cause_without_a_mechanism_is_what_is_usual_for_the_finding(bench: Browser) -> None:
    work = a_work(bench, "GH 9")["id"]
    cannot_tell = {**BURN, "cause": {"mount": "cannot tell"}}
    usual = {**BURN, "cause": {"mount": "this"}}
    stored = visit(bench, work, found=FOUND, report={"sightings": [usual, cannot_tell]})
    assert stored.status_code == 201, stored.text
    found = bench.get(f"/api/works/{work}/findings").json()["items"]
    assert [(one["cause"]["mechanism"], one["cause"]["mount"]) for one in found] == [
        ("acid migration", "this"),
        (None, "cannot tell"),
    ]


def test_a_whole_visit_is_answered_with_its_ids_the_forecast_and_the_verdict(
    bench: Browser, engine: Engine
) -> None:
    work, stored = the_bench_job(bench)
    assert stored["seen"] == ["front", "back of frame", "margins", "verso", "under hinges"]
    assert set(stored["refs"]) == {"mat", "tape"}
    assert stored["report"]["sightings"][0]["colours"][0]["delta_e_2000"] == pytest.approx(9.4, 0.1)
    assert stored["forecast"]["verdict"]["freeing"] == "water"
    assert stored["forecast"]["look"]["on"] > "2026-11-25"
    assert bench.get(f"/api/visits/{stored['id']}").json()["mounted"] == stored["mounted"]
    mounts = bench.get(f"/api/works/{work}/mounts").json()
    assert [
        (m["mounted_on"], m["dismounted_on"], m["harm_at_dismount"]) for m in mounts["items"]
    ] == [
        ("1985~", "2026-11-20", "slight skinning"),
        ("2026-11-20", None, ""),
    ]
    assert [r["what"] for r in mounts["remains"]] == ["residue; gum"]
    finding = bench.get(f"/api/works/{work}/findings").json()["items"][0]
    assert (finding["term"], finding["edge"], finding["cause"]["mount"]) == (
        "mat burn",
        "left",
        "this",
    )
    report = bench.get(f"/api/works/{work}/condition-reports").json()["items"][0]
    assert report["summary"] == "The mat has browned the margin."
    with read_session(engine) as session:
        assert verify_log(session) == []


def test_the_history_opens_as_csv_and_as_xlsx_with_text_cells(bench: Browser) -> None:
    work, _ = the_bench_job(bench)
    answer = bench.get(f"/api/works/{work}/mounting-history.csv")
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.text, newline="")))
    assert [(row["mount_no"], row["role"], row["mounted_on"]) for row in rows] == [
        ("1", "window mat", "1985~"),
        ("1", "work", "1985~"),
        ("1", "backing board", "1985~"),
        ("1", "hold", "1985~"),
        ("2", "window mat", "2026-11-20"),
        ("2", "work", "2026-11-20"),
        ("2", "mount board", "2026-11-20"),
        ("2", "hold", "2026-11-20"),
    ]
    assert rows[3]["residue"] == "gum"
    assert rows[4]["material"] == RAG
    assert [row["next_unframing_on"] for row in rows[:4]] == [""] * 4
    assert rows[4]["next_unframing_on"] > "2027"
    everything = bench.get("/api/mounting-history.csv").text
    assert everything == answer.text
    sheet = openpyxl.load_workbook(
        io.BytesIO(bench.get(f"/api/works/{work}/mounting-history.xlsx").content)
    ).worksheets[0]
    mounted = [row[8] for row in sheet.iter_rows(values_only=True)]
    assert mounted[:2] == ["mounted_on", "1985~"]
    described = bench.get(f"/api/works/{work}/mounting-history.csv-metadata.json").json()
    assert described["@context"][0] == "http://www.w3.org/ns/csvw"


def test_sending_the_same_visit_again_stores_it_once(bench: Browser) -> None:
    work = a_work(bench)["id"]
    body = {"on": "2026-11-20", "kind": "look", "seen": ["front"]}
    headers = {"Idempotency-Key": "bench-draft-7"}
    first, again = (
        bench.post(f"/api/works/{work}/visits", json=body, headers=headers) for _ in range(2)
    )
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert again.json() == first.json()
    assert len(bench.get(f"/api/works/{work}/visits").json()["items"]) == 1


def test_every_wrong_word_of_a_visit_is_pointed_at(bench: Browser) -> None:
    work = a_work(bench)["id"]
    wrong = {**SOUND, "layers": [{"role": "window mat", "material": "Coton rag"}]}
    answer = visit(bench, work, mount=wrong, by="Nobody")
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json()["errors"]] == [
        "/by",
        "/mount/layers/0/material",
    ]
    one = visit(bench, work, by="Nobody").json()
    assert one["code"] == "unknown_person"
    assert bench.get(f"/api/works/{work}/visits").json()["items"] == []


@pytest.mark.parametrize(
    ("told", "status", "code"),
    [
        ({"on": "2026-11-26"}, 409, "in_the_future"),
        ({"dismount": {"freed_by": "water"}}, 409, "dismount_before_mount"),
        ({"closed_as_it_was": True, "mount": SOUND}, 422, "contradiction"),
        ({"mount": {**SOUND, "house_package": "usual"}}, 422, "contradiction"),
        ({"kind": "look", "seen": ["verso"]}, 422, "cannot_be_seen"),
        ({"mount": {**SOUND, "front": [{"role": "glazing"}]}}, 422, "bad_value"),
        ({"surprise": 1}, 422, "bad_value"),
    ],
)
def test_what_cannot_be_is_refused(
    bench: Browser, told: dict[str, Any], status: int, code: str
) -> None:
    work = a_work(bench)["id"]
    answer = visit(bench, work, **told)
    assert (answer.status_code, answer.json()["code"]) == (status, code), answer.text


def test_who_was_slower_is_shown_both_states(bench: Browser) -> None:
    work, _ = the_bench_job(bench)
    stale = bench.post(
        f"/api/works/{work}/visits",
        json={
            "on": "2026-11-21",
            "kind": "unframing",
            "dismount": {"freed_by": "water"},
            "based_on": 1,
        },
    )
    assert (stale.status_code, stale.json()["code"]) == (409, "stale")
    assert stale.json()["theirs"]["version"] > 1


def test_a_visit_is_put_right_written_up_and_taken_back(bench: Browser) -> None:
    work = a_work(bench)["id"]
    stored = visit(bench, work, kind="look", to_write_up=True, seen=["front"]).json()
    path = f"/api/visits/{stored['id']}"
    assert bench.patch(path, json={"minutes": 5}).status_code == 428
    assert bench.patch(path, json={"minutes": 5}, headers={"If-Match": '"9"'}).status_code == 412
    mended = bench.patch(path, json={"minutes": 5}, headers={"If-Match": '"1"'})
    assert (mended.status_code, mended.json()["minutes"]) == (200, 5)
    sightings = [{"term": "foxing", "severity": "slight", "change": "new"}]
    written = bench.post(f"{path}/write-up", json={"summary": "Spots.", "sightings": sightings})
    assert (written.json()["to_write_up"], written.json()["report"]["summary"]) == (False, "Spots.")
    assert bench.post(f"{path}/withdraw", json={"reason": "wrong work"}).status_code == 204
    assert bench.get(path).status_code == 404


def test_layers_holds_mounts_and_findings_are_put_right(bench: Browser) -> None:
    work, stored = the_bench_job(bench)
    new = {"If-Match": '"1"'}
    mount = bench.get(f"/api/works/{work}/mounts").json()["items"][1]
    layer, hold = mount["layers"][0], mount["holds"][0]
    assert (
        bench.patch(
            f"/api/layers/{layer['id']}", json={"known_by": "label or invoice"}, headers=new
        ).json()["version"]
        == 2
    )
    assert bench.patch(f"/api/holds/{hold['id']}", json={"count": 3}, headers=new).is_success
    assert bench.patch(
        f"/api/mounts/{mount['id']}", json={"front": "none", "note": "n"}, headers=new
    ).is_success
    sighting = stored["report"]["sightings"][0]
    assert bench.patch(
        f"/api/sightings/{sighting['id']}", json={"severity": "severe"}, headers=new
    ).is_success
    assert bench.patch(
        f"/api/findings/{sighting['finding']}", json={"term": "tide line"}, headers=new
    ).is_success
    again = bench.get(f"/api/works/{work}/mounts").json()["items"][1]
    assert (again["layers"][0]["known_by"], again["holds"][0]["count"], again["note"]) == (
        "label or invoice",
        3,
        "n",
    )
    finding = bench.get(f"/api/works/{work}/findings").json()["items"][0]
    assert (finding["term"], finding["sightings"][0]["severity"]) == ("tide line", "severe")


def test_an_owner_reads_nothing_of_another_owners_work(bench: Browser, owner: Browser) -> None:
    work, stored = the_bench_job(bench)
    for path in (
        f"/api/works/{work}/visits",
        f"/api/works/{work}/mounts",
        f"/api/works/{work}/findings",
        f"/api/works/{work}/forecast",
        f"/api/works/{work}/condition-reports",
        f"/api/works/{work}/mounting-history.csv",
        f"/api/visits/{stored['id']}",
    ):
        assert owner.get(path).status_code == 404, path
    assert owner.get("/api/mounting-history.csv").text.count("\r\n") == 1
