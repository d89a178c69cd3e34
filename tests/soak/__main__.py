"""Many kills in a row (`make soak`): prints how many were survived, and stops at the first loss."""

import random
import sys
import tempfile
from pathlib import Path

from tests.kills import kills_survived

KILLS = 200


def main() -> None:
    """Kill the server as often as that."""
    with tempfile.TemporaryDirectory() as folder:
        for number in kills_survived(Path(folder), KILLS, random.Random()):
            sys.stdout.write(f"\r{number} of {KILLS} kills: nothing acknowledged was lost")
            sys.stdout.flush()
    sys.stdout.write("\n")


if __name__ == "__main__":
    main()
