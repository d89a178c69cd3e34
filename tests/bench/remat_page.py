"""The page of what to remat first, against its own statements as text and its own template, bare.

As `work_page` measures it: the bare page sends the same statements through the DBAPI in
one read transaction, sign-in included, fetches every row, and renders the same template
with what it was given. Pages of 100,000 works, whole and narrowed to one owner; no more
than twelve statements; 19 of 20 no slower than 1.3 times those of 1,000 works.
"""

import random
import sqlite3
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import jinja2
from sqlalchemy import insert
from sqlmodel import SQLModel

from models.actions.change_log import recording
from models.database import open_database
from tests.bench.big_collection import BATCH, NOW, TODAY, copy_of, database_with
from tests.bench.in_process import Open, Statements, app_on, rendered, statements_of
from tests.bench.measuring import Figure, figure, p95, seconds, taking_turns

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 25, 120
MOST_STATEMENTS = 12
PATHS = ("/remat", "/remat?owner=Owner+1", "/remat?state=proposed", "/remat?hours=40")


def measure(folder: Path) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    few, many = (_with_scores(database_with(works, folder), works) for works in (FEW, MANY))
    with app_on(many) as opened:
        ratio = taking_turns(
            "remat page",
            f"{MANY} works",
            [_pair(opened, many, PATHS[n % len(PATHS)]) for n in range(PAGES)],
            4.0,
        )
    return [ratio, *_statements_and_growth(few, many)]


def _with_scores(file: Path, works: int) -> Path:
    """Return a copy in which every work has a score, invented by rule."""
    copy = copy_of(file, f"remats-{works}.sqlite")
    engine = open_database(f"sqlite:///{copy}")
    table = SQLModel.metadata.tables["remat_score"]
    drawn = random.Random(works)
    with recording(engine, actor="bench", now=NOW) as session:
        connection = session.connection()
        connection.execute(table.delete())
        for start in range(0, works, BATCH):
            keys = range(start + 1, min(works, start + BATCH) + 1)
            connection.execute(insert(table), [_score(key, drawn.random()) for key in keys])
    engine.dispose()
    return copy


def _score(work_id: int, reduced: float) -> dict[str, Any]:
    return {
        "work_id": work_id,
        "score_day": TODAY,
        "owner_id": 1 + (work_id - 1) % 3,
        "is_listed": True,
        "reduced": reduced,
        "lost_now": reduced + 0.03,
        "lost_then": 0.01,
        "risk_of_remat": 0.02,
        "chance_now": 0.6,
        "chance_then": 0.01,
        "hours": 1.0 + work_id % 5,
        "cost": 60.0 + work_id % 200,
        "cure": "remat",
        "reason": "Invented board: acid migration, to be seen at the margins.",
        "weak_layer": "Invented board",
        "method": "corner pockets",
        "board": "cotton rag board, buffered",
        "swaps": "window mat: cotton rag board, buffered instead of Invented board",
        "kept_because": "",
        "ask_before": "",
        "leave_it": False,
        "may_reprint": False,
        "stock": "",
    }


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


def _statements_and_growth(few: Path, many: Path) -> list[Figure]:
    with app_on(few) as small, app_on(many) as large:
        paths = [PATHS[n % len(PATHS)] for n in range(PAGES_FOR_P95)]
        for path in PATHS:
            _page(small, path), _page(large, path)
        times = [
            (seconds(partial(_page, small, path)), seconds(partial(_page, large, path)))
            for path in paths
        ]
        with statements_of(large.engine) as sent:
            _page(large, f"/remat?{'&'.join(('owner=Owner+1', 'place=Room+3', 'hours=40'))}")
    slow_few, slow_many = p95([t for t, _ in times]), p95([t for _, t in times])
    return [
        figure("remat page, statements", "of 12", len(sent), MOST_STATEMENTS, 1.0),
        figure("remat page, p95 at 100,000 : 1,000", f"{MANY} works", slow_many, slow_few, 1.3),
    ]
