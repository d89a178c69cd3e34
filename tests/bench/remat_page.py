"""The page of what to remat first, against its own statements as text and its own template, bare.

As `work_page` measures it: the bare page sends the same statements through the DBAPI in
one read transaction, sign-in included, fetches every row, and renders the same template
with what it was given. Pages of 100,000 works, whole and narrowed to one owner; no more
than twelve statements; 19 of 20 no slower than 1.3 times those of 1,000 works.
"""

import random
from pathlib import Path
from typing import Any

from sqlalchemy import insert
from sqlmodel import SQLModel

from models.actions.change_log import recording
from models.database import open_database
from tests.bench.bare_page import page_and_bare, statements_and_growth
from tests.bench.big_collection import BATCH, NOW, TODAY, copy_of, database_with
from tests.bench.in_process import app_on
from tests.bench.measuring import Figure, taking_turns

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 25, 120
PATHS = ("/remat", "/remat?owner=Owner+1", "/remat?state=proposed", "/remat?hours=40")


def measure(folder: Path) -> list[Figure]:
    """Return the ratio to the bare page, and how pages slow down with the collection."""
    few, many = (_with_scores(database_with(works, folder), works) for works in (FEW, MANY))
    with app_on(many) as opened:
        ratio = taking_turns(
            "remat page",
            f"{MANY} works",
            [page_and_bare(opened, many, PATHS[n % len(PATHS)]) for n in range(PAGES)],
            4.0,
        )
    paths = [PATHS[n % len(PATHS)] for n in range(PAGES_FOR_P95)]
    side_by_side = list(zip(paths, paths, strict=True))
    counted = "/remat?owner=Owner+1&place=Room+3&hours=40"
    grown = statements_and_growth("remat page", few, many, side_by_side, counted=counted, many=MANY)
    return [ratio, *grown]


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
