"""Findings drawn on photographs with a thumb and with keys, in a real browser."""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page, expect

from models.rules.sheet_corners import Corners, Point, sheet_on_photograph
from models.vocabulary import Side
from tests.browser.driven import page, sign_in
from tests.kills import bearer
from tests.served import Served, command, serving

NAME, PASSWORD = "Kay Invented", "a long password 7"
WIDTH_MM, HEIGHT_MM = 420.0, 300.0
WIDTH_PX, HEIGHT_PX = 1600, 1200
ONE: Corners = ((0.1, 0.12), (0.9, 0.08), (0.93, 0.9), (0.07, 0.86))
OTHER: Corners = ((0.15, 0.1), (0.83, 0.16), (0.8, 0.84), (0.12, 0.9))
# A tap is as exact as a pixel of the screen, here about half a millimetre.
AS_EXACT_AS_A_TAP_MM = 1.0


# Placed when the picture has its size: two labels, none upon the other.
LABELS_APART = """() => {
  const labels = [...document.querySelectorAll(".on-picture .label")];
  const [first, second] = labels.map((label) => label.getBoundingClientRect());
  return labels.length === 2 && (first.bottom <= second.top || second.bottom <= first.top);
}"""


@dataclass
class Bench:
    """A server with one work and two photographs of it, taken from different places."""

    served: Served
    opened: Browser
    program: httpx.Client
    work: int
    one: int
    other: int

    def findings(self) -> list[dict[str, Any]]:
        """Return what is on record of the findings."""
        found: list[dict[str, Any]] = self.program.get(f"/api/works/{self.work}/findings").json()[
            "items"
        ]
        return found

    def set_corners(self, photograph: int, corners: Corners) -> None:
        """Say where the sheet is, as a program does."""
        self.program.put(
            f"/api/photographs/{photograph}/corners",
            json={"corners": corners},
            headers={"If-Match": '"0"'},
        ).raise_for_status()


@pytest.fixture
def bench(tmp_path: Path, opened: Browser) -> Iterator[Bench]:
    folder = tmp_path / "data"
    command(folder, "migrate")
    command(folder, "person", "add", NAME, "--role", "keeper", given=f"{PASSWORD}\n")
    headers = bearer(command(folder, "token", NAME).strip().split()[-1])
    with (
        serving(folder) as served,
        httpx.Client(base_url=served.address, headers=headers, timeout=60) as program,
    ):
        work = _on_record(program)
        one, other = (_photographed(program, work, corners) for corners in (ONE, OTHER))
        yield Bench(served, opened, program, work, one, other)


def _on_record(program: httpx.Client) -> int:
    told = {"number": "GH 12", "title": "The Weir", "height_mm": 300, "width_mm": 420}
    work: int = program.post("/api/works", json=told).raise_for_status().json()["id"]
    foxing = {"term": "foxing", "change": "new", "severity": "slight"}
    visit = {
        "on": "2024-05-01",
        "kind": "look",
        "report": {"sightings": [foxing]},
        "based_on": program.get(f"/api/works/{work}").json()["version"],
    }
    program.post(f"/api/works/{work}/visits", json=visit).raise_for_status()
    return work


def _photographed(program: httpx.Client, work: int, corners: Corners) -> int:
    """Send a photograph of a pale sheet on a dark table."""
    picture = Image.new("RGB", (WIDTH_PX, HEIGHT_PX), (70, 66, 60))
    seen = [(x * WIDTH_PX, y * HEIGHT_PX) for x, y in corners]
    ImageDraw.Draw(picture).polygon(seen, fill=(238, 230, 210))
    file = io.BytesIO()
    picture.save(file, "JPEG")
    sent = program.post(
        f"/api/works/{work}/photographs",
        files={"file": ("front.jpg", file.getvalue(), "image/jpeg")},
        data={"view": "recto"},
    )
    number: int = sent.raise_for_status().json()["id"]
    return number


@contextmanager
def _at_seen(bench: Bench) -> Iterator[Page]:
    """A look at the work that has begun, at the step where one says what was seen."""
    with page(bench.opened, bench.served.address) as shown:
        sign_in(shown, NAME, PASSWORD)
        shown.goto(f"/works/{bench.work}/visits/new?kind=look")
        shown.locator(".step-line button[value=seen]").click()
        yield shown


def _choose(shown: Page, photograph: int) -> None:
    """Tap a photograph in the list below the picture, and wait until it is there."""
    shown.locator(f".on-choices a[href$='photograph={photograph}']").click()
    shown.wait_for_selector(f"[data-findings-on*='\"photograph\": {photograph}']")


