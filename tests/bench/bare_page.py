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
# How often each page is asked for: its quickest answer is its own time. Of single answers 19
# in 20 say how busy the machine is: five rounds on a busy one gave 0.82 to 1.21 by the clock,
# where by the time of the processor they gave 0.93 to 1.04.
ROUNDS = 3


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
    return (lambda: page(opened, path)), (lambda: send_bare(bare, sent, template, told))


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

    `paths` are those of the small and of the large collection, side by side; each of a pair
    is asked for first by turns.
    """
    with app_on(small) as few_works, app_on(large) as many_works:
        for one, other in paths[:WARMED]:
            page(few_works, one), page(many_works, other)
        rounds = [
            _round(few_works, many_works, paths, few_first=number % 2 == 0)
            for number in range(ROUNDS)
        ]
        with statements_of(many_works.engine) as sent:
            page(many_works, counted)
    slow_few, slow_many = (
        p95([min(answers) for answers in zip(*of_one, strict=True)])
        for of_one in zip(*rounds, strict=True)
    )
    size = f"{many} works"
    return [
        figure(f"{what}, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0),
        figure(f"{what}, p95 at 100,000 : 1,000", size, slow_many, slow_few, 1.3),
    ]


def _round(
    few: Open, many: Open, paths: Sequence[tuple[str, str]], *, few_first: bool
) -> tuple[list[float], list[float]]:
    """Return the times of all pages of the small and of the large collection, asked in turns."""
    of_few: list[float] = []
    of_many: list[float] = []
    for number, (one, other) in enumerate(paths):
        in_turn = [(of_few, few, one), (of_many, many, other)]
        for times, opened, path in in_turn if few_first == (number % 2 == 0) else in_turn[::-1]:
            times.append(seconds(partial(page, opened, path)))
    return of_few, of_many


def send_bare(
    connection: sqlite3.Connection,
    sent: Statements,
    template: jinja2.Template,
    told: dict[str, Any],
) -> str:
    """Send the statements in one read transaction, and render the template."""
    connection.execute("BEGIN")
    for statement, given in sent:
        connection.execute(statement, given).fetchall()
    connection.execute("COMMIT")
    return template.render(told)
