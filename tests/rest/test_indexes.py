"""An index for every finder: nothing that is read reads a whole table of works or visits."""

import re
from typing import Any

import pytest
from fastapi import FastAPI
from sqlalchemy import Engine, event

from models.actions.change_log import recording
from tests.builders import a_layer, a_mount, a_visit, a_work
from tests.with_app import NOON, Browser, on_sqlite_only

__all__ = ["on_sqlite_only"]

# Tables that grow with the collection; the rest are lists of a house.
GROWING = frozenset(
    {
        "work",
        "work_word",
        "stay",
        "package",
        "layer",
        "mount",
        "hold",
        "remain",
        "visit",
        "layer_test",
        "inscription",
        "treatment",
        "treatment_material",
        "finding",
        "sighting",
        "colour_reading",
        "forecast",
        "incident_work",
        "follow_up",
        "log_entry",
        "repeat_key",
        "sign_in",
    }
)
PATHS = (
    "/works",
    "/works?q=mill",
    "/works?owner=1",
    "/works/1",
    "/works/1/visits/new?kind=unframing",
    "/due",
    "/walk-round",
    "/materials",
    "/places",
    "/api/works",
    "/api/works?q=mill%20winter",
    "/api/works?number=GH%201",
    "/api/works/1",
    "/api/works/1/moves",
    "/api/works/1/visits",
    "/api/works/1/mounts",
    "/api/works/1/findings",
    "/api/works/1/forecast",
    "/api/works/1/mounting-history.csv",
    "/api/mounting-history.csv",
    "/api/due",
    "/api/materials/1/uses",
    "/api/visits/1",
    "/api/incidents",
    "/api/recalls",
)


@pytest.fixture
def plans(keeper: Browser, app: FastAPI, reference_data: None) -> dict[str, list[str]]:
    """What SQLite means to do for each request, step by step."""
    engine: Engine = app.state.installation.engine
    with recording(engine, actor="test", now=NOON) as session:
        work = a_work(session, number="GH 1", place="Gannet House", owner="The Gannet House")
        mount = a_mount(session, work)
        a_layer(session, mount)
        a_visit(session, work)
    found: dict[str, list[str]] = {}
    for path in PATHS:
        sent: list[tuple[str, Any]] = []

        def note(
            _c: Any, _k: Any, text: str, given: Any, _x: Any, _m: bool, to: Any = sent
        ) -> None:
            if text.startswith(("SELECT", "WITH")):
                to.append((text, given))

        event.listen(engine, "before_cursor_execute", note)
        answer = keeper.get(path)
        event.remove(engine, "before_cursor_execute", note)
        assert answer.status_code in (200, 303), f"{path}: {answer.status_code}"
        with engine.connect() as connection:
            found[path] = [
                str(step[3])
                for text, given in sent
                for step in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", given)
            ]
    return found


def test_no_request_reads_a_growing_table_from_end_to_end(plans: dict[str, list[str]]) -> None:
    whole = [
        f"{path}: {step}"
        for path, steps in plans.items()
        for step in steps
        if step.startswith("SCAN ")
        and re.sub(r"_\d+$", "", step.split()[1]) in GROWING
        and "INDEX" not in step
    ]
    assert whole == []
    assert any(step.startswith("SEARCH layer USING INDEX") for step in plans["/works/1"])