def _tap(shown: Page, *places: Point) -> None:
    picture = shown.locator("[data-picture]")
    picture.scroll_into_view_if_needed()
    box = picture.bounding_box()
    assert box is not None
    for x, y in places:
        shown.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])


def _press(shown: Page, *keys: str) -> None:
    for key in keys:
        shown.keyboard.press(key)


def _drawn_mm(shown: Page, corners: Corners) -> list[Point]:
    """Return where on the sheet the outline lies that this page shows."""
    written = shown.locator(".layer.now polygon.line").get_attribute("points") or ""
    sheet = sheet_on_photograph(corners, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, side=Side.RECTO)
    pairs = [tuple(map(float, pair.split(","))) for pair in written.split()]
    return [sheet.on_sheet((x / WIDTH_PX, y / HEIGHT_PX)) for x, y in pairs]


def test_an_outline_drawn_on_one_photograph_lies_in_the_same_place_on_another(
    bench: Bench,
) -> None:
    bench.set_corners(bench.other, OTHER)
    with page(bench.opened, bench.served.address) as shown:
        sign_in(shown, NAME, PASSWORD)
        shown.goto(f"/works/{bench.work}/findings?photograph={bench.one}")
        shown.get_by_role("button", name="Corners of the sheet").click()
        _tap(shown, *ONE)
        shown.get_by_role("button", name="Keep the corners").click()
        shown.wait_for_selector("[data-lacks]", state="detached")
        shown.get_by_role("button", name="Outline", exact=True).click()
        _tap(shown, (0.3, 0.5), (0.4, 0.5), (0.4, 0.62), (0.3, 0.62), (0.3, 0.5))
        shown.get_by_role("button", name="Keep this outline").click()
        shown.wait_for_selector(".layer.now polygon.line", state="attached")
        on_one = _drawn_mm(shown, ONE)

        shown.goto(f"/works/{bench.work}/findings?photograph={bench.other}")
        on_other = _drawn_mm(shown, OTHER)

    kept = bench.findings()[0]["sightings"][0]["outline"]["points"]
    assert len(kept) == 4
    np.testing.assert_allclose(on_one, kept, rtol=0, atol=AS_EXACT_AS_A_TAP_MM)
    np.testing.assert_allclose(on_other, kept, rtol=0, atol=AS_EXACT_AS_A_TAP_MM)


def test_a_window_is_marked_by_taps_and_taken_over_on_another_photograph(bench: Bench) -> None:
    bench.set_corners(bench.one, ONE)
    bench.set_corners(bench.other, OTHER)
    # Of one and the same place twice, so that both labels want one spot.
    _draw_foxing(bench)
    _grown_foxing(bench)
    with page(bench.opened, bench.served.address) as shown:
        sign_in(shown, NAME, PASSWORD)
        shown.goto(f"/works/{bench.work}/findings?photograph={bench.one}")
        shown.wait_for_function(LABELS_APART)
        shown.get_by_role("button", name="Edge of the window").click()
        _tap(shown, (0.25, 0.25), (0.8, 0.22), (0.82, 0.8), (0.22, 0.78))
        shown.get_by_role("button", name="Keep the window").click()
        shown.wait_for_selector(".window-line", state="attached")

        shown.goto(f"/works/{bench.work}/findings?photograph={bench.other}")
        shown.get_by_role("button", name="Edge of the window").click()
        shown.get_by_role("button", name="As on recto").click()
        shown.get_by_role("button", name="Keep the window").click()
        shown.wait_for_selector(".window-line", state="attached")
    marked, taken_over = (
        bench.program.get(f"/api/photographs/{photograph}/window-edge").json()["on_sheet_mm"]
        for photograph in (bench.one, bench.other)
    )
    np.testing.assert_allclose(taken_over, marked, rtol=0, atol=0.01)


def _grown_foxing(bench: Bench) -> None:
    square = [[190, 140], [230, 140], [230, 165], [190, 165]]
    outline = {"shape": "outline", "points": square}
    grown = {"finding": 1, "change": "grown", "outline": outline}
    visit = {
        "on": "2025-05-01",
        "kind": "look",
        "report": {"sightings": [grown]},
        "based_on": bench.program.get(f"/api/works/{bench.work}").json()["version"],
    }
    bench.program.post(f"/api/works/{bench.work}/visits", json=visit).raise_for_status()


