"""Printed on A4 and Letter: whole drawings, nothing beyond the margin, nothing to press."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.browser.kinds_of_pages import laid_out
from tests.served import Served

KEEPER, PASSWORD = "Ottilie Quire", "seven soft brushes"
# What lies between margins of 16 mm, in CSS pixels of 1/96 inch; a page's inner height likewise.
PAPERS = {"A4": (672, 997), "Letter": (694, 931)}
BEYOND = """width => [...document.querySelectorAll('.report, .report *')].filter(
    one => !one.closest('svg > *') && one.getBoundingClientRect().right > width + 1
).map(one => one.outerHTML.slice(0, 80))"""
HIGHEST = """() => Math.max(...[...document.querySelectorAll('.report figure')].map(
    one => one.getBoundingClientRect().height))"""


def pages_of(printed: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", printed))


def on_paper(shown: Page, path: str, paper: str) -> int:
    """Print a page, look for anything cut off, and return on how many pages it stands."""
    shown.goto(path)
    shown.wait_for_load_state("networkidle")
    shown.emulate_media(media="print")
    printed = shown.pdf(format=paper)
    width, height = PAPERS[paper]
    shown.set_viewport_size({"width": width, "height": height})
    assert shown.evaluate(BEYOND, width) == []
    # A figure that fits on a page is not cut: it may not be broken.
    assert shown.evaluate(HIGHEST) < height
    expect(shown.locator(".acts").first).to_be_hidden()
    return pages_of(printed)


@pytest.mark.parametrize("paper", PAPERS)
def test_report_and_bench_sheet_stand_whole_on_a_few_pages(
    demo: Served, paper: str, opened: Browser
) -> None:
    with page(opened, demo.address) as shown:
        sign_in(shown, KEEPER, PASSWORD)
        shown.goto("/works?q=H%20007")
        work = re.sub(r".*(/works/\d+).*", r"\1", shown.url)
        newest = shown.locator("ol.years a[href^='/visits/']").first.get_attribute("href")
        assert newest is not None
        assert on_paper(shown, f"{work}/bench-sheet", paper) in (3, 4)
        assert on_paper(shown, f"{newest}/report", paper) in (2, 3, 4)


# What is printed besides, each as it stands on the screen.
PRINTED = [
    "work",
    "visit",
    "visits compared",
    "due",
    "remat",
    "remat job",
    "remat list",
    "remat sheets",
    "sheet inside",
    "material",
    "light",
]
# Whatever is wider than the paper, and whatever is there to be pressed.
WRONG_ON_PAPER = """width => [...document.querySelectorAll('body *')].filter(one =>
    one.checkVisibility() && !one.closest('svg > *') && (
        one.getBoundingClientRect().right > width + 1 || one.matches('button, .button, nav'))
).map(one => one.outerHTML.slice(0, 80))"""
INK = """() => ['color', 'backgroundColor'].map(
    (one) => getComputedStyle(document.documentElement)[one])"""


def test_nothing_is_wider_than_the_paper_or_in_the_colours_of_the_evening(
    demo: Served, opened: Browser
) -> None:
    context = opened.new_context(base_url=demo.address, color_scheme="dark")
    shown = context.new_page()
    paths = laid_out(shown, "keeper")
    paths["remat list"] += "?work=4&work=15"
    shown.emulate_media(media="print")
    wrong = []
    for kind in PRINTED:
        shown.goto(paths[kind])
        for paper, (width, height) in PAPERS.items():
            shown.set_viewport_size({"width": width, "height": height})
            wrong += [(kind, paper, one) for one in shown.evaluate(WRONG_ON_PAPER, width)]
        assert shown.evaluate(INK) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    context.close()
    assert wrong == []
