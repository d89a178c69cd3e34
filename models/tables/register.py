"""Which works may this person see, and which one is meant?

Stands apart from the tables of works because who-sees-what needs those. What a
person may not see is not on record for that person: lists, counts and
neighbours are made of visible works alone.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

from sqlalchemy import ColumnElement, and_, bindparam, func
from sqlalchemy import select as columns
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import Select, SelectOfScalar

from models.errors import NotFound
from models.tables.people import Owner
from models.tables.visible import (
    Viewer,
    sees_all_works,
    visible_by_parameter,
    visible_works,
)
from models.tables.work_search import Beginning, rarest_first
from models.tables.works import Stay, Technique, Work, WorkWord

# From so many works in a place on, so many of the next numbers are looked through for them.
MANY_IN_A_PLACE = 1_500
LOOKED_THROUGH = 4_000
_IS_CURRENT_STAY = and_(~col(Stay.ended), col(Stay.withdrawn_reason).is_(None))


@dataclass(frozen=True)
class ListedWork:
    """A work as a list shows it; the place by key, for the tree of places names it."""

    work: Work
    owner: str | None
    technique: str | None
    place_id: int | None


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a list of works is narrowed to; None or empty: not narrowed."""

    owner_id: int | None = None
    place_ids: Collection[int] | None = None
    beginnings: Sequence[Beginning] = ()
    techniques: Mapping[Beginning, Collection[int]] = field(default_factory=dict)


def get_work(session: Session, viewer: Viewer, work_id: int) -> Work:
    """Return the work. Raises NotFound when it is not on record or not this person's to see."""
    found = select(Work).where(visible_works(viewer), Work.id == work_id)
    work = session.exec(found).first()
    if work is None:
        raise NotFound("work", work_id)
    return work


def get_work_to_change(session: Session, viewer: Viewer, work_id: int) -> Work:
    """Return the work, held until the change is kept or dropped. Raises NotFound."""
    found = select(Work).where(visible_works(viewer), col(Work.id) == work_id).with_for_update()
    work = session.exec(found.execution_options(populate_existing=True)).first()
    if work is None:
        raise NotFound("work", work_id)
    return work


def get_works_to_change(
    session: Session, viewer: Viewer, work_ids: Collection[int]
) -> dict[int, Work]:
    """Return the works by key, held until the change is kept or dropped. Raises NotFound."""
    found = select(Work).where(visible_works(viewer), col(Work.id).in_(work_ids))
    # Always in the order of keys: two who want the same works never wait for each other.
    found = found.order_by(col(Work.id)).with_for_update()
    works = session.exec(found.execution_options(populate_existing=True)).all()
    held = {work.id: work for work in works if work.id is not None}
    for work_id in work_ids:
        if work_id not in held:
            raise NotFound("work", work_id)
    return held


def find_work_by_number(session: Session, viewer: Viewer, number: str) -> Work | None:
    """Return the work of exactly this number."""
    found = _by_number(all_works=sees_all_works(viewer))
    given = {"number": number, "viewer_owner_id": viewer.owner_id}
    return session.exec(found, params=given).first()


@cache
def _by_number(*, all_works: bool) -> SelectOfScalar[Work]:
    """Return the statement, built once: every search sends it."""
    visible = visible_by_parameter(all_works=all_works)
    return select(Work).where(visible, col(Work.number) == bindparam("number"))


def find_work_by_code(session: Session, viewer: Viewer, code: str) -> Work | None:
    """Return the work whose label bears this code, as `read_code` returns it."""
    return session.exec(select(Work).where(visible_works(viewer), Work.code == code)).first()


def numbers_found_under(session: Session, word: str) -> list[tuple[int, str]]:
    """Return key and number of every work, also withdrawn, that is found under exactly a word."""
    found = select(Work.id, Work.number).join(WorkWord, col(WorkWord.work_id) == Work.id)
    rows = session.exec(found.where(WorkWord.word == word).order_by(col(Work.id)))
    return [(key, number) for key, number in rows if key is not None]


def listed_work(session: Session, viewer: Viewer, work_id: int) -> ListedWork:
    """Return one work with the names that belong to it. Raises NotFound."""
    found = _listing().where(visible_works(viewer), col(Work.id) == work_id)
    row = session.exec(found).first()
    if row is None:
        raise NotFound("work", work_id)
    return ListedWork(*row)


