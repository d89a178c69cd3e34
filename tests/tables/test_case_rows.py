"""What is on record of one work is found without reading what is on record of all."""

from typing import Any

from sqlalchemy import Engine, event

from models.actions.work_records import load_records
from models.database import read_session, write_session
from models.tables.visible import THE_HOUSE
from models.tables.visit_notes import visit_note_rows
from tests.builders import a_layer, a_mount, a_work, key_of
from tests.with_database import on_sqlite

# With so few rows PostgreSQL reads whole tables, and rightly.
pytestmark = on_sqlite


def test_no_statement_for_one_work_reads_a_whole_table(engine: Engine) -> None:
    sent: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, given: Any, _x: Any, _many: bool) -> None:
        sent.append((statement, given))

    with write_session(engine) as session:
        work = a_work(session)
        a_layer(session, a_mount(session, work))
        work_id = key_of(work)
    with read_session(engine) as session:
        event.listen(engine, "before_cursor_execute", note)
        load_records(session, THE_HOUSE, [work_id])
        visit_note_rows(session, THE_HOUSE, [work_id])
        event.remove(engine, "before_cursor_execute", note)
        read_whole = [
            step.detail
            for statement, given in sent
            if statement.startswith("SELECT")
            for step in session.connection().exec_driver_sql(
                f"EXPLAIN QUERY PLAN {statement}", given
            )
            # `anon_1` are the notes of this work, found before they are put in order.
            if step.detail.startswith("SCAN") and step.detail != "SCAN anon_1"
        ]
    assert read_whole == []
