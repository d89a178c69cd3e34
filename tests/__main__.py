"""The gate: format, lint, types and tests. All of them run, and all that failed are named."""

import os
import subprocess
import sys

# One more than there are cores, as browsers and servers make a test wait; a database server
# for each process: more than four of them would fill the memory.
PROCESSES = min((os.cpu_count() or 1) + 1, 4)
STEPS = (
    ("ruff", "format", "--check", "."),
    ("ruff", "check", "."),
    ("mypy",),
    ("pytest", "-n", str(PROCESSES), "--dist", "loadfile"),
)


def main() -> int:
    failed = [step for step in STEPS if subprocess.run([sys.executable, "-m", *step]).returncode]
    for step in failed:
        sys.stderr.write(f"failed: {' '.join(step)}\n")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
