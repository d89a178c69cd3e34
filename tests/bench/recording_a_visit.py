"""Recording one visit, against the same statements replayed by Core with one commit.

Ours is the app answering a whole request: sign-in, checks, the visit with a dismount
and a new mount, the forecast anew, the log entry and the key that makes it safe to
send again. Bare are the very statements it sent, with what it gave them, on a copy of the database
in the same state, on an engine with the same settings.
"""

from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from models.database import open_database
from tests.bench.big_collection import copy_of, database_with
from tests.bench.in_process import Open, Statements, app_on, statements_of
from tests.bench.measuring import Figure, figure, seconds

WORKS, VISITS, WARM_UP = 1_000, 100, 5
RAG = "Cotton rag mat board, 4-ply, buffered"


def measure(folder: Path) -> list[Figure]:
    """Return the ratio of the medians."""
    base = database_with(WORKS, folder)
    ours_file, bare_file = copy_of(base, "visit-ours.sqlite"), copy_of(base, "visit-bare.sqlite")
    ours, bare = [], []
    with app_on(ours_file, as_program=True) as opened:
        replayed = open_database(f"sqlite:///{bare_file}")
        _bring_level(ours_file, bare_file, opened, replayed)
        for work_id in range(1, VISITS + WARM_UP + 1):
            told = _visit(opened, work_id)
            with statements_of(opened.engine) as sent:
                _record(opened, work_id, told)
            ours.append(opened.timed.seconds)
            bare.append(seconds(partial(_replay, replayed, sent)))
        replayed.dispose()
    middle = len(ours[WARM_UP:]) // 2
    ours_s, bare_s = sorted(ours[WARM_UP:])[middle], sorted(bare[WARM_UP:])[middle]
    return [figure("recording one visit", f"{WORKS} works", ours_s, bare_s, 4.0)]


def _bring_level(ours: Path, bare: Path, opened: Open, replayed: Engine) -> None:
    """Copy what signing in has written, so that both stand at the same state."""
    with opened.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    replayed.dispose()
    bare.write_bytes(ours.read_bytes())


def _visit(opened: Open, work_id: int) -> dict[str, Any]:
    version = opened.client.get(f"/api/works/{work_id}").raise_for_status().json()["version"]
    return {
        "on": "2026-11-20",
        "kind": "unframing",
        "reason": "to be rematted",
        "by": "Bench Keeper",
        "report": {
            "summary": "The mat has browned the margin.",
            "sightings": [{"term": "mat burn", "severity": "slight", "change": "new"}],
        },
        "dismount": {"freed_by": "water", "residue": "paste"},
        "mount": {
            "method": "T-hinge",
            "holds": [{"material": "Wheat starch paste on Japanese paper", "count": 2}],
            "layers": [
                {"role": "window mat", "material": RAG},
                {"role": "work"},
                {"role": "mount board", "material": RAG},
            ],
        },
        "based_on": version,
    }


def _record(opened: Open, work_id: int, told: dict[str, Any]) -> None:
    key = {"Idempotency-Key": f"visit-{work_id}"}
    answer = opened.client.post(f"/api/works/{work_id}/visits", json=told, headers=key)
    assert answer.status_code == 201, answer.text


def _replay(engine: Engine, sent: Statements) -> None:
    with engine.connect().execution_options(hingebook_writes=True) as connection:
        with connection.begin():
            for statement, given in sent:
                done = connection.exec_driver_sql(statement, given)
                if done.returns_rows:
                    done.fetchall()
