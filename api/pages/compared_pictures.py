"""How do two photographs of one view lie upon each other: the whole sheet, or its margins?

Both are laid at one scale by the corners of the sheet. A margin is aligned at the edge of
the window: a mat is seldom put back where it was, and it is along its edge that a sheet
browns. All four margins stand below each other, each turned so that the sheet's edge is above
and the window's runs level. Where the corners of the sheet are not known, as in a frame, the
window alone lays one photograph upon the other; where that is not known either, each is
laid whole. Lengths are millimetres of the sheet.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from api.pages.findings_drawing import DrawingShown, drawing_of, laid_canvas
from api.pages.form_answers import is_key
from models.actions.finding_outlines import fractions
from models.actions.findings_placed import FindingPlaced
from models.actions.record_changes import key_of
from models.rules.finding_outline import Sheet
from models.rules.flat_picture import (
    Matrix,
    edge_upon_edge,
    laid_by_corners,
    laid_then,
    laid_whole,
    point_laid,
)
from models.rules.sheet_corners import Point
from models.tables.outlines import PhotographLaid
from models.tables.photographs import Photograph
from models.vocabulary import Edge

WHOLE, ALL_FOUR = "whole sheet", "all four margins"
BACK_OF_FRAME = "Back of the frame"
# A margin is shown so far outwards from the window's edge, or inwards from the sheet's, and so
# much of what is within the window; so much is shown around the sheet.
STRIP_MM, WITHIN_MM, AROUND_MM = 80.0, 20.0, 12.0
# A margin is shown in parts no longer than this along its edge, so that it is enlarged.
PART_MM = 120.0
# A sheet that nobody measured is shown so high, and a window so high of its sheet.
ASSUMED_HEIGHT_MM, ASSUMED_WINDOW = 300.0, 0.7
_EDGES = (Edge.LEFT, Edge.RIGHT, Edge.TOP, Edge.BOTTOM)
_UPRIGHT = (Edge.LEFT, Edge.RIGHT)
# Which corners of a window are the ends of its sides, the upper or left one first.
_SIDES = {Edge.TOP: (0, 1), Edge.RIGHT: (1, 2), Edge.BOTTOM: (3, 2), Edge.LEFT: (0, 3)}
# By how many degrees a margin is turned, so that its outer edge is above.
_TURNS = {Edge.TOP: 0, Edge.RIGHT: -90, Edge.BOTTOM: 180, Edge.LEFT: 90}

# Left, top, right and bottom.
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Asked:
    """Which view is asked for, which margin of it, and which part of the margin."""

    view: str
    edge: str
    part: str


@dataclass(frozen=True)
class PictureOf:
    """A photograph, the visit it was taken at in words, and the findings that lie on it.

    `mat_mm`: height and width of the one window of the mat after that visit, where told.
    """

    laid: PhotographLaid
    visit: str
    findings: tuple[FindingPlaced, ...]
    mat_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class PictureCompared:
    """A photograph, its size in pixels, and what lies on it; `drawing` is empty of strips."""

    id: int
    width_px: int
    height_px: int
    drawing: DrawingShown


@dataclass(frozen=True)
class PartShown:
    """A part of the sheet: `before` and `after` are the matrices that lay the photographs.

    What is laid is turned by `turn` degrees about nought; then the box is cut out of it.
    `window` is the path of two strokes between which the window's edge runs, if it is known.
    """

    name: str
    turn: int
    left: float
    top: float
    width: float
    height: float
    before: str
    after: str
    window: str = ""

    @property
    def box(self) -> str:
        """Return what is shown as SVG writes it."""
        return f"{self.left:g} {self.top:g} {self.width:g} {self.height:g}"


@dataclass(frozen=True)
class PicturesCompared:
    """Two photographs of one view, and which parts of the sheet they are shown in.

    `parts` say how far along the edge each part of a margin goes, from 1; none but of one
    margin. `by` says by what they are aligned: "window", "sheet", "window alone" or "nothing";
    `unmarked` are the photographs on which nobody has marked the window, with their visits.
    """

    view: str
    views: tuple[str, ...]
    edge: str
    edges: tuple[str, ...]
    part: int
    parts: tuple[str, ...]
    before: PictureCompared
    after: PictureCompared
    shown: tuple[PartShown, ...]
    by: str
    has_measure: bool
    unmarked: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class _Pair:
    """Two matrices that lay two photographs, and the windows as they come to lie by them."""

    matrices: tuple[Matrix, Matrix]
    windows: tuple[tuple[Point, ...], tuple[Point, ...]]
    by: str
    has_measure: bool

    @property
    def has_windows(self) -> bool:
        """Say whether the window is marked on both."""
        return all(self.windows)


def pictures_compared(
    before: PictureOf, after: PictureOf, sheet: Sheet | None, asked: Asked, views: tuple[str, ...]
) -> PicturesCompared:
    """Return both photographs as they are laid upon each other; `sheet` None: not measured."""
    size = sheet or _assumed(before.laid.photograph)
    pair = _laid_pair(before, after, size, is_measured=sheet is not None)
    edge = asked.edge if asked.edge in (*_EDGES, ALL_FOUR) else WHOLE
    in_mm = pair.has_measure or (sheet is not None and pair.by == "nothing")
    parts = _parts_of_margin(edge, size, in_mm=in_mm)
    part = _part(asked.part, len(parts))
    by = "window" if pair.by == "sheet" and pair.has_windows and edge != WHOLE else pair.by
    return PicturesCompared(
        view=asked.view,
        views=views,
        edge=edge,
        edges=(WHOLE, ALL_FOUR, *(str(one) for one in _EDGES)),
        part=part,
        parts=parts,
        before=_picture(before, size, edge),
        after=_picture(after, size, edge),
        shown=tuple(_shown(edge, pair, size, part, len(parts))),
        by=by,
        has_measure=pair.has_measure,
        unmarked=tuple(_unmarked(before, after, sheet)),
    )


def _assumed(photograph: Photograph) -> Sheet:
    """Return a sheet in the proportion of a picture, where nobody measured it."""
    return Sheet(ASSUMED_HEIGHT_MM * photograph.width_px / photograph.height_px, ASSUMED_HEIGHT_MM)


def _picture(one: PictureOf, sheet: Sheet, edge: str) -> PictureCompared:
    photograph, corners, window = one.laid
    canvas = laid_canvas(photograph, corners, window, sheet)
    return PictureCompared(
        key_of(photograph),
        width_px=photograph.width_px,
        height_px=photograph.height_px,
        drawing=drawing_of(canvas, () if edge == ALL_FOUR else one.findings),
    )


def _unmarked(
    before: PictureOf, after: PictureOf, sheet: Sheet | None
) -> Iterator[tuple[int, str]]:
    for one in (before, after):
        if not _window_px(one.laid, sheet):
            yield key_of(one.laid.photograph), one.visit


# --- how both are laid --------------------------------------------------------------------------


def _laid_pair(before: PictureOf, after: PictureOf, sheet: Sheet, *, is_measured: bool) -> _Pair:
    known = sheet if is_measured else None
    windows = _window_px(before.laid, known), _window_px(after.laid, known)
    by_corners = [one.laid.corners is not None for one in (before, after)]
    if all(by_corners) or not all(windows):
        laid = _on_sheet(before.laid, sheet), _on_sheet(after.laid, sheet)
        by = "sheet" if all(by_corners) else "nothing"
        return _pair(laid, windows, by, has_measure=is_measured and all(by_corners))
    box = _window_box(before.laid, after.laid, windows, sheet)
    sizes = before.mat_mm, after.mat_mm
    # A mat is taken at its own size where that is told, unless only one of two is.
    if any(by_corners) or None not in sizes:
        boxes = [_sized(box, mat_mm) for mat_mm in sizes]
    else:
        boxes = [box, box]
    laid = (
        _in_window(before.laid, windows[0], boxes[0], sheet),
        _in_window(after.laid, windows[1], boxes[1], sheet),
    )
    has_measure = is_measured if any(by_corners) else None not in sizes
    return _pair(laid, windows, "window alone", has_measure=has_measure)


def _sized(box: Box, mat_mm: tuple[float, float] | None) -> Box:
    """Return a box of the size of a mat's window, about the middle of another."""
    if mat_mm is None:
        return box
    left, top, right, bottom = box
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    high, wide = mat_mm
    return middle_x - wide / 2, middle_y - high / 2, middle_x + wide / 2, middle_y + high / 2


