"""How is a work found, by somebody who may see it?

Every finder here takes the viewer. A work that is not theirs is not on record
for them.
"""

from collections.abc import Sequence

from sqlalchemy import ColumnElement, exists, func
from sqlmodel import Session, col, select

from models.errors import NotFound
from models.tables.visible import Viewer, visible_works
from models.tables.works import Stay, Work, WorkWord


def get_work(session: Session, viewer: Viewer, work_id: int) -> Work:
    """Return the work or raise NotFound."""
    found = session.exec(select(Work).where(Work.id == work_id, visible_works(viewer))).first()
    if found is None:
        raise NotFound("work", work_id)
    return found


def lock_works(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[Work]:
    """Return the works in the order of their keys, locked until the end of the transaction.

    Always in that order: two visits to one package would else wait for each other.
    """
    wanted = select(Work).where(col(Work.id).in_(work_ids), visible_works(viewer))
    found = list(session.exec(wanted.order_by(col(Work.id)).with_for_update()))
    for missing in set(work_ids) - {work.id for work in found}:
        raise NotFound("work", missing)
    return found


def find_work_by_number(session: Session, viewer: Viewer, number: str) -> Work | None:
    """Return the work of this number, None if there is none that this person may see."""
    return session.exec(select(Work).where(Work.number == number, visible_works(viewer))).first()


def find_work_by_code(session: Session, viewer: Viewer, code: str) -> Work | None:
    """Return the work whose label carries this code."""
    return session.exec(select(Work).where(Work.code == code, visible_works(viewer))).first()


def works(
    session: Session,
    viewer: Viewer,
    *,
    prefixes: Sequence[tuple[str, str]] = (),
    owner_id: int | None = None,
    place_ids: Sequence[int] | None = None,
    after: tuple[str, int] | None = None,
    limit: int = 50,
) -> list[Work]:
    """Return works by number: those after `after` (number, key), at most `limit`.

    `prefixes` are ranges of search words (from, up to but not including), of
    which the work must have a word in each. `place_ids` are the places where the work is now.
    """
    wanted = select(Work).where(visible_works(viewer), *_has_words(prefixes))
    if owner_id is not None:
        wanted = wanted.where(Work.owner_id == owner_id)
    if place_ids is not None:
        wanted = wanted.where(_is_in(place_ids))
    if after is not None:
        number, work_id = after
        later = col(Work.number) > number
        wanted = wanted.where(later | ((col(Work.number) == number) & (col(Work.id) > work_id)))
    return list(session.exec(wanted.order_by(col(Work.number), col(Work.id)).limit(limit)))


def _has_words(prefixes: Sequence[tuple[str, str]]) -> list[ColumnElement[bool]]:
    conditions: list[ColumnElement[bool]] = []
    for low, high in prefixes:
        inside = select(WorkWord.id).where(
            WorkWord.work_id == Work.id, WorkWord.word >= low, WorkWord.word < high
        )
        conditions.append(exists(inside))
    return conditions


def _is_in(place_ids: Sequence[int]) -> ColumnElement[bool]:
    here = select(Stay.id).where(
        Stay.work_id == Work.id,
        col(Stay.place_id).in_(place_ids),
        ~col(Stay.ended),
        col(Stay.withdrawn_reason).is_(None),
    )
    return exists(here)


def count_works(session: Session, viewer: Viewer) -> int:
    """Return how many works this person may see."""
    counted = select(func.count()).select_from(Work).where(visible_works(viewer))
    return session.exec(counted).one()


def search_vocabulary(session: Session, viewer: Viewer, prefix: tuple[str, str]) -> list[str]:
    """Return the search words of visible works within a range, for near misses."""
    low, high = prefix
    known = (
        select(WorkWord.word)
        .join(Work, col(Work.id) == col(WorkWord.work_id))
        .where(visible_works(viewer), WorkWord.word >= low, WorkWord.word < high)
        .distinct()
        .limit(5000)
    )
    return list(session.exec(known))
