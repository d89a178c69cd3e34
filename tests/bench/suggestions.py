"""What is suggested while somebody types, against 50 ms and against its own statements, bare.

A search is typed letter by letter, and each letter asks: numbers, titles, makers, several
words, a slip of the pen, what nothing begins with. 19 of 20 answers from 100,000 works take
the server no longer than 50 ms.
"""

from pathlib import Path

from tests.bench.bare_page import MOST_STATEMENTS, page, page_and_bare
from tests.bench.big_collection import database_with
from tests.bench.in_process import app_on, statements_of
from tests.bench.measuring import Figure, figure, p95, taking_turns

MANY = 100_000
LONGEST_S = 0.050
TYPED = (
    "b 0012345",
    "sheet 512",
    "maker7",
    "invented survey",
    "maker399 sheet",
    "sheat",
    "room 3",
    "cotton",
    "zwq",
)
PATHS = [
    f"/suggestions?q={typed[:letters].replace(' ', '+')}"
    for typed in TYPED
    for letters in range(1, len(typed) + 1)
]


def measure(folder: Path, many: int = MANY) -> list[Figure]:
    """Return the ratio to the bare answer, the most statements, and how near it comes to 50 ms."""
    large = database_with(many, folder)
    size = f"{many} works"
    with app_on(large) as opened:
        pairs = [page_and_bare(opened, large, path) for path in PATHS]
        ratio = taking_turns("suggestions", size, pairs, 5.0)
        times, most = [], 0
        for path in PATHS:
            with statements_of(opened.engine) as sent:
                page(opened, path)
            times.append(opened.timed.seconds)
            most = max(most, len(sent))
    return [
        ratio,
        figure("suggestions, statements", "of 12", most, MOST_STATEMENTS, 1.0),
        figure("suggestions, p95 : 50 ms", size, p95(times), LONGEST_S, 1.0),
    ]
