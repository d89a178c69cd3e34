"""From starting the server to its first answer, against importing its libraries."""

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.measuring import FEWEST_RUNS, Figure, taking_turns
from tests.served import command, serving

LIBRARIES = "fastapi, uvicorn, sqlmodel, alembic.command, jinja2, numpy, coloraide, edtf, typer"
MORE = "pydantic_settings, pwdlib, argon2, rapidfuzz.process, xlsxwriter, rich.progress, multipart"


def measure(folder: Path) -> list[Figure]:
    """Return the ratio of the medians."""
    with tempfile.TemporaryDirectory(dir=folder) as data:
        command(Path(data), "migrate")
        pairs = [((lambda: _start(Path(data))), _import) for _ in range(FEWEST_RUNS)]
        return [taking_turns("start to first answer", "empty", pairs, 2.0)]


def _start(data: Path) -> None:
    with serving(data):
        return


def _import() -> None:
    subprocess.run([sys.executable, "-c", f"import {LIBRARIES}, {MORE}"], check=True)
