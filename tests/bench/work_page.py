"""The page of one work, against its own statements as text and its own template, bare.

The bare page sends the same statements through the DBAPI in one read transaction,
sign-in included, fetches every row, and renders the same template with what it
was given. Beside the ratio: no more than twelve statements, and 19 of 20 pages of
100,000 works no slower than 1.3 times those of 1,000. Each page was asked for before, so its
forecast is among the last; for the second figure there are too many works to keep them all.
"""

from pathlib import Path

from tests.bench.bare_page import page_and_bare, statements_and_growth
from tests.bench.big_collection import database_with
from tests.bench.in_process import app_on
from tests.bench.measuring import Figure, taking_turns

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 25, 120


def measure(folder: Path) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    few, many = database_with(FEW, folder), database_with(MANY, folder)
    with app_on(few) as opened:
        ratio = taking_turns(
            "work page",
            f"{FEW} works",
            [page_and_bare(opened, few, f"/works/{n}") for n in _spread(PAGES, FEW)],
            5.0,
        )
    paths = [
        (f"/works/{one}", f"/works/{other}")
        for one, other in zip(
            _spread(PAGES_FOR_P95, FEW), _spread(PAGES_FOR_P95, MANY), strict=True
        )
    ]
    counted = f"/works/{MANY // 2}"
    grown = statements_and_growth("work page", few, many, paths, counted=counted, many=MANY)
    return [ratio, *grown]


def _spread(count: int, works: int) -> list[int]:
    return [1 + n * works // count for n in range(count)]
