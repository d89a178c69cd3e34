"""Take the pictures of the README anew: `python -m tests.browser.pictures`.

Real screens of the real demonstration, in the system's browser.
"""

import tempfile
from pathlib import Path
from urllib.parse import quote

from playwright.sync_api import Page

from seed_data.demo.register import read_people
from tests.browser.driven import browser, page, sign_in
from tests.served import serving

HERE = Path(__file__).resolve().parent / "pictures"
# The work whose stain is followed, and the one that waits to be unframed.
FOLLOWED, WAITING = "H 007", "H 014"


def take(shown: Page) -> None:
    """Take every picture."""
    HERE.mkdir(exist_ok=True)
    _open(shown, FOLLOWED)
    _keep(shown, "work")
    _open(shown, WAITING)
    shown.get_by_role("link", name="Start an unframing").click()
    _step(shown, "Seen", "seen")
    _step(shown, "New package", "visit")
    for name in ("due", "remat"):
        shown.goto(f"/{name}")
        _keep(shown, name)
    shown.goto("/places")
    shown.get_by_role("link", name="Reading room").click()
    shown.get_by_role("link", name="Climate").click()
    _keep(shown, "climate")


def _open(shown: Page, number: str) -> None:
    # An exact number leads straight to its work.
    shown.goto(f"/works?q={quote(number)}")


def _step(shown: Page, step: str, name: str) -> None:
    shown.locator(".step-line button", has_text=step).click()
    # What a step fetches comes after the step itself.
    shown.wait_for_load_state("networkidle")
    _keep(shown, name)


def _keep(shown: Page, name: str) -> None:
    # Small pictures of a list come when they are in sight, and are drawn when they are decoded.
    shown.wait_for_load_state("networkidle")
    shown.evaluate("Promise.all([...document.images].map((i) => i.complete && i.decode()))")
    shown.screenshot(path=HERE / f"{name}.png")


def main() -> None:
    """Serve a fresh demonstration and take the pictures."""
    keeper = read_people()[0]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        with serving(folder / "demo", "demo") as served, browser(folder) as opened:
            with page(opened, served.address) as shown:
                sign_in(shown, keeper.name, keeper.password)
                take(shown)


if __name__ == "__main__":
    main()
