"""The form of a walk-round, against its own statements as text and its own template, bare.

As `due_page` measures it, in a room of sixty works, as most are, of 1,000 and of 100,000
works; and in one of 1,300 works, as it is.
"""

import sqlite3
from pathlib import Path

from tests.bench.bare_page import page_and_bare, statements_and_growth
from tests.bench.big_collection import copy_of, database_with
from tests.bench.in_process import app_on
from tests.bench.measuring import Figure, taking_turns

FEW, MANY = 1_000, 100_000
SIXTY, LONG = 60, 1_300
PAGES, PAGES_OF_LONG, PAGES_FOR_P95 = 25, 9, 120
# Keys above those of every room that the collection has.
ROOMS = {901: SIXTY, 902: LONG}


def measure(folder: Path, few: int = FEW, many: int = MANY) -> list[Figure]:
    """Return the ratios to the bare page, and how pages slow down with the collection."""
    small = _with_rooms(database_with(few, folder), "walk-few.sqlite")
    large = _with_rooms(database_with(many, folder), "walk-many.sqlite")
    usual, long = (f"/walk-round/{room}" for room in ROOMS)
    with app_on(large) as opened:
        ratios = [
            taking_turns(name, f"{many} works", [page_and_bare(opened, large, path)] * pages, 5.0)
            for name, path, pages in (
                ("walk-round page", usual, PAGES),
                (f"walk-round page of {LONG}", long, PAGES_OF_LONG),
            )
        ]
    side_by_side = [(usual, usual)] * PAGES_FOR_P95
    grown = statements_and_growth(
        "walk-round page", small, large, side_by_side, counted=usual, many=many
    )
    return [*ratios, *grown]


def _with_rooms(file: Path, name: str) -> Path:
    """Return a copy in which so many works hang in rooms of their own."""
    copied = copy_of(file, name)
    with sqlite3.connect(copied) as connection:
        first = 1
        for key, count in ROOMS.items():
            connection.execute(
                "INSERT INTO place (id, name, note, version) VALUES (?, ?, '', 1)",
                (key, f"Hall of {count}"),
            )
            connection.execute(
                "UPDATE stay SET place_id = ? WHERE work_id BETWEEN ? AND ?",
                (key, first, first + count - 1),
            )
            first += count
    connection.close()
    return copied