def works_page(
    session: Session,
    viewer: Viewer,
    *,
    limit: int,
    after: str | None = None,
    wanted: Wanted | None = None,
) -> tuple[list[ListedWork], str | None]:
    """Return at most `limit` works by number, and the number to go on after, if there are more."""
    conditions = _conditions(session, wanted or Wanted())
    if conditions is None:
        return [], None
    # One more than shown says whether there are more, without counting.
    asked = _by_number_after(after).where(visible_works(viewer)).limit(limit + 1)
    places = wanted.place_ids if wanted and not (wanted.beginnings or wanted.owner_id) else None
    rows = _in_a_full_place(session, asked, places, after) if places else []
    if len(rows) <= limit:
        rows = session.exec(asked.where(*conditions)).all()
    shown = [ListedWork(*row) for row in rows[:limit]]
    return shown, shown[-1].work.number if len(rows) > limit else None


def _by_number_after(after: str | None) -> Select[Work, str, str, int]:
    listing = _listing().order_by(col(Work.number))
    return listing if after is None else listing.where(col(Work.number) > after)


def _in_a_full_place(
    session: Session,
    asked: Select[Work, str, str, int],
    place_ids: Collection[int],
    after: str | None,
) -> Sequence[tuple[Work, str, str, int]]:
    """Return what the next numbers of the register hold of these places; none where few are there.

    The works of a place are found by the place and then sorted, which takes the longer the more
    there are. Where they are many the next page of them lies among the next numbers as a rule.
    """
    some = columns(col(Stay.id)).where(_IS_CURRENT_STAY, col(Stay.place_id).in_(place_ids))
    count = func.count().select().select_from(some.limit(MANY_IN_A_PLACE).subquery())
    if session.execute(count).scalar_one() < MANY_IN_A_PLACE:
        return []
    numbers = select(Work.number).order_by(col(Work.number))
    if after is not None:
        numbers = numbers.where(col(Work.number) > after)
    end = session.exec(numbers.offset(LOOKED_THROUGH).limit(1)).first()
    if end is not None:
        asked = asked.where(col(Work.number) < end)
    # Not as a bare column: by that the database would begin with the place.
    return session.exec(asked.where(func.coalesce(col(Stay.place_id), 0).in_(place_ids))).all()


def count_works(session: Session, viewer: Viewer, wanted: Wanted | None = None) -> int:
    """Return how many works there are, as far as this person may see them."""
    conditions = _conditions(session, wanted or Wanted())
    if conditions is None:
        return 0
    found = select(func.count()).select_from(Work).outerjoin(Stay, _is_where_it_is())
    return session.exec(found.where(visible_works(viewer), *conditions)).one()


def stays_of_work(session: Session, viewer: Viewer, work_id: int) -> list[Stay]:
    """Return the stays of a work that nobody has withdrawn, as they followed each other."""
    found = select(Stay).join(Work, col(Work.id) == Stay.work_id)
    found = found.where(visible_works(viewer), Stay.work_id == work_id)
    stays = session.exec(found.where(col(Stay.withdrawn_reason).is_(None))).all()
    return sorted(stays, key=_order_of_stay)


def stays_by_work(session: Session, work_ids: Collection[int]) -> dict[int, list[Stay]]:
    """Return the stays of works that somebody may see, as they followed each other."""
    found = select(Stay).where(col(Stay.work_id).in_(work_ids))
    stays: dict[int, list[Stay]] = {work_id: [] for work_id in work_ids}
    found = found.where(col(Stay.withdrawn_reason).is_(None))
    for stay in session.exec(found.execution_options(populate_existing=True)):
        stays[stay.work_id].append(stay)
    return {work_id: sorted(those, key=_order_of_stay) for work_id, those in stays.items()}


def get_stay(session: Session, viewer: Viewer, stay_id: int) -> Stay:
    """Return a stay of a visible work. Raises NotFound."""
    found = select(Stay).join(Work, col(Work.id) == Stay.work_id)
    stay = session.exec(found.where(visible_works(viewer), Stay.id == stay_id)).first()
    if stay is None:
        raise NotFound("stay", stay_id)
    return stay