def _pair(
    laid: tuple[Matrix, Matrix],
    windows: tuple[tuple[Point, ...], tuple[Point, ...]],
    by: str,
    *,
    has_measure: bool,
) -> _Pair:
    before, after = (
        tuple(point_laid(matrix, point) for point in window)
        for matrix, window in zip(laid, windows, strict=True)
    )
    return _Pair(laid, (before, after), by, has_measure)


def _window_px(laid: PhotographLaid, sheet: Sheet | None) -> tuple[Point, ...]:
    """Return the corners of the window in pixels, as they are seen; none where not known."""
    photograph, corners, window = laid
    seen = laid_canvas(photograph, corners, window, sheet).window
    return tuple((x * photograph.width_px, y * photograph.height_px) for x, y in seen)


def _on_sheet(laid: PhotographLaid, sheet: Sheet) -> Matrix:
    """Return what lays a photograph upon the sheet: whole, where nobody said its corners."""
    size = {"width_px": laid.photograph.width_px, "height_px": laid.photograph.height_px}
    width, height = sheet.width_mm, sheet.height_mm
    if laid.corners is None:
        return laid_whole(**size, width_mm=width, height_mm=height)
    return laid_by_corners(fractions(laid.corners), **size, width_mm=width, height_mm=height)


def _window_box(
    before: PhotographLaid,
    after: PhotographLaid,
    windows: tuple[tuple[Point, ...], tuple[Point, ...]],
    sheet: Sheet,
) -> Box:
    """Return where the window lies: as on the one whose sheet is known, else in the middle."""
    for laid, window in zip((before, after), windows, strict=True):
        if laid.corners is not None:
            matrix = _on_sheet(laid, sheet)
            return _mean_box([point_laid(matrix, point) for point in window])
    left, top, right, bottom = _mean_box(windows[0])
    scale = ASSUMED_WINDOW * min(
        sheet.height_mm / (bottom - top),
        sheet.width_mm / (right - left),
    )
    half_wide, half_high = (right - left) * scale / 2, (bottom - top) * scale / 2
    middle_x, middle_y = sheet.width_mm / 2, sheet.height_mm / 2
    return middle_x - half_wide, middle_y - half_high, middle_x + half_wide, middle_y + half_high


