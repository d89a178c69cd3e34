"""Fixtures that any test may ask for; importing them starts nothing."""

import gc
import os
import shutil
import tempfile
from pathlib import Path

import pytest

from tests.with_database import (
    at_postgresql,
    engine,
    fresh_url,
    migrated_file,
    postgresql_url,
    reference_data,
    session,
    stocked_database,
    stocked_file,
)

__all__ = [
    "at_postgresql",
    "engine",
    "fresh_url",
    "migrated_file",
    "postgresql_url",
    "reference_data",
    "session",
    "stocked_database",
    "stocked_file",
]

MEMORY = Path("/dev/shm")
# For a run of all tests: the servers of two databases, and copies of the demonstration.
ROOM_BYTES = 4 << 30

# What a commit waits for on a disk is a third of all tests' time. A killed process loses
# nothing of either: only a power cut would tell memory and disk apart, and no test makes one.
if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free >= ROOM_BYTES:
    os.environ["TMPDIR"] = str(MEMORY)
    tempfile.tempdir = None

# Nothing that is imported for all tests ever becomes garbage: to look through it again and again
# was a sixth of the time.
gc.disable()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    # What takes longest first, so that it does not make the end while other processes are idle.
    items.sort(key=lambda item: item.path.parent.name != "browser")


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()
    gc.set_threshold(20_000, 20, 20)
