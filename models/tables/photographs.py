"""Which photographs are there of a work, of which side, and which is to stand for it?

The picture itself is kept under the digest of its bytes, beside the database; a row says
what it shows. One that was taken within an unfinished bench visit carries the key of its
draft, and its visit as soon as there is one. Width and height are those of the upright picture.
"""

from collections.abc import Collection
from functools import cache
from typing import NamedTuple

from sqlalchemy import ColumnElement, Index, func
from sqlalchemy import select as columns
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from models.errors import NotFound
from models.tables.base import (
    Record,
    day,
    edtf,
    key,
    link,
    note,
    strict,
    text,
    version,
    whole,
    word,
)
from models.tables.drafts import VisitDraft
from models.tables.kept_statements import WANTED
from models.tables.people import Person
from models.tables.visible import Viewer, sees_all_works, visible_once_found, visible_works
from models.tables.works import Work
from models.vocabulary import PhotographStage, PhotographView

LARGEST_BYTES = 1 << 40
LONGEST_SIDE_PX = 1_000_000
LONGEST_FILE_NAME = 300
LONGEST_KEY = 200


class Photograph(Record, table=True):
    """One photograph of a work. `upload_key`: so that one sent twice comes on record once."""

    __tablename__ = "photograph"
    __table_args__ = strict(
        Index("ix_photograph_work_id", "work_id"),
        Index("ix_photograph_draft_key", "draft_key"),
        Index("uq_photograph_upload_key", "upload_key", unique=True),
    )

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    visit_id: int | None = link("visit.id", nullable=True)
    draft_key: str | None = text("draft_key", longest=LONGEST_KEY, nullable=True)
    view: PhotographView = word("view", PhotographView)
    stage: PhotographStage | None = word("stage", PhotographStage, nullable=True)
    sha256: str = text("sha256", longest=64)
    media_type: str = text("media_type", longest=100)
    byte_count: int = whole("byte_count", 1, LARGEST_BYTES, nullable=False)
    file_name: str | None = text("file_name", longest=LONGEST_FILE_NAME, nullable=True)
    width_px: int = whole("width_px", 1, LONGEST_SIDE_PX, nullable=False)
    height_px: int = whole("height_px", 1, LONGEST_SIDE_PX, nullable=False)
    taken_on_edtf: str | None = edtf("taken_on_edtf", nullable=True)
    taken_on_first: int | None = day("taken_on_first")
    taken_on_last: int | None = day("taken_on_last")
    person_id: int | None = link("person.id", nullable=True)
    recorded_on: int | None = day("recorded_on")
    upload_key: str | None = text("upload_key", longest=LONGEST_KEY, nullable=True)
    note: str = note()
    withdrawn_reason: str | None = text("withdrawn_reason", nullable=True)
    version: int = version()


class ListedPhotograph(NamedTuple):
    """A photograph with the name of who took it."""

    photograph: Photograph
    taken_by: str | None


def get_photograph(
    session: Session,
    viewer: Viewer,
    photograph_id: int,
    *,
    to_change: bool = False,
    withdrawn: bool = False,
) -> Photograph:
    """Return one photograph, held if it is to be changed; one that was withdrawn if so asked.

    Raises NotFound when it is the other, or shows a work that is not this person's to see.
    """
    found = select(Photograph).join(Work, col(Work.id) == Photograph.work_id)
    found = found.where(visible_works(viewer), Photograph.id == photograph_id)
    found = found.where(~_stands() if withdrawn else _stands())
    if to_change:
        found = found.with_for_update(of=Photograph)
        found = found.execution_options(populate_existing=True)
    photograph = session.exec(found).first()
    if photograph is None:
        raise NotFound("photograph", photograph_id)
    return photograph


def photograph_of_upload(session: Session, viewer: Viewer, upload_key: str) -> Photograph | None:
    """Return the photograph that was made of an upload."""
    found = select(Photograph).join(Work, col(Work.id) == Photograph.work_id)
    found = found.where(visible_works(viewer), _stands(), Photograph.upload_key == upload_key)
    return session.exec(found).first()