def _mean_box(window: Sequence[Point]) -> Box:
    """Return the upright box of a window: each side midway between its ends."""
    (ulx, uly), (urx, ury), (lrx, lry), (llx, lly) = window
    return (ulx + llx) / 2, (uly + ury) / 2, (urx + lrx) / 2, (lly + lry) / 2


def _in_window(laid: PhotographLaid, window: Sequence[Point], box: Box, sheet: Sheet) -> Matrix:
    """Return what lays a photograph by its sheet, else by its window upon the box."""
    if laid.corners is not None:
        return _on_sheet(laid, sheet)
    left, top, right, bottom = box
    photograph = laid.photograph
    corners = [(x / photograph.width_px, y / photograph.height_px) for x, y in window]
    matrix = laid_by_corners(
        corners,
        width_px=photograph.width_px,
        height_px=photograph.height_px,
        width_mm=right - left,
        height_mm=bottom - top,
    )
    return laid_then(matrix, (1.0, 0.0, 0.0, 1.0, left, top))


# --- what of it is shown ------------------------------------------------------------------------


def _shown(edge: str, pair: _Pair, sheet: Sheet, part: int, many: int) -> Iterator[PartShown]:
    if edge == ALL_FOUR:
        longest = max(sheet.width_mm, sheet.height_mm) + 2 * AROUND_MM
        for one in _EDGES:
            yield _turned(_margin(one, pair, sheet, 1, 1), _TURNS[one], longest)
    elif edge == WHOLE:
        right, bottom = sheet.width_mm + AROUND_MM, sheet.height_mm + AROUND_MM
        box = (-AROUND_MM, -AROUND_MM, right, bottom)
        yield _boxed(edge, box, pair.matrices)
    else:
        yield _margin(Edge(edge), pair, sheet, part, many)


def _margin(edge: Edge, pair: _Pair, sheet: Sheet, part: int, many: int) -> PartShown:
    """Return a part of a margin, aligned at the window's edge where that is marked on both."""
    start, end = _along(_long(edge, sheet), part, many)
    if not pair.has_windows:
        outer, inner = _across(edge, sheet, None)
        return _boxed(edge, _box_of(edge, outer, inner, start, end), pair.matrices)
    first, last = _SIDES[edge]
    before, after = ((window[first], window[last]) for window in pair.windows)
    level, at = _straightened(edge, before)
    matrices = (
        laid_then(pair.matrices[0], edge_upon_edge(before, level)),
        laid_then(pair.matrices[1], edge_upon_edge(after, level)),
    )
    outer, inner = _across(edge, sheet, at)
    box = _box_of(edge, outer, inner, start, end)
    return _boxed(edge, box, matrices, _strokes(edge, at, start, end))