def keys_of_places_of_works(session: Session, viewer: Viewer) -> list[int]:
    """Return the keys of all places in which a visible work is or has been."""
    found = select(Stay.place_id).join(Work, col(Work.id) == Stay.work_id)
    found = found.where(visible_works(viewer), col(Stay.withdrawn_reason).is_(None))
    return list(session.exec(found.distinct()))


def works_that_were_in(
    session: Session,
    viewer: Viewer,
    place_ids: Collection[int],
    *,
    first_day: int | None,
    last_day: int | None,
) -> list[Work]:
    """Return the works that may have been in one of these places between two days, by number.

    A stay of which nobody knows when it began or ended counts: it is left out
    only when it certainly began after the last day or ended before the first.
    """
    staying = select(col(Stay.work_id)).where(
        col(Stay.place_id).in_(place_ids), col(Stay.withdrawn_reason).is_(None)
    )
    if last_day is not None:
        began = func.coalesce(col(Stay.since_first), last_day)
        staying = staying.where(began <= last_day)
    if first_day is not None:
        gone = func.coalesce(col(Stay.ended_last), first_day)
        staying = staying.where(gone >= first_day)
    found = select(Work).where(visible_works(viewer), col(Work.id).in_(staying))
    return list(session.exec(found.order_by(col(Work.number))))


def works_numbered(session: Session, viewer: Viewer, numbers: Collection[str]) -> list[Work]:
    """Return the works that bear these numbers, by number; what is not there is left out."""
    found = select(Work).where(visible_works(viewer), col(Work.number).in_(numbers))
    return list(session.exec(found.order_by(col(Work.number))))


def works_with_keys(session: Session, viewer: Viewer, work_ids: Collection[int]) -> list[Work]:
    """Return these works, by number; what is not there, or not this person's, is left out."""
    found = select(Work).where(visible_works(viewer), col(Work.id).in_(work_ids))
    return list(session.exec(found.order_by(col(Work.number))))


def codes_of(session: Session, work_ids: Collection[int]) -> dict[int, str]:
    """Return the code of each of these works, which stays the same for good."""
    found = select(Work.id, Work.code).where(col(Work.id).in_(work_ids))
    return {work_id: code for work_id, code in session.exec(found) if work_id is not None}


class TechniqueNamed(NamedTuple):
    """A technique, to be found by a word of its name."""

    id: int
    name: str


def technique_names(session: Session) -> list[TechniqueNamed]:
    """Return key and name of all techniques, by name: as plain columns, for every search."""
    session.flush()
    return [TechniqueNamed._make(row) for row in session.connection().execute(_TECHNIQUE_NAMES)]


_TECHNIQUE_NAMES = columns(col(Technique.id), col(Technique.name)).order_by(col(Technique.name))


def techniques(session: Session) -> list[Technique]:
    """Return all techniques, by name."""
    return list(session.exec(select(Technique).order_by(col(Technique.name))))


def _is_where_it_is() -> ColumnElement[bool]:
    return and_(col(Stay.work_id) == Work.id, _IS_CURRENT_STAY)


def _listing() -> Select[Work, str, str, int]:
    listing = select(Work, Owner.name, Technique.name, Stay.place_id)
    listing = listing.outerjoin(Owner, col(Owner.id) == Work.owner_id)
    listing = listing.outerjoin(Technique, col(Technique.id) == Work.technique_id)
    return listing.outerjoin(Stay, _is_where_it_is())


def _conditions(session: Session, wanted: Wanted) -> list[ColumnElement[bool]] | None:
    conditions = rarest_first(session, wanted.beginnings, wanted.techniques)
    if conditions is None:
        return None
    if wanted.owner_id is not None:
        conditions.append(col(Work.owner_id) == wanted.owner_id)
    if wanted.place_ids is not None:
        conditions.append(col(Stay.place_id).in_(wanted.place_ids))
    return conditions


def _order_of_stay(stay: Stay) -> tuple[bool, bool, int, int]:
    # The current stay is the last. A stay of unknown beginning comes first: a later move,
    # had anybody recorded one, would have a day.
    known = stay.since_first is not None
    return (not stay.ended, known, stay.since_first or 0, stay.id or 0)
