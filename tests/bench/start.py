"""From starting the server to its first answer, against importing its libraries.

Both as at any start but the very first: what Python has compiled, ours and the
libraries', is kept, whatever the environment of this run says.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.measuring import FEWEST_RUNS, Figure, taking_turns
from tests.served import command, serving_as_typed

LIBRARIES = "fastapi, uvicorn, sqlmodel, alembic.command, jinja2, numpy, coloraide, edtf, typer"
MORE = "pydantic_settings, pwdlib, argon2, rapidfuzz.process, xlsxwriter, rich.progress, multipart"


def measure(folder: Path) -> list[Figure]:
    """Return the ratio of the medians."""
    with tempfile.TemporaryDirectory(dir=folder) as data:
        compiled = {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(Path(data, "pyc"))}
        command(Path(data), "migrate", **compiled)
        _start(Path(data), compiled)
        _import(compiled)
        pairs = [
            ((lambda: _start(Path(data), compiled)), (lambda: _import(compiled)))
            for _ in range(FEWEST_RUNS)
        ]
        return [taking_turns("start to first answer", "empty", pairs, 2.0)]


def _start(data: Path, compiled: dict[str, str]) -> None:
    with serving_as_typed(data, **compiled):
        return


def _import(compiled: dict[str, str]) -> None:
    code = f"import {LIBRARIES}, {MORE}"
    subprocess.run([sys.executable, "-c", code], check=True, env={**os.environ, **compiled})
