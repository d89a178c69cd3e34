"""How is it kept where a finding lies, and where the sheet is on a photograph?

What is drawn on a photograph whose corners are known is kept in places of the sheet,
so that it lies in the same place on every other photograph of that side. Where nobody
said how large the sheet is, or where its corners are, it is kept as drawn. Whoever
draws a finding measures it: its extent is that of the outline unless it was typed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, select

from models.actions.record_changes import key_of, refuse_stale, write
from models.errors import BadValue, NotFound, OutsideKnownRange
from models.rules.finding_outline import (
    Band,
    Sheet,
    band_outlines,
    checked_points,
    edge_length_mm,
    extent_percent,
    refuse_off_the_sheet,
)
from models.rules.permissions import Deed, require
from models.rules.record_values import LARGEST_MM
from models.rules.sheet_corners import (
    HIGHEST_FRACTION,
    LOWEST_FRACTION,
    Point,
    SheetOnPhotograph,
    checked_corners,
    sheet_on_photograph,
)
from models.rules.visit_as_told import OutlineTold
from models.tables.case_rows import WorkRow
from models.tables.findings import Finding, Sighting
from models.tables.outlines import (
    MILLION,
    FindingOutline,
    PhotographCorners,
    corner_points,
    corner_values,
    get_sighting,
    packed_points,
)
from models.tables.photographs import Photograph, get_photograph
from models.tables.register import get_work_to_change
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import (
    MICROMETRES_PER_MM,
    Edge,
    OutlineShape,
    PhotographStage,
    PhotographView,
    Side,
)

# An extent is not known better than to a hundredth of a percent.
EXTENT_DIGITS = 2


def record_corners(
    session: Session,
    viewer: Viewer,
    photograph_id: int,
    corners: Sequence[Point],
    *,
    based_on: int = 0,
) -> PhotographCorners:
    """Say where the corners of the sheet are on a photograph, in fractions of the picture.

    `based_on` is the version of the corners that were known before, 0 for none.
    Raises NotFound, NotAllowed, Stale, BadValue.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    photograph = get_photograph(session, viewer, photograph_id, to_change=True)
    values = corner_values([as_ppm(corner) for corner in checked_corners(corners)])
    row = known_corners(session, photograph_id)
    if row is None:
        row = PhotographCorners(photograph_id=key_of(photograph), **values)
        session.add(row)
    else:
        refuse_stale(row, based_on, theirs=fractions(row))
        write(row, values)
    session.flush()
    return row


def known_corners(session: Session, photograph_id: int) -> PhotographCorners | None:
    """Return the corners of one photograph, None where nobody said."""
    found = select(PhotographCorners).where(PhotographCorners.photograph_id == photograph_id)
    return session.exec(found).first()


def fractions(row: PhotographCorners) -> tuple[Point, ...]:
    """Return corners as fractions of the picture."""
    return tuple((x / MILLION, y / MILLION) for x, y in corner_points(row))


def side_seen(photograph: Photograph) -> Side:
    """Return which side of the sheet a photograph shows."""
    is_back = photograph.view is PhotographView.VERSO or photograph.stage is PhotographStage.VERSO
    return Side.VERSO if is_back else Side.RECTO


def sheet_of(work: Work | WorkRow) -> Sheet | None:
    """Return the size of a sheet in mm, None where nobody measured it."""
    if work.width_um is None or work.height_um is None:
        return None
    return Sheet(work.width_um / MICROMETRES_PER_MM, work.height_um / MICROMETRES_PER_MM)


def sheet_seen(
    photograph: Photograph, corners: PhotographCorners | None, sheet: Sheet | None
) -> SheetOnPhotograph | None:
    """Return how a photograph and the sheet belong together, None where that is not known."""
    if corners is None or sheet is None:
        return None
    return sheet_on_photograph(
        fractions(corners),
        width_mm=sheet.width_mm,
        height_mm=sheet.height_mm,
        side=side_seen(photograph),
    )


@dataclass(frozen=True)
class Sighted:
    """A sighting that is being drawn, with the finding and the work it belongs to."""

    work: Work
    finding: Finding
    sighting: Sighting


