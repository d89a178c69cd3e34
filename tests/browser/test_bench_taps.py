"""How many taps does the visit of the README take, and can it be made by the keyboard alone?"""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from seed_data.demo.register import read_people
from tests.browser.driven import page, sign_in
from tests.served import Served

# H 014: four questions, three places seen, two findings, off by water, a usual build, finished.
MOST_TAPS = 22
SLOW_MS = 20_000


@pytest.fixture(scope="module")
def shown(demo: Served, opened: Browser) -> Iterator[Page]:
    keeper = next(person for person in read_people() if person.role == "keeper")
    with page(opened, demo.address) as shown:
        sign_in(shown, keeper.name, keeper.password)
        yield shown


def test_the_visit_of_the_readme_is_made_in_few_taps(shown: Page) -> None:
    taps = 0

    def tap(what: Locator) -> None:
        nonlocal taps
        taps += 1
        what.click()

    shown.goto("/works?q=H%20014")
    tap(shown.get_by_role("link", name="Start an unframing"))
    for question in range(4):
        tap(shown.locator(f"[name='stop/{question}'][value=no]"))
    on = shown.get_by_role("button", name="Save and go on")
    tap(on)
    tap(on)
    for place in ("margins", "verso", "under hinges"):
        tap(shown.locator(f"[name=seen][value='{place}']"))
    findings = shown.locator(".step[data-step=seen]")
    tap(findings.locator("[name^='finding/'][value=grown]").first)
    tap(findings.locator("[name^='finding/'][value=unchanged]").last)
    tap(on)
    tap(shown.get_by_role("button", name="Freed with water, nothing left"))
    for question in range(3):
        tap(shown.locator(f"[name='wet/{question}'][value=yes]"))
    tap(on)
    tap(shown.locator("[data-usual]").first)
    tap(on)
    expect(shown.locator("#outcome")).to_contain_text("What comes next", timeout=SLOW_MS)
    tap(shown.get_by_role("button", name="Finish the unframing"))
    shown.wait_for_url("**/works/*?visit=*")
    assert "Recorded" in shown.inner_text("main")
    assert taps <= MOST_TAPS, taps
    print(f"taps: {taps}")


def test_a_visit_is_made_by_the_keyboard_alone(shown: Page) -> None:
    shown.goto("/works?q=H%20002")
    shown.goto(f"{shown.url.partition('?')[0]}/visits/new?kind=unframing")

    def reach(selector: str) -> None:
        """Go on by Tab until the field that is meant has the focus."""
        for _ in range(120):
            if shown.evaluate("s => document.activeElement.matches(s)", selector):
                return
            shown.keyboard.press("Tab")
        raise AssertionError(f"the keyboard does not reach {selector}")

    for question in range(4):
        reach(f"[name='stop/{question}']")
        # The first of the two is "no".
        shown.keyboard.press("Space")
    reach("[data-tick=closed_as_it_was]")
    shown.keyboard.press("Enter")
    expect(shown.locator("#outcome")).to_contain_text("What comes next", timeout=SLOW_MS)
    assert shown.is_checked("[type=checkbox][name=closed_as_it_was]")
    reach("[formaction$='/record']")
    shown.keyboard.press("Enter")
    shown.wait_for_url("**/works/*?visit=*")
    assert "closed again as it was" in shown.inner_text("main")
