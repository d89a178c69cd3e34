"""A form that was refused as a whole: whoever goes back finds everything that was typed."""

from playwright.sync_api import Browser, expect

from tests.browser.driven import page
from tests.browser.kinds_of_pages import sign_in_as
from tests.served import Served


def test_a_form_of_an_earlier_sign_in_is_come_back_to_and_sent_again(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address, may_complain_of="403 (Forbidden)") as shown:
        sign_in_as(shown, "keeper")
        shown.goto("/works/4/change")
        shown.fill("[name=title]", "Mill race at dusk")
        shown.select_option("[name=technique]", "engraving")
        shown.fill("[name=note]", "Typed for nothing?")
        shown.evaluate("document.querySelector('main [name=form_token]').value = 'old'")
        shown.locator("form.sheet button[type=submit]").last.click()
        expect(shown.get_by_role("heading", name="This form is from before")).to_be_visible()
        shown.get_by_role("button", name="Back to what you typed").click()
        expect(shown.locator("[name=title]")).to_have_value("Mill race at dusk")
        expect(shown.locator("[name=technique]")).to_have_value("engraving")
        expect(shown.locator("[name=note]")).to_have_value("Typed for nothing?")
        shown.locator("form.sheet button[type=submit]").last.click()
        expect(shown.get_by_role("heading", name="Mill race at dusk")).to_be_visible()
