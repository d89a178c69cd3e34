"""The pages of a visit at the bench, against their own statements and template, bare.

As `work_page` measures it: the first step of a visit, and every step of one that lies open,
with what was typed into it. Beside the ratio: no more than twelve statements on any step,
and 19 of 20 first steps of 100,000 works no slower than 1.3 times those of 1,000.
"""

import re
from pathlib import Path

from api.pages.bench_steps import Step
from tests.bench.bare_page import MOST_STATEMENTS, page, page_and_bare, statements_and_growth
from tests.bench.big_collection import copy_of, database_with
from tests.bench.in_process import Open, app_on, statements_of
from tests.bench.measuring import Figure, figure, taking_turns
from tests.pages.form_filled import fields_of

FEW, MANY = 1_000, 100_000
PAGES, PAGES_FOR_P95 = 25, 120


def measure(folder: Path, few: int = FEW, many: int = MANY) -> list[Figure]:
    """Return the ratio to the bare page of both, the most statements, and the growth."""
    small, large = database_with(few, folder), database_with(many, folder)
    with app_on(small) as opened:
        paths = [_first_step(work) for work in _spread(PAGES, few)]
        pairs = [page_and_bare(opened, small, path) for path in paths]
        first = taking_turns("bench visit, first step", f"{few} works", pairs, 5.0)
    side_by_side = [
        (_first_step(one), _first_step(other))
        for one, other in zip(
            _spread(PAGES_FOR_P95, few), _spread(PAGES_FOR_P95, many), strict=True
        )
    ]
    counted = _first_step(many // 2)
    grown = statements_and_growth(
        "bench visit", small, large, side_by_side, counted=counted, many=many
    )
    return [first, *_steps(copy_of(small, "bench-visit.sqlite"), few), *grown]


def _steps(file: Path, works: int) -> list[Figure]:
    with app_on(file) as opened:
        paths = [
            path for work in _spread(PAGES // len(Step) + 1, works) for path in _open(opened, work)
        ]
        pairs = [page_and_bare(opened, file, path) for path in paths]
        ratio = taking_turns("bench visit, open steps", f"{works} works", pairs, 5.0)
        most = 0
        for path in paths[: len(Step)]:
            with statements_of(opened.engine) as sent:
                page(opened, path)
            most = max(most, len(sent))
    counted = figure("bench visit, open steps, statements", "of 12", most, MOST_STATEMENTS, 1.0)
    return [ratio, counted]


def _open(opened: Open, work: int) -> list[str]:
    """Begin a visit to a work, and return the addresses of its steps."""
    first = page(opened, _first_step(work))
    action = re.search(r'action="(/bench/[^"]+)" data-key', first)
    assert action is not None, "the page of a visit has its form"
    told = {**fields_of(first, action[1]), "reason": "unframed to change the frame"}
    opened.client.post(action[1], data=told, follow_redirects=False)
    key = action[1].split("/")[2]
    return [f"/bench/{key}/{step}" for step in Step]


def _first_step(work: int) -> str:
    return f"/works/{work}/visits/new?kind=unframing"


def _spread(count: int, works: int) -> list[int]:
    return [1 + n * works // count for n in range(count)]
