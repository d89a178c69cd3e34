"""Photographs taken at the bench: sent over a network that breaks, and looked at closely."""

import re
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.driven import page, sign_in, sign_out
from tests.exchange.pictures import as_file
from tests.served import command, serving

# Four parts and a bit: noise that no file makes smaller.
SIDES_PX = (1900, 1500)
PARTS = "**/parts?*"
# A browser notes each broken request and each refusal, whatever the page makes of it.
BROKEN_OR_REFUSED = "Failed to load resource"
LONGEST_MS = 30_000
NAME, PASSWORD = "Kay Invented", "nine flat brushes"
SECOND, SECOND_PASSWORD = "Lou Invented", "nine round brushes"


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory, opened: Browser) -> Iterator[Page]:
    folder: Path = tmp_path_factory.mktemp("studio")
    data = folder / "data"
    command(data, "migrate")
    command(data, "person", "add", NAME, "--role", "keeper", given=f"{PASSWORD}\n")
    command(data, "person", "add", SECOND, "--role", "framer", given=f"{SECOND_PASSWORD}\n")
    token = command(data, "token", NAME).split()[-1]
    with serving(data) as served:
        for number in ("P 1", "P 2"):
            told = {"number": number, "title": "The Mill in Winter"}
            headers = {"Authorization": f"Bearer {token}"}
            httpx.post(f"{served.address}/api/works", json=told, headers=headers).raise_for_status()
        with page(opened, served.address, may_complain_of=BROKEN_OR_REFUSED) as shown:
            sign_in(shown, NAME, PASSWORD)
            yield shown


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    noise = Image.effect_noise(SIDES_PX, 90).convert("RGB")
    file = tmp_path_factory.mktemp("camera") / "front.jpg"
    file.write_bytes(as_file(noise))
    assert file.stat().st_size > 4 * 512 * 1024
    return file


# Height in CSS px of what is pressed.
LOW = """() => [...document.querySelectorAll("main a, main button, .take-one, main summary")]
  .filter((one) => one.offsetHeight && one.getBoundingClientRect().height < 43.5)
  .map((one) => one.textContent.trim())"""


class BrokenAfter:
    """A network that carries so many parts and then none, until it is mended."""

    def __init__(self, parts: int) -> None:
        self.parts = parts
        self.carried: list[str] = []

    def __call__(self, route: Route) -> None:
        if len(self.carried) >= self.parts:
            route.abort()
            return
        self.carried.append(route.request.url)
        route.continue_()


def take(shown: Page, label: str, taken: Path) -> None:
    shown.locator(".take-one", has_text=label).first.locator("input").set_input_files(taken)


def test_a_photograph_broken_off_in_the_middle_goes_on_where_it_was(
    shown: Page, taken: Path
) -> None:
    shown.goto("/works/1/photographs")
    before = shown.locator(".strip li").count()
    broken = BrokenAfter(parts=2)
    shown.route(PARTS, broken)
    take(shown, "Raking light", taken)
    row = shown.locator("[data-takes] li")
    expect(row).to_contain_text("The network or the server is away", timeout=LONGEST_MS)
    shown.unroute(PARTS)
    went_on: list[str] = []
    shown.on("request", lambda sent: went_on.append(sent.url) if "/parts?" in sent.url else None)
    # By itself after a pause, or at once by the button.
    if row.get_by_role("button", name="Again now").is_visible():
        row.get_by_role("button", name="Again now").click()
    expect(row).to_contain_text("kept", timeout=LONGEST_MS)
    assert went_on[0].endswith(f"offset={2 * 512 * 1024}")
    shown.reload()
    expect(shown.locator(".strip li")).to_have_count(before + 1)
    expect(shown.locator(".strip li").first).to_contain_text("Raking light")


def test_a_photograph_outlives_a_reload_of_its_page(shown: Page, taken: Path) -> None:
    shown.goto("/works/2/photographs")
    shown.route(PARTS, BrokenAfter(parts=1))
    take(shown, "Verso", taken)
    expect(shown.locator("[data-takes] li")).to_contain_text("is away", timeout=LONGEST_MS)
    # Elsewhere it is not forgotten.
    shown.goto("/due")
    expect(shown.locator("main")).to_contain_text("A photograph has not arrived yet.")
    shown.get_by_role("link", name="Go on sending").click()
    expect(shown).to_have_url(re.compile("/works/2/photographs$"))
    shown.goto("/works/1/photographs")
    expect(shown.locator("[data-takes] li")).to_contain_text("Verso")
    shown.unroute(PARTS)
    expect(shown.locator("[data-takes] li")).to_contain_text("kept", timeout=LONGEST_MS)
    shown.goto("/works/2/photographs")
    expect(shown.locator(".strip li").first).to_contain_text("Verso")


def unsent(shown: Page) -> dict[str, int]:
    """Return how much waits on this tablet, whoever's it is."""
    kept = shown.evaluate("Object.keys(localStorage).map((name) => name.split(':')[0])")
    return {name: kept.count(name) for name in kept}


VISIT, PHOTOGRAPHS = "hingebook-bench", "hingebook-photographs-waiting"


