"""The page of one work, against its own statements as text and its own template, bare.

The bare page sends the same statements through the DBAPI in one read transaction,
sign-in included, fetches every row, and renders the same template with what it
was given. Beside the ratio: no more than twelve statements, and 19 of 20 pages of
100,000 works no slower than 1.3 times those of 1,000.
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


def measure(folder: Path) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    few, many = database_with(FEW, folder), database_with(MANY, folder)
    with app_on(few) as opened:
        ratio = taking_turns(
            "work page",
            f"{FEW} works",
            [_pair(opened, few, n) for n in _spread(PAGES, FEW)],
            5.0,
        )
    return [ratio, *_statements_and_growth(few, many)]


def _spread(count: int, works: int) -> list[int]:
    return [1 + n * works // count for n in range(count)]


def _pair(
    opened: Open, file: Path, work_id: int
) -> tuple[Callable[[], object], Callable[[], object]]:
    # Twice: the first request of a kind makes caches that a running server has.
    _page(opened, work_id)
    with statements_of(opened.engine) as sent, rendered() as given:
        _page(opened, work_id)
    template, told = given[-1]
    bare = sqlite3.connect(file, isolation_level=None)
    return (lambda: _page(opened, work_id)), (lambda: _bare(bare, sent, template, told))


def _page(opened: Open, work_id: int) -> str:
    return opened.client.get(f"/works/{work_id}").raise_for_status().text


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


def _statements_and_growth(few: Path, many: Path) -> list[Figure]:
    with app_on(few) as small, app_on(many) as large:
        works = list(zip(_spread(PAGES_FOR_P95, FEW), _spread(PAGES_FOR_P95, MANY), strict=True))
        for one, other in works[:10]:
            _page(small, one), _page(large, other)
        times = [
            (seconds(partial(_page, small, one)), seconds(partial(_page, large, other)))
            for one, other in works
        ]
        with statements_of(large.engine) as sent:
            _page(large, MANY // 2)
    slow_few, slow_many = p95([t for t, _ in times]), p95([t for _, t in times])
    return [
        figure("work page, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0),
        figure("work page, p95 at 100,000 : 1,000", f"{MANY} works", slow_many, slow_few, 1.3),
    ]
