"""The life of a work in a real browser: its years, two visits beside each other, and on paper."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.served import Served

KEEPER, PASSWORD = "Ottilie Quire", "seven soft brushes"
PHONE = {"width": 390, "height": 844}
A_MAT_BURN = "Mill race at evening"


def open_work(shown: Page, title: str) -> None:
    sign_in(shown, KEEPER, PASSWORD)
    shown.set_default_timeout(8_000)
    shown.goto(f"/works?q={title}")
    shown.get_by_role("link", name=title).first.click()
    shown.wait_for_url("**/works/*")


def test_the_years_scroll_on_a_phone_while_their_names_stay(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address) as shown:
        open_work(shown, A_MAT_BURN)
        shown.set_viewport_size(PHONE)  # type: ignore[arg-type]
        years = shown.get_by_role("region", name="The years of the work, drawn")
        names = shown.locator(".lane-names")
        # What is now stands before the eyes; the past is one scroll away.
        before = names.bounding_box()
        expect(shown.get_by_text("today", exact=True)).to_be_visible()
        years.evaluate("region => region.scrollTo({ left: -10_000 })")
        assert names.bounding_box() == before
        assert shown.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        shown.get_by_text("The same in a table").click()
        expect(shown.get_by_role("cell", name="Mount 2: T-hinge")).to_be_visible()


def test_two_visits_are_compared_by_keys_and_by_taps(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address) as shown:
        open_work(shown, A_MAT_BURN)
        shown.get_by_role("link", name="Compare two visits").click()
        # There as soon as the script is at work.
        shown.get_by_role("button", name="Only after").wait_for()
        slide = shown.get_by_label("How much of each")
        part = shown.locator("[data-compare] [data-part]")
        half = float(part.get_attribute("x") or "nan")
        slide.focus()
        shown.keyboard.press("ArrowRight")
        by_key = float(part.get_attribute("x") or "nan")
        shown.get_by_role("button", name="Only after").click()
        whole = float(part.get_attribute("x") or "nan")
        assert whole < half < by_key
        box = shown.locator("[data-picture]").bounding_box()
        assert box is not None
        shown.mouse.click(box["x"] + box["width"] * 0.75, box["y"] + box["height"] / 2)
        assert slide.input_value() == "75"
        shown.get_by_role("link", name="left margin").click()
        expect(shown.locator("[data-picture]")).to_be_visible()
        expect(shown.get_by_role("row", name="1 mat burn")).to_be_visible()


def test_without_scripts_two_pictures_stand_beside_each_other(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address, with_scripts=False) as shown:
        open_work(shown, A_MAT_BURN)
        shown.get_by_role("link", name="Compare two visits").click()
        expect(shown.locator("[data-both]")).to_be_hidden()
        expect(shown.locator(".beside svg")).to_have_count(2)
        shown.get_by_label("Before").select_option(index=5)
        shown.get_by_role("button", name="Compare them").click()
        expect(shown).to_have_url(re.compile("before="))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_record_of_a_work_prints(demo: Served, paper: str, opened: Browser) -> None:
    with page(opened, demo.address) as shown:
        open_work(shown, A_MAT_BURN)
        assert len(shown.pdf(format=paper)) > 10_000
        shown.emulate_media(media="print")
        # Nothing to press, the steps of a date laid open, number and day at the foot.
        expect(shown.get_by_role("link", name="Start an unframing")).to_be_hidden()
        expect(shown.locator(".date .steps li").first).to_be_visible()
        expect(shown.locator(".paper-foot")).to_be_visible()
