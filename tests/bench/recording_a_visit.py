"""Recording one visit, against the same statements replayed by Core with one commit.

The transaction is the deed with its log entry and the key that makes it safe to send
again: a dismount, a new mount, a finding, the forecast anew, one commit. The whole
request is the app answering it over HTTP: sign-in, the shapes that come in and go
out, and the same transaction. Bare are the very statements that were sent, with what
they were given, on a copy of the database in the same state, on an engine with the
same settings; of the whole request, FastAPI alone takes the same JSON and sends them.
"""

from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

from sqlalchemy import Engine

from api.rest.visit_shapes import VisitIn
from models.actions.change_log import recording
from models.actions.repeated_requests import Answered, Repeatable, answer_given, keep_answer
from models.actions.visits import record_visit
from models.database import open_database
from models.tables.visible import Viewer
from models.vocabulary import Role
from tests.bench.big_collection import NOW, TODAY, copy_of, database_with
from tests.bench.in_process import Open, Statements, app_on, bare_app, statements_of
from tests.bench.measuring import Figure, figure, seconds

WORKS, VISITS, WARM_UP = 1_000, 60, 5
TRANSACTION, REQUEST = "recording one visit", "the same, whole request"
# The first person of the big collection.
KEEPER_ID = 1
RAG = "Cotton rag mat board, 4-ply, buffered"


def measure(folder: Path) -> list[Figure]:
    """Return the ratios of the medians, of the transaction and of the whole request."""
    base = database_with(WORKS, folder)
    ours_file, bare_file = copy_of(base, "visit-ours.sqlite"), copy_of(base, "visit-bare.sqlite")
    times: dict[str, list[tuple[float, float]]] = {TRANSACTION: [], REQUEST: []}
    with app_on(ours_file, as_program=True) as opened, bare_app() as bare:
        replayed = open_database(f"sqlite:///{bare_file}")
        _bring_level(ours_file, bare_file, opened, replayed)
        for work_id in range(1, 2 * (VISITS + WARM_UP) + 1):
            name = (TRANSACTION, REQUEST)[work_id % 2]
            told = visit_told(opened, work_id)
            with statements_of(opened.engine) as sent:
                ours = _ours(name, opened, work_id, told)
            again = partial(_replay, replayed, sent)
            its_bare = bare.sent(again, told) if name == REQUEST else seconds(again)
            times[name].append((ours, its_bare))
        replayed.dispose()
    return [_figure(name, pairs[WARM_UP:]) for name, pairs in times.items()]


def _figure(name: str, pairs: list[tuple[float, float]]) -> Figure:
    ours, bare = (median(its) for its in zip(*pairs, strict=True))
    return figure(name, f"{WORKS} works", ours, bare, 4.0)


def _ours(name: str, opened: Open, work_id: int, told: dict[str, Any]) -> float:
    if name == REQUEST:
        _record(opened, work_id, told)
        return opened.timed.seconds
    return seconds(partial(transaction, opened, work_id, told))


def transaction(opened: Open, work_id: int, told: dict[str, Any]) -> None:
    """Record a visit as the route does, without the web around it."""
    keeper = Viewer(KEEPER_ID, Role.KEEPER)
    asked = Repeatable(KEEPER_ID, f"visit-{work_id}", "POST bench", "0" * 64)
    with recording(opened.engine, actor=f"person:{KEEPER_ID}", now=NOW) as session:
        assert answer_given(session, asked, NOW) is None
        visit = VisitIn.model_validate(told).told()
        stored = record_visit(session, keeper, work_id, visit, today=TODAY)
        keep_answer(session, asked, Answered(201, f"/api/visits/{stored.visit_id}", "{}"))


def _bring_level(ours: Path, bare: Path, opened: Open, replayed: Engine) -> None:
    """Copy what signing in has written, so that both stand at the same state."""
    with opened.engine.connect() as connection:
        connection.exec_driver_sql("COMMIT")
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    replayed.dispose()
    bare.write_bytes(ours.read_bytes())


def visit_told(opened: Open, work_id: int) -> dict[str, Any]:
    """Return an unframing with a dismount, a new mount and a finding, as it is sent."""
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
