"""One recorded demonstration for all browser tests of a run; each file serves its own copy."""

import fcntl
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from api.photograph_files import PHOTOGRAPHS
from models.exchange.kept_photographs import ORIGINALS
from seed_data.demo.drawing import make_ready_for_screen
from tests.browser.driven import browser
from tests.served import Served, serving


@pytest.fixture(scope="package")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """One browser; each page has a context, and so a device, of its own."""
    with browser(tmp_path_factory.mktemp("browser")) as opened:
        yield opened


@pytest.fixture(scope="session")
def recorded_demo(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> Path:
    """The data folder of a demonstration; whichever process comes first records it."""
    base = tmp_path_factory.getbasetemp()
    # Beside xdist each process has a folder of its own below one that all share.
    folder = (base if worker_id == "master" else base.parent) / "recorded-demo"
    with folder.with_suffix(".turn").open("w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)
        if not folder.exists():
            being_made = folder.with_suffix(".being-made")
            shutil.rmtree(being_made, ignore_errors=True)
            with serving(being_made, "demo"):
                pass
            # What the screen shows of each photograph: every copy would make it anew.
            photographs = being_made / PHOTOGRAPHS
            digests = [file.name for file in (photographs / ORIGINALS).iterdir()]
            make_ready_for_screen(photographs, digests)
            being_made.rename(folder)
    return folder


@pytest.fixture(scope="module")
def demo(recorded_demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The invented collection, served from a copy of its own."""
    folder = tmp_path_factory.mktemp("demo") / "data"
    shutil.copytree(recorded_demo, folder)
    with serving(folder, "demo") as served:
        yield served
