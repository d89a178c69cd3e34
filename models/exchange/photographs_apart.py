"""How is a photograph that somebody sent opened without endangering the program?

A child process with a limit of memory, of time and of what it may write reads it, leaves
what it made in a folder and hands back a few plain facts. One at a time: two large ones at
once would need more memory than a small machine has. A file made to fill the memory or to
take for ever ends the child alone.
"""

import fcntl
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path

from models.errors import BadValue, Fault
from models.exchange.photograph_file import FACTS, PhotographRead, read_photograph

MOST_MEMORY_BYTES = 2_500_000_000
MOST_SECONDS = 90
MOST_WRITTEN_BYTES = 400_000_000
_SURROUNDINGS = {"OMP_NUM_THREADS": "1", "PYTHONUTF8": "1", "MALLOC_ARENA_MAX": "2"}
_TURN = "turn"


def make_apart(original: Path, folder: Path) -> PhotographRead:
    """Return what a photograph is, and leave what is made of it in `folder/<name of original>`.

    What was made before is kept as it is. Raises BadValue when it cannot be read.
    """
    made = folder / original.name
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with _in_turn(folder):
        if not (made / FACTS).exists():
            _make(original, folder, made)
    return facts_of(made)


def facts_of(made: Path) -> PhotographRead:
    """Return the facts that were left beside what was made of a photograph."""
    told = json.loads((made / FACTS).read_bytes())
    return PhotographRead(**{name: told[name] for name in PhotographRead.__dataclass_fields__})


def place_of_part(made: Path, name: str) -> tuple[int, int] | None:
    """Return where a part stands in the file of parts, and its length; None if there is none."""
    told = json.loads((made / FACTS).read_bytes())["parts"].get(name)
    return None if told is None else (told[0], told[1])


def _make(original: Path, folder: Path, made: Path) -> None:
    with tempfile.TemporaryDirectory(dir=folder, prefix="making-") as bench:
        coming = Path(bench) / "made"
        _read_in_child(original, coming)
        shutil.rmtree(made, ignore_errors=True)
        coming.rename(made)


@contextmanager
def _in_turn(folder: Path) -> Iterator[None]:
    descriptor = os.open(folder / _TURN, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def _read_in_child(original: Path, coming: Path) -> None:
    try:
        done = subprocess.run(
            [
                sys.executable,
                "-m",
                "models.exchange.photographs_apart",
                str(original.resolve()),
                str(coming.resolve()),
            ],
            capture_output=True,
            timeout=MOST_SECONDS * 2,
            env=_SURROUNDINGS,
            cwd=Path(__file__).resolve().parents[2],
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise _too_much() from None
    if done.returncode != 0:
        raise _too_much()
    told = json.loads(done.stdout)
    if told:
        faults = [Fault(**fault) for fault in told]
        raise BadValue(faults[0].message, faults)


def _too_much() -> BadValue:
    message = "This photograph cannot be opened: it is damaged, or takes too much to open."
    return BadValue.at("/file", message, "Save it anew as JPEG and send that.")


def main(arguments: list[str]) -> None:
    """Read the file named first into the new folder named second, and write what was wrong."""
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, hard))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_FSIZE, (MOST_WRITTEN_BYTES, MOST_WRITTEN_BYTES))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    faults: list[Fault] = []
    try:
        read_photograph(Path(arguments[0]), Path(arguments[1]))
    except BadValue as error:
        faults = list(error.faults)
    sys.stdout.write(json.dumps([asdict(fault) for fault in faults]))


if __name__ == "__main__":
    main(sys.argv[1:])
