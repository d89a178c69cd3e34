"""How many works are in each place?

To count a hundred thousand stays takes longer than the rest of a page. So the last counts of
each database are kept in this process beside the head of the change log at which they were
made: nothing that moves a work, or takes one off the register, goes by without an entry there.
"""

from collections.abc import Mapping
from threading import Lock

from sqlmodel import Session

from models.actions.change_log import EMPTY, log_head
from models.tables.visible import Viewer, sees_all_works
from models.tables.walks import works_by_place

_kept: dict[str, tuple[str, Mapping[int, int]]] = {}
_lock = Lock()


def count_by_place(session: Session, viewer: Viewer) -> Mapping[int, int]:
    """Return how many works this person may see right in each place; what is within it apart.

    For a session that sees one moment and writes nothing.
    """
    if not sees_all_works(viewer):
        return works_by_place(session, viewer)
    database, now = str(session.get_bind().engine.url), log_head(session)
    with _lock:
        at, counts = _kept.get(database, ("", {}))
    if at != now or now == EMPTY:
        counts = works_by_place(session, viewer)
        with _lock:
            _kept[database] = now, counts
    return counts
