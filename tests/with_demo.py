"""One demonstration for all tests of a run, recorded by the command as it is typed."""

import fcntl
import shutil
from pathlib import Path

import pytest

from api.photograph_files import PHOTOGRAPHS
from models.exchange.kept_photographs import ORIGINALS
from seed_data.demo.drawing import make_ready_for_screen
from tests.served import serving_as_typed


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
            with serving_as_typed(being_made, "demo", HINGEBOOK_DATABASE_URL=""):
                pass
            # What the screen shows of each photograph: every copy would make it anew.
            photographs = being_made / PHOTOGRAPHS
            digests = [file.name for file in (photographs / ORIGINALS).iterdir()]
            make_ready_for_screen(photographs, digests)
            being_made.rename(folder)
    return folder
