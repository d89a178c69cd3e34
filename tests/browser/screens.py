"""Write a picture of every kind of page: `python -m tests.browser.screens [folder]`.

Desktop, tablet and phone, by day and in the evening, of the demonstration; for people to look
at after a change, and kept by CI beside the tests. The folder is no part of the project.
"""

import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser

from tests.browser.driven import browser
from tests.browser.kinds_of_pages import FOR, sign_in_as
from tests.served import serving

SCREENS = {"desktop": (1280, 900), "tablet": (820, 1180), "phone": (390, 844)}
SCHEMES = ("light", "dark")
FOLDER = Path(__file__).resolve().parent.parent.parent / "screenshots"


def take_screens(
    opened: Browser, address: str, folder: Path, schemes: tuple[str, ...] = SCHEMES
) -> int:
    """Write a picture of every page for everybody and return how many there are."""
    folder.mkdir(parents=True, exist_ok=True)
    for role, pages in FOR.items():
        context = opened.new_context(base_url=address, reduced_motion="reduce")
        shown = context.new_page()
        sign_in_as(shown, role)
        for kind, path in pages.items():
            shown.goto(path)
            for scheme in schemes:
                shown.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
                for screen, (width, height) in SCREENS.items():
                    shown.set_viewport_size({"width": width, "height": height})
                    name = f"{role}-{kind.replace(' ', '-')}-{screen}-{scheme}.jpg"
                    shown.screenshot(path=folder / name, type="jpeg", quality=70)
        context.close()
    return len(list(folder.glob("*.jpg")))


def main() -> None:
    """Serve a fresh demonstration and write its pictures."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    with tempfile.TemporaryDirectory() as name:
        with serving(Path(name) / "demo", "demo") as served, browser(Path(name)) as opened:
            take_screens(opened, served.address, folder)


if __name__ == "__main__":
    main()
