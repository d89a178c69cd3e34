"""What a package would do after one layer is swapped, against its own statements, bare.

One request answers with drawing, verdict, dates and chances; nothing is stored. Bare is
FastAPI alone, which takes in what the form tells, sends the same statements through the
DBAPI in one transaction that is rolled back, and answers with the same template and what it
was given. 19 of 20 answers take the server no longer than 60 ms.
"""

import re
import sqlite3
from functools import partial
from pathlib import Path
from typing import Any

import jinja2

from tests.bench.big_collection import database_with
from tests.bench.in_process import Bare, Open, Statements, app_on, bare_app, rendered, statements_of
from tests.bench.measuring import Figure, figure, p95, taking_turns
from tests.pages.form_filled import Fields, fields_of

WORKS, SWAPS, SWAPS_FOR_P95, LONGEST_S = 1_000, 25, 120, 0.060
RAG = "Cotton rag mat board, 4-ply, buffered"


def measure(folder: Path) -> list[Figure]:
    """Return the ratio to the bare answer, and how near 19 of 20 answers come to 60 ms."""
    file = database_with(WORKS, folder)
    with app_on(file) as opened, bare_app() as bare:
        forms = [_form(opened, work) for work in range(1, SWAPS + 1)]
        pairs = [_swap_and_bare(opened, bare, file, *form) for form in forms]
        ratio = taking_turns("swapped layer", f"{WORKS} works", pairs, 5.0)
        times = []
        for turn in range(SWAPS_FOR_P95):
            _swap(opened, *forms[turn % SWAPS])
            times.append(opened.timed.seconds)
    slow = figure("swapped layer, p95 : 60 ms", f"{WORKS} works", p95(times), LONGEST_S, 1.0)
    return [ratio, slow]


def _form(opened: Open, work: int) -> tuple[int, Fields]:
    """Return the form of an unframing in which the window mat is changed."""
    page = opened.client.get(f"/works/{work}/visits/new?kind=unframing").raise_for_status().text
    action = re.search(r'action="(/bench/[^"]+)" data-key', page)
    assert action is not None, "the page of a visit has its form"
    changed = {"mount/layers/1/act": "swapped", "mount/layers/1/material": RAG}
    return work, {**fields_of(page, action[1]), "mount/how": "changed", **changed}


def _swap(opened: Open, work: int, fields: Fields) -> None:
    answer = opened.client.post(f"/works/{work}/package-tried", data=fields)
    assert "As it would be:" in answer.raise_for_status().text, answer.text


def _swap_and_bare(opened: Open, bare: Bare, file: Path, work: int, fields: Fields) -> Any:
    _swap(opened, work, fields)
    with statements_of(opened.engine) as sent, rendered() as given:
        _swap(opened, work, fields)
    template, told = given[-1]
    connection = sqlite3.connect(file, isolation_level=None, check_same_thread=False)
    replay = partial(_replay, connection, sent, template, told)
    return partial(_swap, opened, work, fields), partial(bare.sent, replay, dict(fields))


def _replay(
    connection: sqlite3.Connection,
    sent: Statements,
    template: jinja2.Template,
    told: dict[str, Any],
) -> str:
    connection.execute("BEGIN IMMEDIATE")
    for statement, given in sent:
        connection.execute(statement, given).fetchall()
    connection.execute("ROLLBACK")
    return template.render(told)
