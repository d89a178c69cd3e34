"""The list of what must come down for light, against its own statements and template, bare.

As `due_page` measures it, on pages of 100,000 works: all of them are counted by place, class
and glazing, and fifty are named. It counts each work once, so that it grows with the
collection: what is held to is the ratio, and no more than twelve statements.
"""

from pathlib import Path

from tests.bench.bare_page import MOST_STATEMENTS, page, page_and_bare
from tests.bench.big_collection import database_with
from tests.bench.in_process import app_on, statements_of
from tests.bench.measuring import Figure, figure, taking_turns

MANY = 100_000
PAGES = 15
PATHS = ("/light", "/light?after=50")


def measure(folder: Path, many: int = MANY) -> list[Figure]:
    """Return the ratio to the bare page, and how many statements the page sends."""
    large = database_with(many, folder)
    with app_on(large) as opened:
        pairs = [page_and_bare(opened, large, PATHS[n % len(PATHS)]) for n in range(PAGES)]
        ratio = taking_turns("light page", f"{many} works", pairs, 4.0)
        with statements_of(opened.engine) as sent:
            page(opened, PATHS[0])
    counted = figure("light page, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0)
    return [ratio, counted]
