"""Where on a photograph and on the sheet does a finding lie, and where is the sheet on it?

Places on a picture are whole parts per million of the upright picture, from its left
and its top. An outline that was drawn where the corners of the sheet were known is kept
in whole micrometres of the sheet, as seen from the recto; one that was drawn before that
is kept as drawn, and read through the corners as soon as they are known: nothing is
converted twice, and a corner put right moves it to its true place. A band keeps here only
the part of the edge; edge and reach stand with the finding and its sighting. The edge of a
mat's window is kept in the same way as an outline.
"""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import CheckConstraint, Index, Select, bindparam, or_
from sqlalchemy import select as columns
from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from models.errors import NotFound
from models.tables.base import (
    Record,
    flag,
    key,
    link,
    number,
    size_um,
    strict,
    text,
    version,
    whole,
    word,
)
from models.tables.findings import Finding, Sighting
from models.tables.mounts import Layer, Mount
from models.tables.people import Person
from models.tables.photographs import Photograph, newest_first
from models.tables.visible import (
    Viewer,
    sees_all_works,
    visible_by_parameter,
    visible_works,
)
from models.tables.works import Work
from models.vocabulary import LayerRole, OutlineShape

MILLION = 1_000_000
# As far outside the picture as models/rules/sheet_corners.py takes a corner.
LOWEST_PPM, HIGHEST_PPM = -MILLION, 2 * MILLION
# 400 points of two figures with their brackets.
LONGEST_POINTS = 12_000
LONGEST_FOUR_POINTS = 200

# Parts per million from the left and from the top.
Ppm = tuple[int, int]


def _ppm(name: str) -> int:
    column: int = whole(name, LOWEST_PPM, HIGHEST_PPM, nullable=False)
    return column


class PhotographCorners(Record, table=True):
    """The four corners of the sheet on a photograph, clockwise as they are seen there."""

    __tablename__ = "photograph_corners"
    __table_args__ = strict(
        Index("uq_photograph_corners_photograph_id", "photograph_id", unique=True)
    )

    id: int | None = key()
    photograph_id: int = link("photograph.id", index=False)
    upper_left_x_ppm: int = _ppm("upper_left_x_ppm")
    upper_left_y_ppm: int = _ppm("upper_left_y_ppm")
    upper_right_x_ppm: int = _ppm("upper_right_x_ppm")
    upper_right_y_ppm: int = _ppm("upper_right_y_ppm")
    lower_right_x_ppm: int = _ppm("lower_right_x_ppm")
    lower_right_y_ppm: int = _ppm("lower_right_y_ppm")
    lower_left_x_ppm: int = _ppm("lower_left_x_ppm")
    lower_left_y_ppm: int = _ppm("lower_left_y_ppm")
    version: int = version()


class WindowEdge(Record, table=True):
    """The opening of the mat as a photograph shows it, or the burn line that it has left.

    `points`: JSON of four pairs, clockwise from the upper left as they are seen there, µm of
    the sheet or ppm; of none where it was taken back.
    """

    __tablename__ = "window_edge"
    __table_args__ = strict(Index("uq_window_edge_photograph_id", "photograph_id", unique=True))

    id: int | None = key()
    photograph_id: int = link("photograph.id", index=False)
    on_sheet: bool = flag()
    points: str = text("points", longest=LONGEST_FOUR_POINTS)
    version: int = version()


class FindingOutline(Record, table=True):
    """What a sighting was seen to cover. `points`: JSON of pairs, µm of the sheet or ppm."""

    __tablename__ = "finding_outline"
    __table_args__ = strict(
        Index("uq_finding_outline_sighting_id", "sighting_id", unique=True),
        CheckConstraint("(from_um IS NULL) = (to_um IS NULL)", name="part_whole"),
    )

    id: int | None = key()
    sighting_id: int = link("sighting.id", index=False)
    photograph_id: int | None = link("photograph.id", nullable=True)
    shape: OutlineShape = word("shape", OutlineShape)
    on_sheet: bool = flag()
    points: str = text("points", longest=LONGEST_POINTS)
    from_um: int | None = size_um("from_um", lowest=0)
    to_um: int | None = size_um("to_um", lowest=0)
    version: int = version()


