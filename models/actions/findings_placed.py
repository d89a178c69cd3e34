"""Where on the sheet was each finding seen to be, at one visit after the other?

What was drawn at a visit counts. Where nothing was drawn, the band that was told or
the region of the finding stands for it. A visit that says nothing of the place saw it
where it was before, so the last of its places is where the finding is now; the places
before that one show how it grew. A band that follows the edge of a window is drawn alongside
the one that was photographed at the same visit, else alongside the first that was.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.finding_outlines import sheet_of, sheet_seen
from models.actions.window_edges import windows_on_sheet
from models.actions.work_records import WorkRecords
from models.rules.finding_outline import Band, Sheet, band_outlines, extent_percent, reach_mm
from models.rules.mat_windows import HAS_WINDOWS, only_window_mm
from models.rules.sheet_corners import Point, SheetOnPhotograph
from models.rules.window_edge import band_along_window
from models.tables.case_rows import SightingRow, WorkRow, sighting_rows
from models.tables.outlines import (
    MILLION,
    FindingOutline,
    PhotographContrast,
    PhotographCorners,
    WindowEdge,
    kept_points,
    mat_windows_of_work,
    on_pictures_of_work,
    photographs_placed,
)
from models.tables.photographs import ListedPhotograph, Photograph
from models.tables.register import get_work
from models.tables.visible import Viewer
from models.tables.works import Work
from models.vocabulary import GONE, MICROMETRES_PER_MM, Change, Edge, OutlineShape, Side


@dataclass(frozen=True)
class Place:
    """Where a finding was seen to be at a visit.

    `outlines` are mm of the sheet, or fractions of the photograph `only_on` where the
    corners of the sheet are not known. `extent_percent` is measured, never typed.
    """

    sighting_id: int
    on_edtf: str
    shape: OutlineShape
    outlines: tuple[tuple[Point, ...], ...]
    only_on: int | None = None
    is_drawn: bool = False
    extent_percent: float | None = None
    reach_mm: float | None = None
    is_along_window: bool = False


@dataclass(frozen=True)
class FindingPlaced:
    """A finding, its last sighting, and its places, oldest first; equal ones are one."""

    finding_id: int
    no: int
    term: str
    side: Side
    edge: Edge | None
    follows_window_edge: bool
    last: SightingRow
    places: tuple[Place, ...]

    @property
    def is_gone(self) -> bool:
        """Whether it was treated or is no longer visible."""
        return self.last.change in GONE


@dataclass(frozen=True)
class WorkPlaced:
    """All that is needed to draw the findings of a work on any of its photographs.

    `windows_mm`: where on the sheet the windows are of which that is known, by photograph;
    `mat_mm`: height and width of the one window of the mat now, where they are told.
    """

    work: Work | WorkRow
    sheet: Sheet | None
    findings: tuple[FindingPlaced, ...]
    photographs: tuple[ListedPhotograph, ...]
    corners: Mapping[int, PhotographCorners]
    windows: Mapping[int, WindowEdge]
    windows_mm: Mapping[int, tuple[Point, ...]]
    mat_mm: tuple[float, float] | None
    outlines: Mapping[int, FindingOutline]
    contrasts: Mapping[int, PhotographContrast]


@dataclass(frozen=True)
class Windows:
    """The windows of a work in mm of its sheet, and at which visits they were photographed.

    Both by photograph, the oldest first.
    """

    visits: Mapping[int, int | None]
    places: Mapping[int, tuple[Point, ...]]

    def at(self, visit_id: int) -> tuple[Point, ...]:
        """Return the window as it lay at a visit, else the first; nothing where none is known."""
        those = [number for number, visit in self.visits.items() if visit == visit_id]
        number = next(iter(those or self.places), None)
        return () if number is None else self.places[number]


def findings_placed(session: Session, viewer: Viewer, work_id: int) -> WorkPlaced:
    """Return where the findings of a work are. Raises NotFound."""
    work = get_work(session, viewer, work_id)
    session.flush()
    rows = sighting_rows(session, viewer, [work_id])
    mat_mm = only_window_mm(mat_windows_of_work(session, viewer, work_id))
    return _placed(session, viewer, work, work_id, rows, mat_mm)


def findings_placed_of(session: Session, viewer: Viewer, records: WorkRecords) -> WorkPlaced:
    """Return where the findings of these records are: of what was on record then, where they were.

    `mat_mm` is that of the mat in which the work was by these records.
    """
    work, rows = records.work, records.sightings
    return _placed(session, viewer, work, work.id, rows, mat_window_mm(records))


def mat_window_mm(records: WorkRecords) -> tuple[float, float] | None:
    """Return height and width of the one window of the mat that a work is in."""
    mount = records.current_mount
    if mount is None:
        return None
    mats = [one for one in records.layers[mount.package_id] if one.role in HAS_WINDOWS]
    return only_window_mm([one.windows for one in mats if not one.ended])


def _placed(
    session: Session,
    viewer: Viewer,
    work: Work | WorkRow,
    work_id: int,
    rows: Iterable[SightingRow],
    mat_mm: tuple[float, float] | None,
) -> WorkPlaced:
    sheet = sheet_of(work)
    listed = {one.photograph.id or 0: one for one in photographs_placed(session, viewer, work_id)}
    taken = {number: one.photograph for number, one in listed.items()}
    corners = {number: one.corners for number, one in listed.items() if one.corners is not None}
    # The oldest photograph first: its window stands for those of visits without one.
    windows = {
        number: one.window for number, one in sorted(listed.items()) if one.window is not None
    }
    windows_mm = windows_on_sheet(taken, corners, windows, sheet)
    outlines, contrasts = on_pictures_of_work(session, viewer, work_id)
    by_finding: dict[int, list[SightingRow]] = {}
    for row in rows:
        by_finding.setdefault(row.finding_id, []).append(row)
    by_visit = Windows({n: taken[n].visit_id for n in windows_mm}, windows_mm)
    reader = _Reader(sheet, outlines, by_visit, corners, taken)
    found = [reader.finding(its) for its in by_finding.values()]
    return WorkPlaced(
        work=work,
        sheet=sheet,
        findings=tuple(sorted(found, key=lambda finding: finding.no)),
        photographs=tuple(
            ListedPhotograph(one.photograph, one.taken_by) for one in listed.values()
        ),
        corners=corners,
        windows=windows,
        windows_mm=windows_mm,
        mat_mm=mat_mm,
        outlines=outlines,
        contrasts=contrasts,
    )


def findings_as_seen(
    rows: Iterable[SightingRow],
    sheet: Sheet | None,
    outlines: Mapping[int, FindingOutline],
    windows: Windows,
) -> tuple[FindingPlaced, ...]:
    """Return where findings are by these sightings alone, in their order.

    What was drawn on a photograph before its corners were said stays on that photograph.
    """
    by_finding: dict[int, list[SightingRow]] = {}
    for row in rows:
        by_finding.setdefault(row.finding_id, []).append(row)
    reader = _Reader(sheet, outlines, windows, {}, {})
    return tuple(reader.finding(those) for those in by_finding.values())


@dataclass(frozen=True)
class _Reader:
    """Reads the rows of one work as places on its sheet."""

    sheet: Sheet | None
    outlines: Mapping[int, FindingOutline]
    windows: Windows
    corners: Mapping[int, PhotographCorners]
    photographs: Mapping[int, Photograph]

    def finding(self, rows: list[SightingRow]) -> FindingPlaced:
        # What nobody saw this time is as it was.
        last = ([row for row in rows if row.change is not Change.NOT_SEEN] or rows)[-1]
        return FindingPlaced(
            finding_id=last.finding_id,
            no=last.finding_no,
            term=last.term,
            side=last.side,
            edge=last.edge,
            follows_window_edge=last.follows_window_edge,
            last=last,
            places=self._places(rows),
        )

    def _places(self, rows: Iterable[SightingRow]) -> tuple[Place, ...]:
        found: list[Place] = []
        for row in rows:
            place = self._place(row, is_first=not found)
            if place is not None and not (found and _is_same(found[-1], place)):
                found.append(place)
        return tuple(found)

    def _place(self, row: SightingRow, *, is_first: bool) -> Place | None:
        outline = self.outlines.get(row.id)
        if outline is not None and outline.shape is not OutlineShape.BAND:
            return self._drawn(row, outline)
        reach_um = row.reach_um
        if reach_um is None and is_first:
            reach_um = row.first_reach_um
        if row.edge is not None and reach_um is not None and row.change not in GONE:
            return self._band(row, reach_um, outline)
        return self._region(row) if is_first else None

    def _drawn(self, row: SightingRow, outline: FindingOutline) -> Place:
        unit = MICROMETRES_PER_MM if outline.on_sheet else MILLION
        points = tuple((left / unit, top / unit) for left, top in kept_points(outline))
        on_sheet = outline.on_sheet
        if not on_sheet:
            seen = self._seen(outline.photograph_id)
            if seen is not None:
                points, on_sheet = tuple(map(seen.on_sheet, points)), True
        measured: tuple[float | None, float | None] = (None, None)
        if on_sheet and self.sheet is not None:
            measured = _measured(outline.shape, points, row.edge, self.sheet)
        return Place(
            sighting_id=row.id,
            on_edtf=row.on_edtf,
            shape=outline.shape,
            outlines=(points,),
            only_on=None if on_sheet else outline.photograph_id,
            is_drawn=True,
            extent_percent=measured[0],
            reach_mm=measured[1],
        )

    def _seen(self, photograph_id: int | None) -> SheetOnPhotograph | None:
        photograph = self.photographs.get(photograph_id or 0)
        if photograph is None:
            return None
        return sheet_seen(photograph, self.corners.get(photograph_id or 0), self.sheet)

    def _band(
        self, row: SightingRow, reach_um: int, outline: FindingOutline | None
    ) -> Place | None:
        if self.sheet is None or row.edge is None:
            return None
        part = (None, None) if outline is None else (outline.from_um, outline.to_um)
        start, end = (None if um is None else um / MICROMETRES_PER_MM for um in part)
        band = Band(row.edge, reach_um / MICROMETRES_PER_MM, start, end)
        window = self.windows.at(row.visit_id) if row.follows_window_edge else ()
        if window:
            outlines = band_along_window(band, self.sheet, window)
        else:
            outlines = band_outlines(band, self.sheet)
        return Place(
            sighting_id=row.id,
            on_edtf=row.on_edtf,
            shape=OutlineShape.BAND,
            outlines=outlines,
            is_drawn=outline is not None,
            extent_percent=extent_percent(outlines, self.sheet),
            reach_mm=band.reach_mm,
            is_along_window=bool(window),
        )

    def _region(self, row: SightingRow) -> Place | None:
        given = (
            row.region_left_um,
            row.region_top_um,
            row.region_width_um,
            row.region_height_um,
        )
        left, top, width, height = ((um or 0) / MICROMETRES_PER_MM for um in given)
        if not width or not height:
            return None
        right, bottom = left + width, top + height
        outline = ((left, top), (right, top), (right, bottom), (left, bottom))
        return Place(
            sighting_id=row.id,
            on_edtf=row.on_edtf,
            shape=OutlineShape.OUTLINE,
            outlines=(outline,),
            extent_percent=None if self.sheet is None else extent_percent([outline], self.sheet),
        )


def _measured(
    shape: OutlineShape, points: tuple[Point, ...], edge: Edge | None, sheet: Sheet
) -> tuple[float | None, float | None]:
    extent = extent_percent([points], sheet) if shape is OutlineShape.OUTLINE else None
    return extent, None if edge is None else reach_mm(points, edge, sheet)


def _is_same(one: Place, other: Place) -> bool:
    return (one.outlines, one.only_on) == (other.outlines, other.only_on)
