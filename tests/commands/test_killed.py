"""Kill the process at any moment: nothing acknowledged is lost, and nothing is there by halves."""

import random
from pathlib import Path

from tests.kills import kills_survived

KILLS = 6


def test_what_was_acknowledged_is_there_after_every_kill(tmp_path: Path) -> None:
    assert list(kills_survived(tmp_path, KILLS, random.Random(7))) == list(range(1, KILLS + 1))
