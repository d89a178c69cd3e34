"""The page of what is due, against its own statements as text and its own template, bare.

As `work_page` measures it: the bare page sends the same statements through the DBAPI in
one read transaction, sign-in included, fetches every row, and renders the same template
with what it was given. Pages of 100,000 works; no more than twelve statements; 19 of 20
no slower than 1.3 times those of 1,000 works.
"""

import sqlite3
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import jinja2

from tests.bench.big_collection import database_with
from tests.bench.in_process import Open, Statements, app_on, rendered, statements_of
from tests.bench.measuring import Figure, figure, p95, seconds, taking_turns

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 25, 120
MOST_STATEMENTS = 12
PATHS = ("/due", "/due?kind=unframing", "/due?until=2030")


def measure(folder: Path, few: int = FEW, many: int = MANY) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    small, large = database_with(few, folder), database_with(many, folder)
    with app_on(large) as opened:
        pairs = [_pair(opened, large, PATHS[n % len(PATHS)]) for n in range(PAGES)]
        ratio = taking_turns("due page", f"{many} works", pairs, 4.0)
    return [ratio, *_statements_and_growth(small, large, many)]


def _pair(opened: Open, file: Path, path: str) -> tuple[Callable[[], object], Callable[[], object]]:
    # Twice: the first request of a kind makes caches that a running server has.
    _page(opened, path)
    with statements_of(opened.engine) as sent, rendered() as given:
        _page(opened, path)
    template, told = given[-1]
    bare = sqlite3.connect(file, isolation_level=None)
    return (lambda: _page(opened, path)), (lambda: _bare(bare, sent, template, told))


def _page(opened: Open, path: str) -> str:
    return opened.client.get(path).raise_for_status().text


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


def _statements_and_growth(small_file: Path, large_file: Path, many: int) -> list[Figure]:
    with app_on(small_file) as small, app_on(large_file) as large:
        for path in PATHS:
            _page(small, path), _page(large, path)
        times = [
            (seconds(partial(_page, small, path)), seconds(partial(_page, large, path)))
            for path in (PATHS[n % len(PATHS)] for n in range(PAGES_FOR_P95))
        ]
        with statements_of(large.engine) as sent:
            _page(large, "/due")
    slow_small, slow_large = p95([t for t, _ in times]), p95([t for _, t in times])
    return [
        figure("due page, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0),
        figure("due page, p95 at 100,000 : 1,000", f"{many} works", slow_large, slow_small, 1.3),
    ]
