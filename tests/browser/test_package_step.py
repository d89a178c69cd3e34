"""Layers swapped in a real browser, by thumb and by keyboard: verdict and date change at once."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.driven import page, sign_in
from tests.served import Served

# A groundwood mat and mount board of about 1986; see seed_data/demo/ABOUT.md.
WORK = "H 014"
RAG = "Cotton rag mat board, 4-ply, buffered"


@pytest.fixture
def bench(demo: Served, opened: Browser) -> Iterator[Page]:
    """An unframing of the work, at its new package."""
    with page(opened, demo.address) as shown:
        to_new_package(shown)
        yield shown


def to_new_package(shown: Page) -> None:
    """Sign in and go there."""
    sign_in(shown, "Bran Tympan", "seven bone folders")
    # Whoever unframes a work again goes on where another test may have left it.
    shown.goto("/bench")
    away = shown.get_by_role("button", name="Put away")
    while away.count():
        with shown.expect_navigation():
            away.first.click()
    shown.goto(f"/works?q={WORK.replace(' ', '%20')}")
    # One work of that number: the search leads to its page.
    shown.goto(f"{shown.url.partition('?')[0]}/visits/new?kind=unframing")
    shown.locator(".step-line button", has_text="New package").click()


def row_of(shown: Page, role: str) -> str:
    """The selector of the row in which a layer of the old package stands."""
    row = shown.locator(".swap-row[data-old]", has_text=f"{role}:").first
    return f'[data-row="{row.get_attribute("data-row")}"]'


def test_two_boards_are_swapped_by_thumb_and_the_date_moves_without_a_new_page(bench: Page) -> None:
    bench.evaluate("window.hasStayed = true")
    seen = bench.locator("#tried")
    expect(seen).to_contain_text("harmful")
    for role in ("window mat", "mount board"):
        row = bench.locator(row_of(bench, role))
        row.get_by_text("change", exact=True).click()
        row.locator(".fit-here button", has_text=RAG).first.click()
        expect(row.locator("[name$='/lot']")).to_have_value("L-2103")
    expect(seen.locator(".would-be")).to_contain_text("doubtful")
    expect(seen.locator(".is-date", has_text="Unframe again")).to_contain_text("now: today")
    expect(seen.locator("svg")).to_contain_text("Cotton rag mat board")
    expect(bench.locator("#swap-said")).to_contain_text("Unframe again by")
    assert bench.evaluate("window.hasStayed") is True


def test_a_layer_tapped_in_the_drawing_leads_to_its_row(bench: Page) -> None:
    row = row_of(bench, "backing board")
    bench.locator("#tried .label", has_text="backing board").click()
    expect(bench.locator(f"{row} input:focus")).to_have_count(1)


def test_a_mat_is_swapped_by_the_keyboard_alone(bench: Page) -> None:
    row = bench.locator(row_of(bench, "glazing"))
    row.locator("[name$='/act'][value=stays]").focus()
    bench.keyboard.press("ArrowRight")
    expect(row.locator(".fit-here")).to_be_visible()
    bench.keyboard.press("Tab")
    material = row.locator("[name$='/material']")
    expect(material).to_be_focused()
    bench.keyboard.type("UV-filtering acrylic sheet, 3 mm")
    bench.keyboard.press("Enter")
    expect(material).to_have_value("UV-filtering acrylic sheet, 3 mm")
    expect(bench.locator("#tried svg")).to_contain_text("UV-filtering acrylic")
    row.locator("[name$='/act']:checked").focus()
    bench.keyboard.press("ArrowLeft")
    expect(bench.locator("#tried svg")).to_contain_text("Old glass, as found")


def test_a_package_that_could_not_be_tried_is_tried_again(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address, may_complain_of="ERR_FAILED") as shown:
        to_new_package(shown)
        shown.route("**/package-tried", lambda asked: asked.abort(), times=1)
        row = shown.locator(row_of(shown, "glazing"))
        row.get_by_text("take out", exact=True).click()
        seen = shown.locator("#tried")
        expect(seen.locator(".fault")).to_contain_text("The network is away")
        expect(seen.locator("svg")).not_to_contain_text("Old glass, as found")
        expect(seen.locator(".fault")).to_have_count(0)


def test_what_is_changed_and_not_yet_for_what_is_said_above_the_drawing(bench: Page) -> None:
    row = bench.locator(row_of(bench, "window mat"))
    row.get_by_text("change", exact=True).click()
    half_said = bench.locator("#tried .half-said")
    expect(half_said).to_contain_text("window mat: choose what it is changed for")
    row.locator(".fit-here button", has_text=RAG).first.click()
    expect(bench.locator("#tried svg")).to_contain_text("Cotton rag mat board")
    expect(half_said).to_have_count(0)


def test_one_tap_says_how_every_hinge_came_off(bench: Page) -> None:
    bench.locator(".step-line button", has_text="Came off").click()
    bench.get_by_role("button", name="Freed with water, paste left along the top edge").click()
    expect(bench.locator("[name='dismount/done']")).to_be_checked()
    holds = bench.locator(".came-off [data-row^='dismount/']")
    for hold in holds.all():
        expect(hold.locator("[name$='/outcome']")).to_have_value("freed")
        expect(hold.locator("[name$='/freed_by']")).to_have_value("water")
        expect(hold.locator("[name$='/residue']")).to_have_value("paste left along the top edge")


def test_nobody_finishes_before_what_will_be_recorded_is_shown(bench: Page) -> None:
    on, finish = (f".way-on[data-step={step}] button.first" for step in ("package", "finish"))
    # Both in one turn of the page's script: no answer can have come between.
    was_finished = bench.evaluate(
        """([on, finish]) => {
          document.querySelector(on).click();
          document.querySelector(finish).click();
          return !document.querySelector(finish).disabled;
        }""",
        [on, finish],
    )
    assert was_finished is False
    expect(bench.locator(finish)).to_be_enabled()
    expect(bench.locator("#outcome h2").first).to_be_visible()
    assert bench.url.endswith("/finish")
