"""How is our time compared with the bare library's, fairly?

Both do the same in one run, taking turns, so that a slow moment of the machine
falls on both. A figure is the median of at least seven; the ratio is ours over
bare, and the goal is the largest ratio allowed.
"""

import json
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

FEWEST_RUNS = 7
ROOT = Path(__file__).resolve().parents[2]
RESULT = ROOT / "build" / "bench.json"


@dataclass(frozen=True)
class Figure:
    """One line of the table. Times in seconds unless the name says MiB."""

    name: str
    size: str
    ours_s: float
    bare_s: float
    ratio: float
    goal: float
    machine: str
    commit: str


def figure(name: str, size: str, ours: float, bare: float, goal: float) -> Figure:
    """Return the line for two figures."""
    return Figure(
        name=name,
        size=size,
        ours_s=ours,
        bare_s=bare,
        ratio=ours / bare,
        goal=goal,
        machine=machine(),
        commit=commit(),
    )


def taking_turns(
    name: str,
    size: str,
    pairs: Sequence[tuple[Callable[[], object], Callable[[], object]]],
    goal: float,
) -> Figure:
    """Time ours and bare in turns, one pair after the other, and return their medians' line."""
    assert len(pairs) >= FEWEST_RUNS, "a median of fewer runs says little"
    ours, bare = [], []
    for run_ours, run_bare in pairs:
        ours.append(seconds(run_ours))
        bare.append(seconds(run_bare))
    return figure(name, size, statistics.median(ours), statistics.median(bare), goal)


def seconds(run: Callable[[], object]) -> float:
    """Return how long it takes."""
    begun = time.perf_counter()
    run()
    return time.perf_counter() - begun


def p95(times: Sequence[float]) -> float:
    """Return the time that 19 of 20 do not exceed."""
    return statistics.quantiles(times, n=20)[-1]


def machine() -> str:
    """Return what this machine is, as far as a time depends on it."""
    return f"{platform.machine()}, Python {platform.python_version()}, {sys.platform}"


def commit() -> str:
    """Return the commit that is measured."""
    told = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], capture_output=True, text=True, cwd=ROOT
    )
    return told.stdout.strip() or "unknown"


def report(figures: Sequence[Figure]) -> None:
    """Print the table and write it to build/bench.json."""
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps([asdict(line) for line in figures], indent=1) + "\n")
    wide = max(len(line.name) for line in figures)
    for line in figures:
        kept = "kept" if line.ratio <= line.goal else "MISSED"
        sys.stdout.write(
            f"{line.name:{wide}}  {line.size:>12}  ours {line.ours_s:9.4f}  bare {line.bare_s:9.4f}"
            f"  ratio {line.ratio:6.2f}  goal {line.goal:5.2f}  {kept}\n"
        )
    sys.stdout.write(f"{machine()}, commit {commit()}; written to {RESULT.relative_to(ROOT)}\n")
