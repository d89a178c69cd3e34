"""Fixtures that any test may ask for; importing them starts nothing."""

import os
import shutil
import tempfile
from pathlib import Path

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
