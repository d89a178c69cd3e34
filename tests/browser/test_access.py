"""Can everybody use every kind of page, is it small, and does it stay still?

One demonstration is served; every kind of page is shown once to each who may see it, by day
or in the evening, on a tablet or a phone in turn, looked over by axe, and pictured for people
to look at. What stands in which colours is the same on all pages: both are met many times.
"""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]
from playwright.sync_api import Browser, BrowserContext, Page, Route

from tests.browser.kinds_of_pages import FOR, laid_out, sign_in_as
from tests.browser.screens import FOLDER, SCREENS, take_pictures
from tests.served import Served

GRAVE = ("serious", "critical")
# Pages take turns: each is looked over, and pictured, on one screen by day or in the evening.
TURNS = (
    ("tablet", "light"),
    ("phone", "dark"),
    ("desktop", "light"),
    ("tablet", "dark"),
    ("phone", "light"),
    ("desktop", "dark"),
)
FIRST_VIEW_MOST_BYTES = 150_000
SCRIPTS_MOST_BYTES = 60_000
# What a browser itself calls good is 0.1; a page that keeps still has none but for a word or two.
MOST_SHIFT = 0.01
# On a slow network these come when a page has been painted. Here they always do: what they
# would move then is seen on every machine.
COMES_LATE = re.compile(r"/static/[a-z_]+\.js\?|/photographs/\d+/\d+$")

# How colours stand to each other takes four fifths of the time: of a long list, three rows show it.
LOOK_OVER = """async (with_colours) => {
  const asked = { resultTypes: ["violations"] };
  const colours = { runOnly: { type: "rule", values: ["color-contrast"] }, ...asked };
  const but_colours = { rules: { "color-contrast": { enabled: false } }, ...asked };
  const few = { exclude: [["li:nth-child(n+4)"], ["tr:nth-child(n+4)"]] };
  const found = [await axe.run(document, but_colours)];
  if (with_colours) found.push(await axe.run(few, colours));
  return found.flatMap((one) => one.violations);
}"""
WATCH_SHIFT = """() => {
  window.shifted = 0;
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) window.shifted += entry.value;
  }).observe({ type: "layout-shift", buffered: true });
}"""

PAINTED = """() => new Promise((painted) => {
  new PerformanceObserver(painted).observe({ type: "paint", buffered: true });
})"""
# What a script changes is laid out with the next frame, and told of before the one after it.
LAID_OUT = """() => new Promise((laid) => {
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(laid)));
})"""


def looked_over(shown: Page, axe: Axe, *, with_colours: bool = True) -> list[tuple[str, list[str]]]:
    """What axe finds grave on the page as it is: the rule, and where."""
    if not shown.evaluate("'axe' in window"):
        shown.evaluate(f"{axe.axe_script}; 0")
    found = shown.evaluate(LOOK_OVER, with_colours)
    return [
        (rule["id"], [node["html"][:120] for node in rule["nodes"][:3]])
        for rule in found
        if rule["impact"] in GRAVE
    ]


class FirstViews:
    """What each page sends to a browser that has nothing of it yet, and how far it shifts."""

    def __init__(self, context: BrowserContext, shown: Page) -> None:
        self.shown = shown
        # By request: of what kind it is, and which page asked for it.
        self.asked: dict[str, tuple[str, str]] = {}
        self.bytes_of: dict[str, int] = {}
        self.late: list[Route] | None = None
        shown.add_init_script(f"({WATCH_SHIFT})()")
        shown.route(COMES_LATE, self._asked_for)
        network = context.new_cdp_session(shown)
        network.send("Network.enable")
        network.send("Network.setCacheDisabled", {"cacheDisabled": True})
        network.on("Network.responseReceived", self._received)
        network.on("Network.loadingFinished", self._finished)

    def _received(self, told: dict[str, str]) -> None:
        self.asked[told["requestId"]] = (told["type"], told["loaderId"])

    def _finished(self, told: dict[str, str]) -> None:
        self.bytes_of[told["requestId"]] = int(told["encodedDataLength"])

    def _asked_for(self, route: Route) -> None:
        if self.late is None:
            route.continue_()
        else:
            self.late.append(route)

    def open(self, path: str) -> None:
        """Show a page as if for the first time, its scripts and photographs after the rest."""
        self.asked.clear()
        self.bytes_of.clear()
        self.late = []
        self.shown.goto(path, wait_until="commit")
        self.shown.evaluate(PAINTED)
        late, self.late = self.late, None
        for route in late:
            route.continue_()
        self.shown.wait_for_load_state()
        self.shown.evaluate(LAID_OUT)

    def too_much(self) -> list[str]:
        """What of the page that is shown is more than it may be."""
        # What an earlier page still waited for may arrive after it was left.
        *_, mine = (page for of, page in self.asked.values() if of == "Document")
        asked = {key: of for key, (of, page) in self.asked.items() if page == mine}
        sizes = [(of, self.bytes_of.get(key, 0)) for key, of in asked.items()]
        first_view = sum(size for of, size in sizes if of != "Image")
        scripts = sum(size for of, size in sizes if of == "Script")
        measured = (
            ("bytes", first_view, FIRST_VIEW_MOST_BYTES),
            ("bytes of scripts", scripts, SCRIPTS_MOST_BYTES),
            ("shifted", self.shown.evaluate("window.shifted"), MOST_SHIFT),
        )
        return [f"{what}: {is_} of {most}" for what, is_, most in measured if is_ > most]


@pytest.mark.parametrize("role", list(FOR))
def test_nothing_grave_stands_in_the_way_of_anybody(
    demo: Served, opened: Browser, role: str
) -> None:
    axe = Axe()
    FOLDER.mkdir(exist_ok=True)
    context = opened.new_context(base_url=demo.address, reduced_motion="reduce")
    shown = context.new_page()
    grave = []
    too_much = []
    paths = laid_out(shown, role)
    views_of = FirstViews(context, shown)
    for at, (kind, path) in enumerate(paths.items()):
        screen, scheme = TURNS[at % len(TURNS)]
        width, height = SCREENS[screen]
        shown.set_viewport_size({"width": width, "height": height})
        shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        views_of.open(path)
        # A kind of page has the same colours whoever sees it.
        with_colours = role == "keeper" or kind not in FOR["keeper"]
        found = looked_over(shown, axe, with_colours=with_colours)
        grave += [(kind, screen, scheme, one) for one in found]
        too_much += [(kind, one) for one in views_of.too_much()]
        take_pictures(shown, FOLDER, f"{role}-{kind}", ((screen, scheme),))
    context.close()
    assert grave == []
    assert too_much == []


def test_who_is_not_signed_in_meets_nothing_grave(demo: Served, opened: Browser) -> None:
    context = opened.new_context(base_url=demo.address)
    shown = context.new_page()
    shown.goto("/sign-in")
    assert looked_over(shown, Axe()) == []
    context.close()


def test_what_opens_over_a_page_meets_nothing_grave(demo: Served, opened: Browser) -> None:
    axe = Axe()
    context = opened.new_context(base_url=demo.address, color_scheme="dark")
    shown = context.new_page()
    sign_in_as(shown, "keeper")
    shown.goto("/due")
    shown.locator("details.more > summary").click()
    assert looked_over(shown, axe) == []
    shown.keyboard.press("Escape")
    shown.locator("#find").press_sequentially("h 0")
    shown.locator(".found [role=option]").first.wait_for()
    assert looked_over(shown, axe) == []
    context.close()
