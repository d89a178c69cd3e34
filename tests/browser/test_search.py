"""Finding a work from everywhere, with the keyboard alone."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from seed_data.demo.register import read_people
from tests.browser.driven import page, sign_in
from tests.served import Served


@pytest.fixture(scope="module")
def shown(demo: Served, opened: Browser) -> Iterator[Page]:
    keeper = next(person for person in read_people() if person.role == "keeper")
    with page(opened, demo.address) as shown:
        sign_in(shown, keeper.name, keeper.password)
        yield shown


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_slash_two_letters_and_enter_open_a_work(shown: Page, width: int) -> None:
    shown.set_viewport_size({"width": width, "height": 900})
    shown.goto("/due")
    shown.keyboard.press("/")
    shown.keyboard.type("h0")
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/works/*")
    assert "H 0" in shown.inner_text("main")


def test_arrows_walk_through_what_may_be_meant_and_its_number_is_said(shown: Page) -> None:
    shown.goto("/materials")
    shown.keyboard.press("/")
    field = shown.get_by_role("combobox", name="Find a work")
    expect(field).to_be_focused()
    shown.keyboard.type("h 0")
    options = shown.locator(".found [role=option]")
    expect(options.first).to_have_attribute("aria-selected", "true")
    expect(field).to_have_attribute("aria-expanded", "true")
    expect(shown.get_by_role("status")).to_contain_text("suggestions")
    shown.keyboard.press("ArrowDown")
    second = options.nth(1)
    expect(second).to_have_attribute("aria-selected", "true")
    assert field.get_attribute("aria-activedescendant") == second.get_attribute("id")
    shown.keyboard.press("Escape")
    expect(field).to_have_attribute("aria-expanded", "false")


def test_cynotype_finds_a_cyanotype(shown: Page) -> None:
    shown.goto("/due")
    shown.keyboard.press("/")
    shown.keyboard.type("cynotype")
    expect(shown.get_by_text("Near to it: cyanotype")).to_be_visible()
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/works/*")
    assert "cyanotype" in shown.inner_text("main")


def test_a_slash_in_a_field_is_a_slash(shown: Page) -> None:
    shown.goto("/works/new")
    shown.locator("[name=title]").press("/")
    assert shown.locator("[name=title]").input_value() == "/"


def test_a_list_is_narrowed_by_enter_and_a_thumb_takes_a_suggestion(shown: Page) -> None:
    shown.set_viewport_size({"width": 390, "height": 844})
    shown.goto("/works")
    shown.keyboard.press("/")
    shown.keyboard.type("h 0")
    expect(shown.locator(".found [role=option]").first).to_be_visible()
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/works?q=h+0*")
    shown.fill("[name=q]", "h 01")
    shown.locator(".found [role=option]").first.click()
    shown.wait_for_url("**/works/*")


@pytest.mark.parametrize("held_back", ["**/suggestions*", "**/suggestions?q=h%200"])
def test_where_no_suggestion_comes_enter_still_leads_to_the_list(
    shown: Page, held_back: str
) -> None:
    shown.route(held_back, lambda route: None)
    shown.goto("/due")
    shown.keyboard.press("/")
    shown.keyboard.type("h")
    if "q=" in held_back:
        # What fewer letters may have meant must not be taken for it either.
        expect(shown.locator(".found [role=option]").first).to_be_visible()
    shown.keyboard.type(" 0")
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/works?q=h+0*")
    shown.unroute(held_back)


def test_without_a_connection_a_form_is_not_sent_and_keeps_what_was_typed(shown: Page) -> None:
    shown.goto("/works/new")
    shown.fill("[name=number]", "GH 999")
    shown.fill("[name=title]", "The Weir")
    shown.context.set_offline(True)
    expect(shown.get_by_text("There is no connection just now")).to_be_visible()
    shown.locator("main button[type=submit]").last.click()
    expect(shown.get_by_text("Not sent: there is no connection")).to_be_visible()
    assert shown.locator("[name=title]").input_value() == "The Weir"
    shown.context.set_offline(False)
    expect(shown.get_by_text("The connection is back")).to_be_visible()
