"""A page against its own statements as text and its own template, bare.

The bare page sends the same statements through the DBAPI in one read transaction, sign-in
included, fetches every row, and renders the same template with what it was given.
"""

import sqlite3
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

import jinja2

from tests.bench.in_process import Open, Statements, app_on, rendered, statements_of
from tests.bench.measuring import Figure, figure, p95, seconds

MOST_STATEMENTS = 12
# How many pages of each collection are asked for before any is timed.
WARMED = 10


def page(opened: Open, path: str) -> str:
    """Ask for a page, and fail when it is refused."""
    return opened.client.get(path).raise_for_status().text


def page_and_bare(
    opened: Open, file: Path, path: str
) -> tuple[Callable[[], object], Callable[[], object]]:
    """Return what asks for a page, and what does the same bare."""
    # Twice: the first request of a kind makes caches that a running server has.
    page(opened, path)
    with statements_of(opened.engine) as sent, rendered() as given:
        page(opened, path)
    template, told = given[-1]
    bare = sqlite3.connect(file, isolation_level=None)
    return (lambda: page(opened, path)), (lambda: _bare(bare, sent, template, told))


def statements_and_growth(
    what: str,
    small: Path,
    large: Path,
    paths: Sequence[tuple[str, str]],
    *,
    counted: str,
    many: int,
) -> list[Figure]:
    """Return how many statements the page `counted` sends, and how pages slow down.

    `paths` are those of the small and of the large collection, side by side.
    """
    with app_on(small) as few_works, app_on(large) as many_works:
        for one, other in paths[:WARMED]:
            page(few_works, one), page(many_works, other)
        times = [
            (seconds(partial(page, few_works, one)), seconds(partial(page, many_works, other)))
            for one, other in paths
        ]
        with statements_of(many_works.engine) as sent:
            page(many_works, counted)
    slow_few, slow_many = p95([t for t, _ in times]), p95([t for _, t in times])
    size = f"{many} works"
    return [
        figure(f"{what}, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0),
        figure(f"{what}, p95 at 100,000 : 1,000", size, slow_many, slow_few, 1.3),
    ]


def _bare(
    connection: sqlite3.Connection,
    sent: Statements,
    template: jinja2.Template,
    told: dict[str, Any],
) -> str:
    connection.execute("BEGIN")
    for statement, given in sent:
        connection.execute(statement, given).fetchall()
    connection.execute("COMMIT")
    return template.render(told)
