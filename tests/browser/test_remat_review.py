"""A collector reviews what to remat: narrows, chooses, makes a job, prints; an owner answers."""

from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser, Page, expect

from seed_data.demo.register import read_people
from tests.browser.driven import page, sign_in
from tests.served import Served


def signed_in(shown: Page, role: str) -> Page:
    person = next(person for person in read_people() if person.role == role)
    sign_in(shown, person.name, person.password)
    return shown


def narrow(shown: Page, field: str, value: str) -> None:
    shown.goto("/remat")
    shown.locator(".remat-asked > summary").click()
    shown.select_option(f"[name={field}]", value)
    shown.get_by_role("button", name="Show", exact=True).click()
    shown.wait_for_url(f"**/remat?*{field}=*")


def tick_first(shown: Page) -> str:
    first = shown.locator("ol.remat-list > li").first
    first.locator("input[name=work]").check()
    return first.locator(".number").inner_text()


def test_works_chosen_over_two_filters_become_a_job_with_its_sheets(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address) as shown:
        signed_in(shown, "keeper")
        narrow(shown, "owner", "House collection")
        assert "work=" not in shown.url
        chosen = {tick_first(shown)}
        narrow(shown, "owner", "Foolscap family")
        foot = shown.locator("[data-remat-chosen]")
        expect(foot).to_contain_text("1 chosen")
        chosen.add(tick_first(shown))
        expect(foot).to_contain_text("2 chosen")
        shown.get_by_role("button", name="Make a remat job of them").click()
        shown.fill("[name=name]", "Before the fair")
        shown.get_by_role("button", name="Make the job").click()
        shown.wait_for_url("**/remat/jobs/*")
        assert set(shown.locator("ol.remat-list .number").all_inner_texts()) == chosen
        expect(shown.get_by_role("heading", name="What must lie ready")).to_be_visible()
        assert Axe().run(shown).response["violations"] == []
        shown.get_by_role("link", name="Sheets for the bench").click()
        shown.wait_for_url("**/sheets")
        assert set(shown.locator("article .number").all_inner_texts()) == chosen
        assert "Foolscap family" not in shown.inner_text("main")
        shown.goto("/remat")
        expect(shown.locator("[data-remat-chosen]")).to_contain_text("0 chosen")
        assert Axe().run(shown).response["violations"] == []


def test_without_a_script_what_is_ticked_travels_in_the_address(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address, with_scripts=False) as shown:
        signed_in(shown, "keeper")
        shown.goto("/remat")
        tick_first(shown)
        shown.get_by_role("button", name="What comes after").click()
        shown.wait_for_url("**/remat?*after=*")
        expect(shown.locator("[data-remat-chosen]")).to_contain_text("1 chosen")
        tick_first(shown)
        shown.get_by_role("button", name="List to print").click()
        shown.wait_for_url("**/remat/list?*")
        expect(shown.locator("main")).to_contain_text("2 works,")


def test_what_was_chosen_is_forgotten_at_sign_out(demo: Served, opened: Browser) -> None:
    with page(opened, demo.address) as shown:
        signed_in(shown, "keeper")
        shown.goto("/remat")
        tick_first(shown)
        shown.locator("details.more > summary").click()
        shown.get_by_role("button", name="Sign out").click()
        shown.wait_for_url("**/sign-in*")
        assert shown.evaluate("sessionStorage.length") == 0


def test_an_owner_approves_one_declines_one_until_a_day_and_asks_about_one(
    demo: Served, opened: Browser
) -> None:
    with page(opened, demo.address) as shown:
        signed_in(shown, "owner")
        shown.goto("/remat")
        rows = shown.locator("ol.remat-list > li")
        numbers = rows.locator(".number").all_inner_texts()[:3]
        assert Axe().run(shown).response["violations"] == []
        rows.nth(0).get_by_role("button", name="Approve").click()
        expect(shown.locator("main")).to_contain_text("Agreed on")
        declined = rows.filter(has_text=numbers[1])
        declined.locator("summary", has_text="Decline until").click()
        declined.get_by_role("button", name="1 year").click()
        expect(rows.filter(has_text=numbers[1])).to_have_count(0)
        asking = rows.filter(has_text=numbers[2])
        asking.locator("summary", has_text="Ask").click()
        asking.locator("textarea").fill("Can the old mat be kept?")
        asking.get_by_role("button", name="Ask the keeper").click()
        expect(rows.filter(has_text=numbers[2])).to_contain_text("Can the old mat be kept?")
        shown.goto("/remat?state=declined%20until")
        expect(shown.locator("ol.remat-list")).to_contain_text(numbers[1])
    with page(opened, demo.address) as shown:
        signed_in(shown, "keeper")
        shown.goto("/remat")
        asked = shown.locator(".remat-questions")
        expect(asked).to_contain_text(numbers[2])
        expect(asked).to_contain_text("Can the old mat be kept?")