def test_of_two_people_at_one_tablet_each_keeps_what_was_not_sent(shown: Page, taken: Path) -> None:
    def leave_behind(work: int) -> None:
        shown.goto(f"/works/{work}/visits/new?kind=unframing")
        shown.check("[name='stop/0'][value=no]")
        shown.goto(f"/works/{work}/photographs")
        take(shown, "Verso", taken)
        expect(shown.locator("[data-takes] li")).to_contain_text("is away", timeout=LONGEST_MS)
        shown.goto("/due")

    shown.route(PARTS, BrokenAfter(parts=0))
    shown.route("**/bench/**", lambda route: route.abort())
    leave_behind(1)
    sign_out(shown)
    asks = shown.get_by_role("dialog")
    expect(asks).to_contain_text("what was typed last of a visit")
    expect(asks).to_contain_text(f"wait on this device until {NAME} signs in here again")
    asks.get_by_role("button", name="Stay signed in").click()
    expect(asks).to_have_count(0)
    assert unsent(shown) == {VISIT: 1, PHOTOGRAPHS: 1}
    sign_out(shown)
    asks.get_by_role("button", name="Sign out and let it wait").click()
    shown.wait_for_url("**/sign-in*")

    # Whoever comes next sees nothing of it, and throws away only their own.
    sign_in(shown, SECOND, SECOND_PASSWORD)
    expect(shown.locator("main")).not_to_contain_text("has not arrived yet")
    leave_behind(2)
    assert unsent(shown) == {VISIT: 2, PHOTOGRAPHS: 2}
    sign_out(shown)
    asks.get_by_role("button", name="Throw it away and sign out").click()
    shown.wait_for_url("**/sign-in*")
    assert unsent(shown) == {VISIT: 1, PHOTOGRAPHS: 1}

    shown.unroute(PARTS)
    shown.unroute("**/bench/**")
    sign_in(shown, NAME, PASSWORD)
    shown.get_by_role("link", name="Send it to the bench").click()
    # It stands in the list already where its last word arrived as its page was left.
    shown.wait_for_function("(name) => !JSON.stringify(localStorage).includes(name)", arg=VISIT)
    expect(shown.locator(".on-bench .number")).to_have_text(["P 1"])
    shown.get_by_role("link", name="Go on sending").click()
    expect(shown.locator("[data-takes] li")).to_contain_text("kept", timeout=LONGEST_MS)
    expect(shown.locator("[data-takes] li")).to_have_count(1)


def test_a_refused_file_says_why_lets_others_go_on_and_may_be_left(
    shown: Page, taken: Path, tmp_path: Path
) -> None:
    letter = tmp_path / "letter.jpg"
    letter.write_bytes(b"Dear framer")
    shown.goto("/works/1/photographs")
    take(shown, "Mat lifted", letter)
    refused = shown.locator("[data-takes] li", has_text="Mat lifted")
    why = "This is not a photograph. Send JPEG"
    expect(refused).to_contain_text(why, timeout=LONGEST_MS)
    take(shown, "Verso", taken)
    good = shown.locator("[data-takes] li", has_text="Verso")
    expect(good).to_contain_text("kept", timeout=LONGEST_MS)
    # On another page it is not sent once more by itself.
    sent: list[str] = []
    shown.on("request", lambda one: sent.append(one.url) if one.method == "POST" else None)
    shown.reload()
    expect(refused).to_contain_text(why)
    assert sent == []
    refused.get_by_role("button", name="Do without it").click()
    expect(refused).to_have_count(0)


def view_box(shown: Page) -> list[float]:
    said = shown.locator(".closely-picture").get_attribute("viewBox") or ""
    return [float(part) for part in said.split()]


def test_a_photograph_is_looked_at_closely_by_keys_buttons_and_drag(
    shown: Page, tmp_path: Path
) -> None:
    large = tmp_path / "large.jpg"
    large.write_bytes(as_file(Image.effect_noise((600, 400), 60).resize((4800, 3200))))
    shown.goto("/works/1/photographs")
    take(shown, "In the frame", large)
    link = shown.locator("[data-takes] li").get_by_role("link", name="Look at it")
    link.click(timeout=LONGEST_MS)
    assert view_box(shown) == [0, 0, 4800, 3200]
    shown.get_by_role("button", name="Nearer").click()
    for _ in range(3):
        shown.keyboard.press("+")
    shows = shown.locator(".closely-picture")
    # Four times 1.5 nearer, about the middle.
    expect(shows).to_have_attribute(
        "viewBox", re.compile(r"^1925\.9\d* 1283\.9\d* 948\.1\d* 632\.0")
    )
    # Sharp: the parts of the full size lie over the whole.
    expect(shown.locator("[data-parts] image").first).to_be_attached()
    shown.keyboard.press("ArrowRight")
    expect(shows).to_have_attribute("viewBox", re.compile(r"^2162\.9\d* 1283\.9"))
    picture = shows.bounding_box()
    assert picture is not None
    middle = (picture["x"] + picture["width"] / 2, picture["y"] + picture["height"] / 2)
    shown.mouse.move(*middle)
    shown.mouse.down()
    shown.mouse.move(middle[0], middle[1] + 60)
    shown.mouse.up()
    expect(shows).not_to_have_attribute("viewBox", re.compile(r"^2162\.9\d* 1283\.9"))
    assert view_box(shown)[1] < 1283
    shown.keyboard.press("0")
    expect(shows).to_have_attribute("viewBox", "0 0 4800 3200")


@pytest.mark.parametrize("width", [390, 820])
def test_pages_of_photographs_fit_and_are_pressed_with_a_thumb(shown: Page, width: int) -> None:
    shown.set_viewport_size({"width": width, "height": 1180})
    for path in ("/works/1/photographs", "/photographs/1"):
        shown.goto(path)
        assert shown.evaluate("document.documentElement.scrollWidth") <= width
        assert (path, shown.evaluate(LOW)) == (path, [])