def photographs_of_work(session: Session, viewer: Viewer, work_id: int) -> list[ListedPhotograph]:
    """Return what was photographed of a work, the newest first."""
    return _listed(session, viewer, col(Photograph.work_id) == work_id)


def photographs_off_record(session: Session, viewer: Viewer, work_id: int) -> list[Photograph]:
    """Return the photographs of a work that were withdrawn, the newest first."""
    found = select(Photograph).join(Work, col(Work.id) == Photograph.work_id)
    found = found.where(visible_works(viewer), ~_stands(), Photograph.work_id == work_id)
    return list(session.exec(found.order_by(col(Photograph.id).desc())))


def photographs_of_visit(session: Session, viewer: Viewer, visit_id: int) -> list[ListedPhotograph]:
    """Return what was photographed at a visit, the newest first."""
    return _listed(session, viewer, col(Photograph.visit_id) == visit_id)


def photographs_of_draft(
    session: Session, viewer: Viewer, draft_key: str
) -> list[ListedPhotograph]:
    """Return what was photographed within an unfinished visit, the newest first."""
    return _listed(session, viewer, col(Photograph.draft_key) == draft_key)


def photograph_listed(session: Session, viewer: Viewer, photograph_id: int) -> ListedPhotograph:
    """Return one photograph with the name of who took it. Raises NotFound."""
    found = _listed(session, viewer, col(Photograph.id) == photograph_id)
    if not found:
        raise NotFound("photograph", photograph_id)
    return found[0]


def photographs_to_join(session: Session, draft_key: str, work_id: int) -> list[Photograph]:
    """Return the photographs of a draft that have no visit yet, held."""
    found = select(Photograph).where(Photograph.draft_key == draft_key)
    found = found.where(Photograph.work_id == work_id, col(Photograph.visit_id).is_(None))
    return list(session.exec(found.order_by(col(Photograph.id)).with_for_update()))


def visit_of_draft(session: Session, draft_key: str, work_id: int) -> int | None:
    """Return the visit that a draft has become, None while it is unfinished."""
    found = select(VisitDraft.visit_id).where(VisitDraft.draft_key == draft_key)
    return session.exec(found.where(VisitDraft.work_id == work_id)).first()


def latest_rectos(
    session: Session, viewer: Viewer, work_ids: Collection[int]
) -> dict[int, Photograph]:
    """Return the newest photograph of the front of each of these works, in one statement."""
    found = _latest_rectos(all_works=sees_all_works(viewer))
    given = {WANTED.key: list(work_ids), "viewer_owner_id": viewer.owner_id}
    return {one.work_id: one for one in session.exec(found, params=given)}


@cache
def _latest_rectos(*, all_works: bool) -> SelectOfScalar[Photograph]:
    """Return the statement, built once: every list of works sends it."""
    place = func.row_number().over(partition_by=col(Photograph.work_id), order_by=newest_first())
    ranked = columns(col(Photograph.id).label("id"), place.label("place"))
    ranked = ranked.join(Work, col(Work.id) == Photograph.work_id)
    ranked = ranked.where(visible_once_found(all_works=all_works), _stands())
    ranked = ranked.where(
        col(Photograph.work_id).in_(WANTED), col(Photograph.view) == PhotographView.RECTO
    )
    first = ranked.subquery()
    found = select(Photograph).join(first, first.c.id == col(Photograph.id))
    return found.where(first.c.place == 1)


def _stands() -> ColumnElement[bool]:
    return col(Photograph.withdrawn_reason).is_(None)


def newest_first() -> tuple[ColumnElement[int], ColumnElement[int | None]]:
    """Return by what photographs are put in order, the newest first."""
    taken = func.coalesce(col(Photograph.taken_on_first), col(Photograph.recorded_on), 0)
    return taken.desc(), col(Photograph.id).desc()


def _listed(
    session: Session, viewer: Viewer, condition: ColumnElement[bool]
) -> list[ListedPhotograph]:
    found = columns(Photograph, col(Person.name))
    found = found.join(Work, col(Work.id) == Photograph.work_id)
    found = found.outerjoin(Person, col(Person.id) == Photograph.person_id)
    found = found.where(visible_works(viewer), _stands(), condition)
    return [ListedPhotograph(*row) for row in session.execute(found.order_by(*newest_first()))]