class PhotographContrast(Record, table=True):
    """A stain against clean paper beside it, as a photograph shows them: indicative only.

    CIE L*a*b* under D50, read from the picture that was made for the screen. It stands apart
    from the readings of instruments, and no rule reads it.
    """

    __tablename__ = "photograph_contrast"
    __table_args__ = strict(Index("uq_photograph_contrast_sighting_id", "sighting_id", unique=True))

    id: int | None = key()
    sighting_id: int = link("sighting.id", index=False)
    photograph_id: int = link("photograph.id")
    stain_x_ppm: int = _ppm("stain_x_ppm")
    stain_y_ppm: int = _ppm("stain_y_ppm")
    clean_x_ppm: int = _ppm("clean_x_ppm")
    clean_y_ppm: int = _ppm("clean_y_ppm")
    stain_l: float = number("stain_l", 0, 100, nullable=False)
    stain_a: float = number("stain_a", -200, 200, nullable=False)
    stain_b: float = number("stain_b", -200, 200, nullable=False)
    clean_l: float = number("clean_l", 0, 100, nullable=False)
    clean_a: float = number("clean_a", -200, 200, nullable=False)
    clean_b: float = number("clean_b", -200, 200, nullable=False)
    version: int = version()

    @property
    def labs(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Return L*, a* and b* of the stain, and those of clean paper."""
        stain = (self.stain_l, self.stain_a, self.stain_b)
        return stain, (self.clean_l, self.clean_a, self.clean_b)


class SightedWhere(NamedTuple):
    """A sighting, the work it belongs to and the finding."""

    sighting: Sighting
    finding: Finding


def corner_points(row: PhotographCorners) -> tuple[Ppm, Ppm, Ppm, Ppm]:
    """Return the corners clockwise from the upper left."""
    return (
        (row.upper_left_x_ppm, row.upper_left_y_ppm),
        (row.upper_right_x_ppm, row.upper_right_y_ppm),
        (row.lower_right_x_ppm, row.lower_right_y_ppm),
        (row.lower_left_x_ppm, row.lower_left_y_ppm),
    )


def corner_values(corners: Sequence[Ppm]) -> dict[str, int]:
    """Return the columns of four corners, clockwise from the upper left."""
    names = ("upper_left", "upper_right", "lower_right", "lower_left")
    return {
        f"{name}_{axis}_ppm": ppm
        for name, corner in zip(names, corners, strict=True)
        for axis, ppm in zip("xy", corner, strict=True)
    }


def packed_points(points: Sequence[tuple[int, int]]) -> str:
    """Return points as they are kept."""
    return json.dumps([list(point) for point in points], separators=(",", ":"))


def kept_points(outline: FindingOutline | WindowEdge) -> tuple[tuple[int, int], ...]:
    """Return the points of an outline or a window in the unit they were kept in."""
    return tuple((left, top) for left, top in json.loads(outline.points))


class PhotographLaid(NamedTuple):
    """A photograph that was taken at a visit, with what somebody said of where it lies."""

    photograph: Photograph
    corners: PhotographCorners | None
    window: WindowEdge | None


def photographs_laid(session: Session, viewer: Viewer, work_id: int) -> list[PhotographLaid]:
    """Return the photographs of a work that were taken at its visits, the newest first."""
    found = _photographs_laid(all_works=sees_all_works(viewer))
    rows = session.execute(found, params=_given(viewer, work_id))
    return [PhotographLaid(*row) for row in rows]


@cache
def _photographs_laid(*, all_works: bool) -> Select[*tuple[Any, ...]]:
    found = columns(Photograph, PhotographCorners, WindowEdge).select_from(Photograph).join(Work)
    for table in (PhotographCorners, WindowEdge):
        found = found.outerjoin(table, col(table.photograph_id) == col(Photograph.id))
    found = found.where(
        visible_by_parameter(all_works=all_works),
        col(Photograph.work_id) == bindparam("work_id"),
        col(Photograph.visit_id).is_not(None),
        col(Photograph.withdrawn_reason).is_(None),
    )
    return found.order_by(col(Photograph.id).desc())


class PhotographPlaced(NamedTuple):
    """A photograph, who took it, and what somebody said of where the sheet and a window lie."""

    photograph: Photograph
    taken_by: str | None
    corners: PhotographCorners | None
    window: WindowEdge | None


def photographs_placed(session: Session, viewer: Viewer, work_id: int) -> list[PhotographPlaced]:
    """Return every photograph of a work, the newest first."""
    found = _photographs_placed(all_works=sees_all_works(viewer))
    rows = session.execute(found, params=_given(viewer, work_id))
    return [PhotographPlaced(*row) for row in rows]


@cache
def _photographs_placed(*, all_works: bool) -> Select[*tuple[Any, ...]]:
    found = columns(Photograph, col(Person.name), PhotographCorners, WindowEdge)
    found = found.select_from(Photograph).join(Work, col(Work.id) == Photograph.work_id)
    found = found.outerjoin(Person, col(Person.id) == Photograph.person_id)
    for table in (PhotographCorners, WindowEdge):
        found = found.outerjoin(table, col(table.photograph_id) == col(Photograph.id))
    found = found.where(visible_by_parameter(all_works=all_works))
    found = found.where(
        col(Photograph.work_id) == bindparam("work_id"), col(Photograph.withdrawn_reason).is_(None)
    )
    return found.order_by(*newest_first())


class OnPictures(NamedTuple):
    """What the sightings of a work cover, and what was read of them from photographs."""

    outlines: Mapping[int, FindingOutline]
    contrasts: Mapping[int, PhotographContrast]


def on_pictures_of_work(session: Session, viewer: Viewer, work_id: int) -> OnPictures:
    """Return outlines and readings of a work, both by sighting, in one statement."""
    found = _sightings_drawn(all_works=sees_all_works(viewer))
    drawn = session.execute(found, params=_given(viewer, work_id)).all()
    return OnPictures(
        {outline.sighting_id: outline for outline, _ in drawn if outline is not None},
        {contrast.sighting_id: contrast for _, contrast in drawn if contrast is not None},
    )


@cache
def _sightings_drawn(*, all_works: bool) -> Select[*tuple[Any, ...]]:
    found = columns(FindingOutline, PhotographContrast).select_from(Sighting)
    found = found.join(Finding).join(Work, col(Work.id) == Finding.work_id)
    for table in (FindingOutline, PhotographContrast):
        found = found.outerjoin(table, col(table.sighting_id) == col(Sighting.id))
    found = found.where(
        visible_by_parameter(all_works=all_works), col(Finding.work_id) == bindparam("work_id")
    )
    return found.where(
        or_(col(FindingOutline.id).is_not(None), col(PhotographContrast.id).is_not(None))
    )


def mat_windows_of_work(session: Session, viewer: Viewer, work_id: int) -> list[str | None]:
    """Return what is told of the windows of the mats that a work lies behind now, front to back."""
    found = _mat_windows_of_work(all_works=sees_all_works(viewer))
    return list(session.connection().execute(found, _given(viewer, work_id)).scalars())


@cache
def _mat_windows_of_work(*, all_works: bool) -> Select[*tuple[Any, ...]]:
    found = columns(col(Layer.windows)).join(Mount, col(Mount.package_id) == col(Layer.package_id))
    found = found.join(Work, col(Work.id) == col(Mount.work_id)).where(
        visible_by_parameter(all_works=all_works),
        col(Mount.work_id) == bindparam("work_id"),
        col(Layer.role).in_([LayerRole.WINDOW_MAT, LayerRole.OVERMAT]),
    )
    for table in (Mount, Layer):
        found = found.where(~col(table.ended), col(table.withdrawn_reason).is_(None))
    return found.order_by(col(Layer.position))


def outlines_of_work(session: Session, viewer: Viewer, work_id: int) -> dict[int, FindingOutline]:
    """Return what the sightings of a work were drawn to cover, by sighting."""
    found = _outlines_of_work(all_works=sees_all_works(viewer))
    rows = session.exec(found, params=_given(viewer, work_id))
    return {row.sighting_id: row for row in rows}


@cache
def _outlines_of_work(*, all_works: bool) -> SelectOfScalar[FindingOutline]:
    """Return the statement, built once: every visit that is answered sends it."""
    found = select(FindingOutline).join(Sighting).join(Finding).join(Work)
    return found.where(
        visible_by_parameter(all_works=all_works), Finding.work_id == bindparam("work_id")
    )


def _given(viewer: Viewer, work_id: int) -> dict[str, int | None]:
    return {"work_id": work_id, "viewer_owner_id": viewer.owner_id}


def get_sighting(session: Session, viewer: Viewer, sighting_id: int) -> SightedWhere:
    """Return a sighting with its finding. Raises NotFound when it is withdrawn or not visible."""
    found = columns(Sighting, Finding).join(Finding).join(Work)
    found = found.where(visible_works(viewer), col(Sighting.id) == sighting_id)
    for table in (Sighting, Finding):
        found = found.where(col(table.withdrawn_reason).is_(None))
    row = session.execute(found).first()
    if row is None:
        raise NotFound("sighting", sighting_id)
    return SightedWhere(*row)