def place_finding(
    session: Session,
    viewer: Viewer,
    sighting_id: int,
    told: OutlineTold,
    *,
    based_on: int = 0,
) -> FindingOutline:
    """Say what a sighting that is on record covered, and return it as it is kept.

    `based_on` is the version of the outline it had before, 0 for none.
    Raises NotFound, NotAllowed, Stale, BadValue.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    sighting, finding = get_sighting(session, viewer, sighting_id)
    work = get_work_to_change(session, viewer, finding.work_id)
    kept = _kept_outline(session, sighting_id)
    if kept is not None:
        refuse_stale(kept, based_on, theirs={"shape": kept.shape, "version": kept.version})
    new = outline_of(session, viewer, Sighted(work, finding, sighting), told)
    if kept is None:
        session.add(new)
        session.flush()
        return new
    write(kept, {name: getattr(new, name) for name in _DRAWN})
    session.flush()
    return kept


def _kept_outline(session: Session, sighting_id: int) -> FindingOutline | None:
    found = select(FindingOutline).where(FindingOutline.sighting_id == sighting_id)
    return session.exec(found).first()


# What of an outline changes when it is drawn anew.
_DRAWN = ("photograph_id", "shape", "on_sheet", "points", "from_um", "to_um")


def outline_of(
    session: Session, viewer: Viewer, sighted: Sighted, told: OutlineTold
) -> FindingOutline:
    """Return the outline as it will be kept, and measure the sighting by it.

    The sighting has its number. Raises BadValue for what cannot be drawn so.
    """
    outline = FindingOutline(
        sighting_id=key_of(sighted.sighting),
        photograph_id=told.photograph,
        shape=told.shape,
        on_sheet=True,
        points=packed_points(()),
    )
    points = checked_points(told.shape, told.points)
    photograph = _its_photograph(session, viewer, sighted, told)
    sheet = sheet_of(sighted.work)
    if told.shape is OutlineShape.BAND:
        _draw_band(outline, sighted, told, sheet)
        return outline
    if told.on_photograph and photograph is not None:
        seen = sheet_seen(photograph, known_corners(session, key_of(photograph)), sheet)
        if seen is None:
            outline.on_sheet = False
            outline.points = packed_points([as_ppm(point) for point in points])
            return outline
        points = tuple(_on_sheet(seen, point) for point in points)
    _draw(outline, sighted, points, sheet)
    return outline


def _its_photograph(
    session: Session, viewer: Viewer, sighted: Sighted, told: OutlineTold
) -> Photograph | None:
    if told.photograph is None:
        if told.on_photograph:
            raise BadValue.at("/photograph", "On which photograph was this drawn?", "its number")
        return None
    try:
        photograph = get_photograph(session, viewer, told.photograph)
    except NotFound as error:
        raise BadValue.at("/photograph", error.message, "a photograph of this work") from None
    if photograph.work_id != sighted.work.id:
        message = f"Photograph {told.photograph} shows another work."
        raise BadValue.at("/photograph", message, "a photograph of this work")
    if side_seen(photograph) is not sighted.finding.side:
        message = (
            f"This photograph shows the {side_seen(photograph)}, and the finding is not there."
        )
        raise BadValue.at("/photograph", message, f"one of the {sighted.finding.side}")
    return photograph


def _draw(
    outline: FindingOutline, sighted: Sighted, points: Sequence[Point], sheet: Sheet | None
) -> None:
    outline.points = packed_points([as_um(point) for point in points])
    if sheet is None:
        return
    refuse_off_the_sheet(points, sheet)
    if outline.shape is OutlineShape.OUTLINE:
        _measure(sighted.sighting, extent_percent([points], sheet))


def _draw_band(
    outline: FindingOutline, sighted: Sighted, told: OutlineTold, sheet: Sheet | None
) -> None:
    edge, reach_um = sighted.finding.edge, sighted.sighting.reach_um
    if edge is None or reach_um is None:
        message = "A band goes along an edge, so many mm in; this finding has none."
        raise BadValue.at("/shape", message, "Tell its edge and mm, or draw its outline.")
    outline.from_um, outline.to_um = _part_of_edge(edge, told, sheet)
    if sheet is not None:
        band = Band(edge, reach_um / MICROMETRES_PER_MM, told.from_mm, told.to_mm)
        _measure(sighted.sighting, extent_percent(band_outlines(band, sheet), sheet))


def _part_of_edge(
    edge: Edge, told: OutlineTold, sheet: Sheet | None
) -> tuple[int, int] | tuple[None, None]:
    start, end = told.from_mm, told.to_mm
    if start is None and end is None:
        return None, None
    if start is None or end is None or edge is Edge.ALL:
        message = "A part of an edge is told by where it begins and where it ends."
        raise BadValue.at("/from_mm", message, "both on one edge, or neither for all of it")
    longest = LARGEST_MM if sheet is None else edge_length_mm(edge, sheet)
    if not 0 <= start < end <= longest:
        message = f"A band from {start:g} to {end:g} mm is no part of this edge."
        raise BadValue.at("/from_mm", message, f"from 0 to {longest:g} mm, the lower first")
    return round(start * MICROMETRES_PER_MM), round(end * MICROMETRES_PER_MM)


def _measure(sighting: Sighting, percent: float) -> None:
    """What was typed or carried forward stays; what nobody told is measured."""
    if sighting.extent_percent is None:
        sighting.extent_percent = round(percent, EXTENT_DIGITS)


def _on_sheet(seen: SheetOnPhotograph, point: Point) -> Point:
    try:
        return seen.on_sheet(point)
    except OutsideKnownRange as error:
        raise BadValue.at("/points", error.message, "on the sheet") from None


def as_um(point: Point) -> tuple[int, int]:
    """Return a place of the sheet (mm) in µm. Raises BadValue for one that is on no sheet."""
    left, top = (_whole(mm * MICROMETRES_PER_MM) for mm in point)
    return left, top


def as_ppm(point: Point) -> tuple[int, int]:
    """Return a fraction of the picture in ppm. Raises BadValue for one far outside."""
    if not all(LOWEST_FRACTION <= fraction <= HIGHEST_FRACTION for fraction in point):
        raise BadValue.at("/points", "This place is far outside the picture.", "from 0 to 1")
    left, top = (round(fraction * MILLION) for fraction in point)
    return left, top


def _whole(um: float) -> int:
    # Written so that a missing number (NaN) is refused too.
    if not abs(um) <= LARGEST_MM * MICROMETRES_PER_MM:
        raise BadValue.at("/points", "This place is not on any sheet.", f"up to {LARGEST_MM} mm")
    return round(um)
