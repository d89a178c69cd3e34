"""Write a picture of every kind of page: `python -m tests.browser.screens [folder]`.

Desktop, tablet and phone, by day and in the evening, of the demonstration; for people to look
at after a change, and kept by CI beside the tests. The folder is no part of the project.
"""

import sys
import tempfile
from itertools import product
from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.browser.driven import browser
from tests.browser.kinds_of_pages import FOR, laid_out
from tests.served import serving

SCREENS = {"desktop": (1280, 900), "tablet": (820, 1180), "phone": (390, 844)}
SCHEMES = ("light", "dark")
EVERY = tuple(product(SCREENS, SCHEMES))
FOLDER = Path(__file__).resolve().parent.parent.parent / "screenshots"


def take_pictures(
    shown: Page, folder: Path, name: str, views: tuple[tuple[str, str], ...] = EVERY
) -> None:
    """Write the pictures of the page that is shown."""
    for screen, scheme in views:
        width, height = SCREENS[screen]
        shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        shown.set_viewport_size({"width": width, "height": height})
        file = folder / f"{name.replace(' ', '-')}-{screen}-{scheme}.jpg"
        shown.screenshot(path=file, type="jpeg", quality=70)


def take_screens(opened: Browser, address: str, folder: Path) -> None:
    """Write the pictures of every page for everybody."""
    for role in FOR:
        context = opened.new_context(base_url=address, reduced_motion="reduce")
        shown = context.new_page()
        for kind, path in laid_out(shown, role).items():
            shown.goto(path)
            take_pictures(shown, folder, f"{role}-{kind}")
        context.close()


def main() -> None:
    """Serve a fresh demonstration and write its pictures."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        with serving(Path(name) / "demo", "demo") as served, browser(Path(name)) as opened:
            take_screens(opened, served.address, folder)


if __name__ == "__main__":
    main()