def test_an_outline_is_drawn_by_keys_alone_to_the_millimetre(bench: Bench) -> None:
    bench.set_corners(bench.one, ONE)
    with page(bench.opened, bench.served.address) as shown:
        sign_in(shown, NAME, PASSWORD)
        shown.goto(f"/works/{bench.work}/findings?photograph={bench.one}")
        shown.get_by_role("button", name="Outline", exact=True).focus()
        _press(shown, "Enter")
        shown.locator("[data-picture]").focus()
        _press(shown, "ArrowRight", "ArrowLeft", "Enter")
        _press(shown, "Shift+ArrowRight", "Shift+ArrowRight", "Enter")
        assert re.search(
            r"Point 2 set at [\d.]+ mm from the left, [\d.]+ mm from the top",
            shown.locator("[data-say]").text_content() or "",
        )
        # One point too many is taken back.
        _press(shown, "ArrowDown", "Enter", "Backspace", "ArrowUp")
        _press(shown, "Shift+ArrowDown", "Enter")
        _press(shown, "Shift+ArrowLeft", "Shift+ArrowLeft", "Enter")
        shown.get_by_role("button", name="Close the outline").focus()
        _press(shown, "Enter")
        shown.get_by_role("button", name="Keep this outline").focus()
        _press(shown, "Enter")
        shown.wait_for_selector(".layer.now polygon.line", state="attached")

    (sighting,) = bench.findings()[0]["sightings"]
    (left, top), *rest = sighting["outline"]["points"]
    expected = [(left + 20, top), (left + 20, top + 10), (left, top + 10)]
    np.testing.assert_allclose(rest, expected, rtol=0, atol=0.01)
    # 20 x 10 mm of 420 x 300 mm.
    assert sighting["extent_percent"] == 0.16


def test_a_band_drawn_in_a_visit_stands_in_its_form_after_a_reload_and_goes_on_record(
    bench: Bench,
) -> None:
    bench.set_corners(bench.one, ONE)
    with _at_seen(bench) as shown:
        shown.get_by_role("button", name="Band along an edge").click()
        shown.locator("[data-edge=right]").click()
        # 12 mm in from the right edge, half way down; then one millimetre more.
        _tap(shown, _seen(WIDTH_MM - 12, HEIGHT_MM / 2))
        assert shown.locator("[data-mm]").text_content() == "12 mm in"
        shown.get_by_role("button", name="One millimetre more").click()
        # Of the edge only its upper part; a number beyond its end is refused before it is kept.
        shown.get_by_label("From, mm").fill("1 in")
        shown.get_by_label("To, mm").fill(str(HEIGHT_MM + 1))
        expect(shown.get_by_role("button", name="Keep this band")).to_be_hidden()
        expect(shown.locator("[data-say]")).to_contain_text("the lower first")
        shown.get_by_label("To, mm").fill(str(25.4 + HEIGHT_MM / 2).replace(".", ","))
        shown.get_by_role("button", name="Keep this band").click()
        shown.fill("[name='new/0/term']", "mat burn")
        shown.check("[name='new/0/severity'][value=moderate]")
        shown.locator("#kept", has_text="Everything saved").wait_for()

        shown.reload()
        shown.locator(".step-line button[value=seen]").click()
        assert shown.locator("[name='new/0/mm']").input_value() == "13"
        shown.wait_for_selector(".desk polygon.kept-line", state="attached")
        shown.locator(".step-line button[value=finish]").click()
        shown.get_by_role("button", name="Finish the look").click()
        shown.wait_for_url(re.compile(r"/works/\d+"))

    burn = bench.findings()[-1]
    assert (burn["term"], burn["edge"]) == ("mat burn", "right")
    (sighting,) = burn["sightings"]
    # 13 of 420 mm, along half of the edge.
    assert (sighting["mm"], sighting["extent_percent"]) == (13, 1.55)


def test_what_is_drawn_and_not_kept_yet_outlives_the_page_and_is_kept_by_going_on(
    bench: Bench,
) -> None:
    with _at_seen(bench) as shown:
        # Not the one that is shown first.
        _choose(shown, bench.one)
        shown.get_by_role("button", name="Corners of the sheet").click()
        _tap(shown, *ONE[:2])
        shown.reload()
        expect(shown.locator("[data-say]")).to_contain_text("drawn before and is not kept yet")
        _tap(shown, *ONE[2:])
        shown.reload()
        expect(shown.get_by_role("button", name="Keep the corners")).to_be_visible()
        shown.locator(".step-line button[value=finish]").click()
        shown.locator("[data-lacks]").wait_for(state="detached")
        shown.reload()
        shown.locator(".step-line button[value=seen]").click()
        expect(shown.get_by_role("button", name="Outline", exact=True)).to_be_visible()
        expect(shown.locator("[data-say]")).to_be_empty()

    kept = bench.program.get(f"/api/photographs/{bench.one}/corners").json()["corners"]
    np.testing.assert_allclose(kept, ONE, rtol=0, atol=0.005)


