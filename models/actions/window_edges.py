"""How is it kept where the edge of the mat's window is on a photograph?

It is marked as it is seen: through the mat of a framed work, or as the line that a window has
left on a bare sheet. Where the corners of the sheet are known it is kept in places of the sheet,
so that it lies there on other photographs too; else as it was marked, so that two photographs of
a framed work can be laid upon each other by their windows.
"""

from collections.abc import Mapping, Sequence

from sqlmodel import Session, select

from models.actions.finding_outlines import (
    as_ppm,
    as_um,
    known_corners,
    sheet_of,
    sheet_seen,
    side_seen,
)
from models.actions.record_changes import key_of, refuse_stale, write
from models.errors import BadValue, OutsideKnownRange
from models.rules.finding_outline import Sheet
from models.rules.permissions import Deed, require
from models.rules.sheet_corners import Point, SheetOnPhotograph, checked_corners
from models.tables.outlines import (
    MILLION,
    PhotographCorners,
    WindowEdge,
    kept_points,
    packed_points,
)
from models.tables.photographs import Photograph, get_photograph
from models.tables.register import get_work_to_change
from models.tables.visible import Viewer
from models.vocabulary import MICROMETRES_PER_MM, Side


def record_window_edge(
    session: Session,
    viewer: Viewer,
    photograph_id: int,
    corners: Sequence[Point],
    *,
    based_on: int = 0,
) -> WindowEdge:
    """Say where the edge of the window is on a photograph, in fractions of the picture.

    Without corners what was said before is taken back. `based_on` is the version that was
    known before, 0 for none. Raises NotFound, NotAllowed, Stale, BadValue.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    photograph = get_photograph(session, viewer, photograph_id, to_change=True)
    work = get_work_to_change(session, viewer, photograph.work_id)
    seen = sheet_seen(photograph, known_corners(session, photograph_id), sheet_of(work))
    marked = checked_corners(corners, "window") if corners else ()
    on_sheet, points = seen is not None, packed_points(_kept(seen, marked))
    row = known_window_edge(session, photograph_id)
    if row is not None:
        refuse_stale(row, based_on, theirs=window_seen(row, seen))
        write(row, {"on_sheet": on_sheet, "points": points})
    elif marked:
        row = WindowEdge(photograph_id=key_of(photograph), on_sheet=on_sheet, points=points)
        session.add(row)
    else:
        message = "The edge of the window is not marked on this photograph."
        raise BadValue.at("/corners", message, "Mark its four corners first.")
    session.flush()
    return row


def _kept(seen: SheetOnPhotograph | None, marked: Sequence[Point]) -> list[tuple[int, int]]:
    if seen is None:
        return [as_ppm(corner) for corner in marked]
    try:
        return [as_um(seen.on_sheet(corner)) for corner in marked]
    except OutsideKnownRange as error:
        raise BadValue.at("/corners", error.message, "Tap it where you see it.") from None


def known_window_edge(session: Session, photograph_id: int) -> WindowEdge | None:
    """Return what is kept of the window on one photograph, None where nobody said."""
    found = select(WindowEdge).where(WindowEdge.photograph_id == photograph_id)
    return session.exec(found).first()


def window_seen(row: WindowEdge | None, seen: SheetOnPhotograph | None) -> tuple[Point, ...]:
    """Return the window in fractions of its photograph; none where that is not known.

    `seen`: how the sheet lies on that photograph.
    """
    if row is None:
        return ()
    if not row.on_sheet:
        return tuple((x / MILLION, y / MILLION) for x, y in kept_points(row))
    if seen is None:
        return ()
    try:
        return tuple(seen.on_picture(place) for place in _in_mm(row))
    except OutsideKnownRange:
        return ()


def window_on_sheet(row: WindowEdge | None, seen: SheetOnPhotograph | None) -> tuple[Point, ...]:
    """Return the window in mm of the sheet; none where that is not known."""
    if row is None:
        return ()
    if row.on_sheet:
        return _in_mm(row)
    if seen is None:
        return ()
    try:
        return tuple(seen.on_sheet(corner) for corner in window_seen(row, seen))
    except OutsideKnownRange:
        return ()


def _in_mm(row: WindowEdge) -> tuple[Point, ...]:
    unit = MICROMETRES_PER_MM
    return tuple((left / unit, top / unit) for left, top in kept_points(row))


def windows_on_sheet(
    photographs: Mapping[int, Photograph],
    corners: Mapping[int, PhotographCorners],
    windows: Mapping[int, WindowEdge],
    sheet: Sheet | None,
) -> dict[int, tuple[Point, ...]]:
    """Return the windows whose place on the sheet is known, by photograph, in mm.

    In the order of `windows`, each from its upper left clockwise as seen from the recto; those
    of photographs that are not named are left out.
    """
    found: dict[int, tuple[Point, ...]] = {}
    for number, row in windows.items():
        if number in photographs:
            seen = sheet_seen(photographs[number], corners.get(number), sheet)
            place = window_on_sheet(row, seen)
            if place and side_seen(photographs[number]) is Side.VERSO:
                place = (place[1], place[0], place[3], place[2])
            if place:
                found[number] = place
    return found
