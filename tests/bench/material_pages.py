"""The pages of materials, against their own statements as text and their own templates, bare.

As `every_page` measures them: the library, one material, two beside each other, and what a
recall would touch. Both materials lie in works among the first 1,000 alone: what is listed is
as long in each collection, and only what is around it grows.
"""

import sqlite3
from pathlib import Path

from tests.bench.bare_page import statements_and_growth
from tests.bench.big_collection import copy_of, database_with
from tests.bench.every_page import ratio_to_bare
from tests.bench.in_process import app_on, bare_app
from tests.bench.measuring import Figure

FEW, MANY = 1_000, 100_000
PAGES_FOR_P95 = 60
RARE, OTHER = 9, 10
INSTEAD = 11
PATHS = {
    "library": "/materials",
    "material page": f"/materials/{RARE}",
    "comparison": f"/materials/compare?a={RARE}&b={OTHER}",
    "recall preview": f"/materials/{RARE}/recall",
}


def measure(folder: Path, few: int = FEW, many: int = MANY) -> list[Figure]:
    """Return of each page the ratio to the bare one, and how it slows down."""
    small = _with_rare_ones(database_with(few, folder), "materials-few.sqlite")
    large = _with_rare_ones(database_with(many, folder), "materials-many.sqlite")
    figures = []
    for name, path in PATHS.items():
        with app_on(large) as opened, bare_app() as bare:
            figures.append(ratio_to_bare(name, f"{many} works", opened, bare, large, path))
        side_by_side = [(path, path)] * PAGES_FOR_P95
        figures += statements_and_growth(name, small, large, side_by_side, counted=path, many=many)
    return figures


def _with_rare_ones(file: Path, name: str) -> Path:
    """Return a copy in which later works have another material in the place of these two."""
    copied = copy_of(file, name)
    with sqlite3.connect(copied) as connection:
        connection.execute(
            "UPDATE layer SET material_id = ?, figures_id = NULL"
            " WHERE material_id IN (?, ?) AND package_id > 1000",
            (INSTEAD, RARE, OTHER),
        )
    connection.close()
    return copied
