"""One browser for all tests of a process; each file serves a copy of the demonstration."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.driven import browser
from tests.served import Served, serving
from tests.with_demo import recorded_demo

__all__ = ["recorded_demo"]
# What is waited for is there in a moment; on a machine that is busy with other tests, later.
expect.set_options(timeout=20_000)


@pytest.fixture(scope="package")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """One browser; each page has a context, and so a device, of its own."""
    with browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


@pytest.fixture(scope="module")
def demo(recorded_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The invented collection, served from a copy of its own."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    shutil.copytree(recorded_demo, folder)
    with serving(folder, "demo") as served:
        yield served
