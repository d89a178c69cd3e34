"""The list of what must come down for light, against its own statements and template, bare.

As `due_page` measures it: pages of 100,000 works against their own statements and template,
no more than twelve statements, and 19 of 20 no slower than 1.3 times those of 1,000 works.
"""

from pathlib import Path

from tests.bench.bare_page import page_and_bare, statements_and_growth
from tests.bench.big_collection import database_with
from tests.bench.in_process import app_on
from tests.bench.measuring import Figure, taking_turns

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 15, 120
PATHS = ("/light", "/light?after=50", "/light?after=200")


def measure(folder: Path, few: int = FEW, many: int = MANY) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    small, large = database_with(few, folder), database_with(many, folder)
    with app_on(large) as opened:
        pairs = [page_and_bare(opened, large, PATHS[n % len(PATHS)]) for n in range(PAGES)]
        ratio = taking_turns("light page", f"{many} works", pairs, 5.0)
    paths = [PATHS[n % len(PATHS)] for n in range(PAGES_FOR_P95)]
    side_by_side = list(zip(paths, paths, strict=True))
    grown = statements_and_growth(
        "light page", small, large, side_by_side, counted="/light", many=many
    )
    return [ratio, *grown]
