"""A real browser, as large as a tablet held upright, on a real server.

The system's own Chromium is driven: the one that HINGEBOOK_CHROMIUM names, else
`chromium-headless-shell`, `chromium` or `google-chrome`. Where there is none the tests fail
in CI, and are left out, by name, on somebody's own machine.
"""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

TABLET = {"width": 820, "height": 1180}
# Without windows of its own a browser takes a third less of the machine.
NAMES = ("chromium-headless-shell", "chromium", "google-chrome")


def chromium() -> str | None:
    """Return the browser of this machine, None when there is none."""
    named = os.environ.get("HINGEBOOK_CHROMIUM")
    return named or next((found for name in NAMES if (found := shutil.which(name))), None)


@contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """Start the browser; what it saves goes to the folder."""
    path = chromium()
    if path is None:
        message = "There is no Chromium; as root: apt-get install -y chromium"
        pytest.fail(message) if os.environ.get("CI") else pytest.skip(message)
    with sync_playwright() as driver:
        # As root, as in CI, Chromium refuses to start in its sandbox.
        opened = driver.chromium.launch(
            executable_path=path, args=["--no-sandbox"], downloads_path=folder
        )
        yield opened
        opened.close()


@contextmanager
def page(
    opened: Browser, address: str, *, with_scripts: bool = True, may_complain_of: str | None = None
) -> Iterator[Page]:
    """Open a page; whatever its console complains of fails the test, but for what it may."""
    context = opened.new_context(
        base_url=address,
        viewport=TABLET,  # type: ignore[arg-type]
        java_script_enabled=with_scripts,
        accept_downloads=True,
        locale="en-GB",
    )
    shown = context.new_page()
    complaints: list[str] = []
    shown.on(
        "console",
        lambda said: complaints.append(said.text) if said.type in ("error", "warning") else None,
    )
    shown.on("pageerror", lambda error: complaints.append(str(error)))
    yield shown
    excused = [said for said in complaints if may_complain_of and may_complain_of in said]
    assert [said for said in complaints if said not in excused] == []
    context.close()


def sign_in(shown: Page, name: str, password: str) -> None:
    """Sign in through the form."""
    shown.goto("/sign-in")
    shown.fill("[name=name]", name)
    shown.fill("[name=password]", password)
    shown.click("main button[type=submit]")
    # Not for the small pictures of the list.
    shown.wait_for_url("**/works", wait_until="commit")


def sign_out(shown: Page) -> None:
    """Sign out by the menu, where nothing waits on this tablet."""
    shown.locator("details.more > summary").click()
    shown.get_by_role("button", name="Sign out", exact=True).click()
