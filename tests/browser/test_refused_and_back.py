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


def test_where_somebody_was_quicker_each_field_is_chosen_by_one_tap(
    demo: Served, opened: Browser
) -> None:
    with (
        page(opened, demo.address) as quick,
        page(opened, demo.address, may_complain_of="409 (Conflict)") as slow,
    ):
        for shown in (quick, slow):
            sign_in_as(shown, "keeper")
            shown.goto("/works/5/change")
        quick.fill("[name=title]", "Mill race at noon")
        quick.select_option("[name=technique]", "etching")
        quick.locator("form.sheet button[type=submit]").last.click()
        expect(quick.get_by_role("heading", name="Mill race at noon")).to_be_visible()
        slow.fill("[name=title]", "Mill race at night")
        slow.fill("[name=note]", "Seen by lamplight.")
        slow.select_option("[name=technique]", "engraving")
        slow.locator("form.sheet button[type=submit]").last.click()
        mine = slow.get_by_role("button", name="title as in your form")
        expect(mine).to_have_attribute("aria-pressed", "true")
        slow.get_by_role("button", name="technique as on record").click()
        slow.get_by_role("button", name="title as on record").click()
        expect(slow.locator("[name=title]")).to_have_value("Mill race at noon")
        mine.click()
        slow.locator("form.sheet button[type=submit]").last.click()
        expect(slow.get_by_role("heading", name="Mill race at night")).to_be_visible()
        slow.goto("/works/5/change")
        expect(slow.locator("[name=technique]")).to_have_value("etching")
        expect(slow.locator("[name=note]")).to_have_value("Seen by lamplight.")


def test_what_is_written_up_outlives_the_page_until_it_is_sent(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address) as shown:
        sign_in_as(shown, "keeper")
        shown.goto("/due")
        shown.locator("#to-write-up a").first.click()
        shown.wait_for_load_state()
        summary = shown.locator("form[data-keeps-typed] [name=summary]")
        summary.fill("A brown line along the window.")
        shown.locator("[name='new/0/term']").fill("mat burn")
        shown.reload()
        expect(summary).to_have_value("A brown line along the window.")
        expect(shown.locator("[name='new/0/term']")).to_have_value("mat burn")
        shown.get_by_role("button", name="Begin afresh").click()
        expect(summary).to_have_value("")
        summary.fill("A brown line.")
        shown.goto("/due")
        shown.locator("#to-write-up a").first.click()
        expect(summary).to_have_value("A brown line.")
        shown.get_by_role("button", name="Write it up").click()
        expect(shown.get_by_text("A brown line.").first).to_be_visible()
        expect(summary).to_have_count(0)
        nothing = "!Object.keys(localStorage).some((name) => name.includes('typed'))"
        shown.wait_for_function(nothing)
