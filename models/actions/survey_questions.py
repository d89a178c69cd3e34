"""Which question is worth asking of each work that the first survey shows?

Worked out live, for the works shown alone and in one pass.
"""

from collections.abc import Sequence
from dataclasses import replace

from sqlmodel import Session

from models.actions.due import DueItem
from models.actions.forecasts import case_of
from models.actions.in_force import in_force
from models.actions.work_records import load_records
from models.rules.permissions import Deed, require
from models.rules.survey_question import questions_worth_asking
from models.tables.visible import Viewer


def with_questions(
    session: Session, viewer: Viewer, items: Sequence[DueItem], *, today: int
) -> tuple[DueItem, ...]:
    """Return the same works, each with the question worth asking, if there is one."""
    require(viewer.role, Deed.READ)
    work_ids = [item.work_id for item in items if item.work_id is not None]
    if not work_ids:
        return tuple(items)
    force = in_force(session)
    records = load_records(session, viewer, work_ids)
    cases = [case_of(its, force, today=today) for its in records.values()]
    found = dict(zip(records, questions_worth_asking(cases), strict=True))
    asked = {key: one.sentence for key, one in found.items() if one is not None}
    return tuple(replace(item, asks=asked.get(item.work_id or 0, "")) for item in items)
