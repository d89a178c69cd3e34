"""The gate: format, lint, types and tests. All of them run, and all that failed are named."""

import os
import subprocess
import sys

# One more than there are cores, as browsers and servers make a test wait; a database server
# for each process: more than four of them would fill the memory.
PROCESSES = min((os.cpu_count() or 1) + 1, 4)
# These read and write nothing that a test does: they run while tests wait for a browser.
BESIDE = (("ruff", "format", "--check", "."), ("ruff", "check", "."), ("mypy",))
# In the order of tests/conftest.py.
TESTS = ("pytest", "-n", str(PROCESSES), "--dist", "loadfile", "--no-loadscope-reorder")


def main() -> int:
    beside = {step: subprocess.Popen(_command(step), stdout=subprocess.PIPE) for step in BESIDE}
    failed: list[tuple[str, ...]] = []
    if subprocess.run(_command(TESTS)).returncode:
        failed.append(TESTS)
    for step, process in beside.items():
        said, _ = process.communicate()
        sys.stdout.write(said.decode())
        if process.returncode:
            failed.append(step)
    for named in failed:
        sys.stderr.write(f"failed: {' '.join(named)}\n")
    return 1 if failed else 0


def _command(step: tuple[str, ...]) -> list[str]:
    return [sys.executable, "-m", *step]


if __name__ == "__main__":
    sys.exit(main())