def test_what_is_told_of_one_side_is_not_drawn_anew_on_the_other(bench: Bench) -> None:
    for photograph, corners in ((bench.one, ONE), (bench.other, OTHER)):
        bench.set_corners(photograph, corners)
    told = {"view": "verso"}
    bench.program.patch(
        f"/api/photographs/{bench.one}", json=told, headers={"If-Match": '"1"'}
    ).raise_for_status()
    with _at_seen(bench) as shown:
        shown.get_by_role("button", name="Band along an edge").click()
        shown.locator("[data-edge=left]").click()
        shown.get_by_role("button", name="Keep this band").click()
        _choose(shown, bench.one)
        shown.get_by_role("button", name="Band along an edge").click()
        shown.locator("[data-edge=top]").click()
        shown.get_by_role("button", name="Keep this band").click()
        assert [
            (
                shown.locator(f"[name='new/{row}/edge']:checked").input_value(),
                shown.locator(f"[name='new/{row}/side']:checked").input_value(),
            )
            for row in range(2)
        ] == [("left", "recto"), ("top", "verso")]


def test_a_contrast_is_read_in_a_visit_by_taps_and_by_keys(bench: Bench) -> None:
    bench.set_corners(bench.one, ONE)
    with _at_seen(bench) as shown:
        known, new = (shown.locator(f"[data-contrast-of='{at}']") for at in ("finding/1", "new/0"))
        known.get_by_role("button", name="read from a photograph").click()
        expect(shown.locator("[data-say]")).to_have_text("Tap the stain.")
        # Dark table and pale sheet, as far apart as stain and paper would never be.
        _tap(shown, (0.02, 0.02), (0.5, 0.5))
        shown.get_by_role("button", name="Read their colours").click()
        expect(known).to_contain_text("ΔE2000 55.5")
        assert shown.locator("[name='finding/1/change'][value=unchanged]").is_checked()

        new.get_by_role("button", name="read from a photograph").focus()
        _press(shown, "Enter")
        expect(shown.locator("[data-say]")).to_have_text("Tap the stain.")
        _press(shown, "Enter", "Shift+ArrowRight", "Enter")
        shown.get_by_role("button", name="Read their colours").focus()
        _press(shown, "Enter")
        expect(new).to_contain_text("ΔE2000 0.0, from the photograph, indicative")
        new.get_by_role("button", name="Take it back").click()
        expect(new).not_to_contain_text("ΔE2000")
        shown.locator("#kept", has_text="Everything saved").wait_for()

        shown.reload()
        expect(known).to_contain_text("ΔE2000 55.5")
        shown.locator(".step-line button[value=finish]").click()
        shown.get_by_role("button", name="Finish the look").click()
        shown.wait_for_url(re.compile(r"/works/\d+"))
        shown.goto(f"/works/{bench.work}/findings?photograph={bench.one}")
        expect(shown.locator(".on-table")).to_contain_text("ΔE2000 55.5")


def test_one_tap_says_what_a_known_finding_is_now(bench: Bench) -> None:
    bench.set_corners(bench.one, ONE)
    _draw_foxing(bench)
    with _at_seen(bench) as shown:
        shown.wait_for_selector(".layer.now .shape")
        _tap(shown, _seen(210, 150))
        shown.get_by_role("group", name="What it is now").get_by_text("grown").click()
        assert shown.locator("[name='finding/1/change'][value=grown]").is_checked()


def _draw_foxing(bench: Bench) -> None:
    sighting = bench.findings()[0]["sightings"][0]["id"]
    square = [[200, 140], [220, 140], [220, 160], [200, 160]]
    bench.program.put(
        f"/api/sightings/{sighting}/outline",
        json={"shape": "outline", "points": square},
        headers={"If-Match": '"0"'},
    ).raise_for_status()


def _seen(left_mm: float, top_mm: float) -> Point:
    sheet = sheet_on_photograph(ONE, width_mm=WIDTH_MM, height_mm=HEIGHT_MM, side=Side.RECTO)
    return sheet.on_picture((left_mm, top_mm))