def _strokes(edge: Edge, at: float, start: float, end: float) -> str:
    """Return the ends of the window's edge: a line all along would hide what lies beneath it."""
    long = AROUND_MM
    if edge in _UPRIGHT:
        return f"M{at:g} {start:g}v{long:g}M{at:g} {end - long:g}v{long:g}"
    return f"M{start:g} {at:g}h{long:g}M{end - long:g} {at:g}h{long:g}"


def _straightened(edge: Edge, side: tuple[Point, Point]) -> tuple[tuple[Point, Point], float]:
    """Return a side of a window laid square to the sheet about its middle, and where it lies."""
    (ax, ay), (bx, by) = side
    if edge in _UPRIGHT:
        x = round((ax + bx) / 2, 2)
        return ((x, ay), (x, by)), x
    y = round((ay + by) / 2, 2)
    return ((ax, y), (bx, y)), y


def _across(edge: Edge, sheet: Sheet, at: float | None) -> tuple[float, float]:
    """Return from where to where a margin is shown, across it, the outer end first.

    `at` is where the window's edge lies; None where that is not known.
    """
    far = sheet.width_mm if edge in _UPRIGHT else sheet.height_mm
    if edge in (Edge.LEFT, Edge.TOP):
        if at is None:
            return -AROUND_MM, min(STRIP_MM, far + AROUND_MM)
        return max(-AROUND_MM, at - STRIP_MM), at + WITHIN_MM
    if at is None:
        return far + AROUND_MM, max(far - STRIP_MM, -AROUND_MM)
    return min(far + AROUND_MM, at + STRIP_MM), at - WITHIN_MM


def _box_of(edge: Edge, outer: float, inner: float, start: float, end: float) -> Box:
    low, high = sorted((outer, inner))
    return (low, start, high, end) if edge in _UPRIGHT else (start, low, end, high)


def _boxed(name: str, box: Box, matrices: tuple[Matrix, Matrix], window: str = "") -> PartShown:
    left, top, right, bottom = box
    return PartShown(
        name=name,
        turn=0,
        left=round(left, 2),
        top=round(top, 2),
        width=round(right - left, 2),
        height=round(bottom - top, 2),
        before=_said(matrices[0]),
        after=_said(matrices[1]),
        window=window,
    )


def _turned(part: PartShown, turn: int, longest: float) -> PartShown:
    """Return a margin turned, and as wide as the longest: so all of them have one scale."""
    right, bottom = part.left + part.width, part.top + part.height
    left, top, height = {
        0: (part.left, part.top, part.height),
        90: (-bottom, part.left, part.width),
        -90: (part.top, -right, part.width),
        180: (-right, -bottom, part.height),
    }[turn]
    return PartShown(
        name=part.name,
        turn=turn,
        left=round(left, 2),
        top=round(top, 2),
        width=round(longest, 2),
        height=height,
        before=part.before,
        after=part.after,
        window=part.window,
    )


def _said(matrix: Matrix) -> str:
    # Rounded first, and nothing added, so that no nought has a sign.
    return " ".join(f"{round(figure, 9) + 0:.6g}" for figure in matrix)


def _parts_of_margin(edge: str, sheet: Sheet, *, in_mm: bool) -> tuple[str, ...]:
    """Return how far along its edge each part of a margin goes; none but of one margin."""
    if edge in (WHOLE, ALL_FOUR):
        return ()
    long = _long(Edge(edge), sheet)
    many = ceil(long / PART_MM)
    if not in_mm:
        return tuple(f"{number + 1} of {many}" for number in range(many))
    ends = [round(long * number / many) for number in range(many + 1)]
    return tuple(f"{start} to {end} mm" for start, end in pairwise(ends))


def _long(edge: Edge, sheet: Sheet) -> float:
    return sheet.height_mm if edge in _UPRIGHT else sheet.width_mm


def _part(asked: str, many: int) -> int:
    """Return the part that is asked for, else the middle one; 0 of none."""
    number = int(asked) if is_key(asked) else 0
    return number if 0 < number <= many else (many + 1) // 2


def _along(long: float, part: int, many: int) -> tuple[float, float]:
    """Return where a part of a margin begins and ends along its edge; a little is seen of both."""
    return long * (part - 1) / many - AROUND_MM, long * part / many + AROUND_MM
