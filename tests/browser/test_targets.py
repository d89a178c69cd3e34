"""Thumbs in gloves: what is pressed in a list is 44 px high, and no word is broken inside."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from seed_data.demo.register import read_people
from tests.browser.driven import page, sign_in
from tests.served import Served

# Height in CSS px of every link that is lower than a thumb needs, and words on more than one line.
LOW_LINKS = """() => [...document.querySelectorAll("main li a, main td a, .head a")]
  .filter((link) => link.offsetHeight && link.getBoundingClientRect().height < 43.5)
  .map((link) => link.textContent.trim())"""
BROKEN_WORDS = """() => {
  const broken = [];
  for (const cell of document.querySelectorAll("main td, main dd, main h1")) {
    const walker = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
      for (const word of walker.currentNode.data.matchAll(/[A-Za-z]+/g)) {
        const range = document.createRange();
        range.setStart(walker.currentNode, word.index);
        range.setEnd(walker.currentNode, word.index + word[0].length);
        if (range.getClientRects().length > 1) broken.push(word[0]);
      }
    }
  }
  return broken;
}"""
PATHS = (
    *("/works", "/due", "/materials", "/materials/1", "/places", "/places/1", "/incidents"),
    *("/people", "/works/1", "/visits/1", "/works/1/visits/new?kind=unframing"),
)


@pytest.fixture(scope="module")
def shown(demo: Served, opened: Browser) -> Iterator[Page]:
    keeper = next(person for person in read_people() if person.role == "keeper")
    with page(opened, demo.address) as shown:
        sign_in(shown, keeper.name, keeper.password)
        yield shown


@pytest.mark.parametrize("width", [390, 820])
def test_what_is_pressed_is_a_thumb_high_and_no_word_is_broken(shown: Page, width: int) -> None:
    shown.set_viewport_size({"width": width, "height": 1180})
    for path in PATHS:
        shown.goto(path)
        assert (path, shown.evaluate(LOW_LINKS)) == (path, [])
        assert (path, shown.evaluate(BROKEN_WORDS)) == (path, [])
        assert shown.evaluate("document.documentElement.scrollWidth") <= width


def test_the_sign_that_does_not_wait_keeps_its_lower_edge_on_the_form(shown: Page) -> None:
    shown.goto("/works?q=D+001")
    shown.goto(f"{shown.url}/visits/new?kind=look")
    gap = shown.evaluate(
        """() => document.querySelector("form.visit").getBoundingClientRect().top
          - document.querySelector(".does-not-wait").getBoundingClientRect().bottom"""
    )
    # The mat round the window of the form is 5 px wide.
    assert gap > 5


LONG_NUMBER = "LONG-2026-000000000000001"
LONG_TITLE = (
    "Every thing that is to be seen on it, unpronounceablylongandunbrokenname: " + "see " * 50
)


def test_a_long_number_and_title_stay_within_a_phone(shown: Page) -> None:
    shown.set_viewport_size({"width": 390, "height": 844})
    shown.goto("/works/4/change")
    shown.fill("[name=number]", LONG_NUMBER)
    shown.fill("[name=title]", LONG_TITLE)
    shown.locator("form.sheet button[type=submit]").last.click()
    shown.wait_for_url("**/works/4")
    for page_of in ("", "/photographs", "/what-if", "/compare", "/put-off", "/inside-sheet"):
        shown.goto(f"/works/4{page_of}")
        assert (page_of, shown.evaluate("document.documentElement.scrollWidth")) == (page_of, 390)
    shown.goto(f"/works?q={LONG_TITLE[:9]}")
    row = shown.locator("table.works tr", has_text=LONG_NUMBER).bounding_box()
    # A title that is squeezed beside its number stands letter by letter, thousands of px high.
    assert row is not None
    assert row["height"] < 844
