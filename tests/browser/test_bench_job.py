"""The bench job by hand, in a real browser: found brown, dismounted, remounted, dated, taken away.

Once with scripts and once without: everything must be possible without them.
"""

import csv
from pathlib import Path

import httpx
import openpyxl  # type: ignore[import-untyped]
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.kills import bearer
from tests.served import command, serving

NAME, PASSWORD = "Kay Invented", "a long password 7"
RAG = "Cotton rag mat board, 4-ply, buffered"
PASTE = "Wheat starch paste on Japanese paper"


@pytest.mark.parametrize("with_scripts", [True, False], ids=["with scripts", "without scripts"])
def test_the_bench_job_from_the_brown_margin_to_the_csv(
    tmp_path: Path, opened: Browser, *, with_scripts: bool
) -> None:
    folder = tmp_path / "data"
    command(folder, "migrate")
    command(folder, "person", "add", NAME, "--role", "keeper", given=f"{PASSWORD}\n")
    token = command(folder, "token", NAME).strip().split()[-1]
    with serving(folder) as served:
        work = _on_record(served.address, token)
        with page(opened, served.address, with_scripts=with_scripts) as shown:
            sign_in(shown, NAME, PASSWORD)
            _find(shown, "weir")
            _record_the_visit(shown, work)
            _read_the_next_dates(shown)
            _take_the_history_away(shown, tmp_path)
    command(folder, "verify-log")
    command(folder, "recompute", "--check")


def _on_record(address: str, token: str) -> int:
    """Put a work in an old mount of groundwood board on record."""
    with httpx.Client(base_url=address, headers=bearer(token), timeout=30) as program:
        program.post("/api/places", json={"path": "Gannet House"}).raise_for_status()
        work = program.post(
            "/api/works",
            json={
                "number": "GH 12",
                "title": "The Weir",
                "maker": "I. Nobody",
                "technique": "etching",
                "height_mm": 300,
                "width_mm": 420,
                "place": "Gannet House",
            },
        ).raise_for_status()
        number: int = work.json()["id"]
        found = {
            "on": "2019-05-02",
            "kind": "look",
            "found": {
                "mounted_on": "2009~",
                "method": "T-hinge",
                "layers": [
                    {"role": "window mat", "grade": "groundwood board", "known_by": "seen"},
                    {"role": "work"},
                    {"role": "mount board", "material": RAG, "known_by": "seen"},
                ],
                "holds": [{"material": PASTE, "position": "top", "count": 2}],
            },
        }
        program.post(f"/api/works/{number}/visits", json=found).raise_for_status()
    return number


def _find(shown: Page, word: str) -> None:
    shown.goto("/works")
    shown.fill("[name=q]", word)
    shown.press("[name=q]", "Enter")
    shown.get_by_role("link", name="The Weir").first.click()
    shown.wait_for_url("**/works/*")


def _record_the_visit(shown: Page, work: int) -> None:
    shown.get_by_role("link", name="Start an unframing").click()
    shown.wait_for_url("**/visits/new*")
    shown.fill("[name=on]", "20 November 2026")
    shown.fill("[name=minutes]", "40")
    for question in range(4):
        shown.check(f"[name='stop/{question}'][value=no]")
    _go_on(shown, "photographs")
    _go_on(shown, "seen")
    shown.check("[name=seen][value=margins]")
    shown.fill("[name='new/0/term']", "mat burn")
    shown.check("[name='new/0/severity'][value=moderate]")
    shown.check("[name='new/0/edge'][value=left]")
    shown.fill("[name='new/0/mm']", "12")
    shown.check("[name='new/0/follows']")
    _go_on(shown, "came-off")
    shown.check("[name='dismount/done']")
    shown.locator("select[name^='dismount/'][name$='/outcome']").select_option("freed")
    shown.locator("select[name^='dismount/'][name$='/freed_by']").select_option("water")
    shown.locator("[name^='dismount/'][name$='/residue']").fill("a little paste")
    if not shown.locator("[name='wet/0']").first.is_visible():
        shown.locator(".came-off").get_by_text("Before water, solvent or heat").click()
    for question in range(3):
        shown.check(f"[name='wet/{question}'][value=yes]")
    _go_on(shown, "package")
    shown.check("[name='mount/how'][value=built]")
    shown.check("[name='mount/layers/0/act'][value=swapped]")
    shown.fill("[name='mount/layers/0/material']", RAG)
    shown.fill("[name='mount/holds/0/material']", PASTE)
    shown.fill("[name='mount/holds/0/count']", "2")
    _go_on(shown, "finish")
    shown.get_by_role("button", name="Finish the unframing").click()
    shown.wait_for_url(f"**/works/{work}?*")


def _go_on(shown: Page, step: str) -> None:
    shown.get_by_role("button", name="Save and go on").click()
    shown.wait_for_url(f"**/bench/*/{step}")


def _read_the_next_dates(shown: Page) -> None:
    expect(shown.get_by_text("Recorded").first).to_be_visible()
    said = shown.inner_text("main")
    assert "Next look" in said
    assert "Next unframing" in said
    assert "mat burn" in said
    why = shown.locator("details", has_text="By the formula").first
    why.locator("summary").click()
    assert "Limits" in why.inner_text()


def _take_the_history_away(shown: Page, folder: Path) -> None:
    with shown.expect_download() as coming:
        shown.get_by_role("link", name="CSV").first.click()
    coming.value.save_as(folder / "history.csv")
    with (folder / "history.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [(row["mount_no"], row["role"], row["mounted_on"]) for row in rows] == [
        ("1", "window mat", "2009~"),
        ("1", "work", "2009~"),
        ("1", "mount board", "2009~"),
        ("1", "hold", "2009~"),
        ("2", "window mat", "2026-11-20"),
        ("2", "work", "2026-11-20"),
        ("2", "mount board", "2026-11-20"),
        ("2", "hold", "2026-11-20"),
    ]
    assert rows[0]["grade"] == "groundwood board"
    assert rows[4]["material"] == RAG
    assert "mat burn" in rows[0]["found_when_unframed"]
    with shown.expect_download() as coming:
        shown.get_by_role("link", name="XLSX").first.click()
    coming.value.save_as(folder / "history.xlsx")
    sheet = openpyxl.load_workbook(folder / "history.xlsx").worksheets[0]
    cells = next(iter(sheet.iter_rows(min_row=2, max_row=2)))
    assert (cells[0].value, cells[8].value, cells[8].data_type) == ("GH 12", "2009~", "s")
