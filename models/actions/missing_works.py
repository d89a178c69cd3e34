"""What becomes of a work that a walk did not find, until somebody has it before them again?"""

from collections.abc import Sequence

from sqlmodel import Session

from models.actions.record_changes import key_of
from models.tables.missing_works import (
    MissingWork,
    current_stays,
    found_at,
    missed_and_not_found,
)
from models.tables.places import Walk
from models.tables.visits import Visit


def note_missing(session: Session, walk: Walk, work_ids: Sequence[int]) -> None:
    """Note which works a walk did not find in the places where the record has them."""
    if not work_ids:
        return
    stays = current_stays(session, work_ids)
    session.add_all(
        MissingWork(walk_id=key_of(walk), work_id=work_id, stay_id=stays[work_id])
        for work_id in work_ids
    )
    session.flush()


def note_found(session: Session, visits: Sequence[Visit]) -> None:
    """Note that works were found by visits on the day on which they were missed, or later."""
    by_work = {visit.work_id: visit for visit in visits}
    for key, work_id, missed_on in missed_and_not_found(session, by_work):
        visit = by_work[work_id]
        if visit.on_first is not None and (missed_on or 0) <= visit.on_first:
            session.get_one(MissingWork, key).found_visit_id = visit.id


def note_not_found_after_all(session: Session, visit_id: int) -> None:
    """Undo what a visit found, for the visit is taken back."""
    for missing in found_at(session, visit_id):
        missing.found_visit_id = None
