"""How do the findings of a work lie on one of its photographs, as a drawing?

The drawing lies over the picture and is counted in its pixels; without a photograph it
lies on a plain sheet, counted in tenths of a millimetre. Where the finding is now is
drawn plainly, where it was before faintly with a letter and its date, and what is gone by a
broken line. On a screen the dates stand in the table alone: on a picture nobody could read them.
"""

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import hypot

from api.pages.dates_said import date_said
from api.pages.label_places import LETTER_OF_HEIGHT, Label, leader, places_apart
from models.actions.finding_outlines import fractions, sheet_seen, side_seen
from models.actions.findings_placed import FindingPlaced, Place, WorkPlaced
from models.actions.window_edges import window_seen
from models.errors import OutsideKnownRange
from models.rules.finding_outline import Sheet
from models.rules.sheet_corners import Corners, Point, SheetOnPhotograph, sheet_on_photograph
from models.tables.outlines import PhotographCorners, WindowEdge
from models.tables.photographs import Photograph
from models.vocabulary import MICROMETRES_PER_MM, OutlineShape, Side

# A plain sheet is drawn in tenths of a millimetre.
UNITS_PER_MM = 10
WHOLE: Corners = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
# As fractions of the longer side of the drawing.
LABEL, POINT = 0.016, 0.009
_TOP_FIRST = {"gone": 0, "earlier": 1, "now": 2}
# How large the label of each kind is, of LABEL.
LABEL_SIZES = {"now": 1.7, "earlier": 1.25, "gone": 1.25}


@dataclass(frozen=True)
class Canvas:
    """What is drawn upon: a photograph or a plain sheet, and where sheet and window are on it."""

    width: int
    height: int
    side: Side
    seen: SheetOnPhotograph | None
    corners: tuple[Point, ...] = ()
    photograph_id: int | None = None
    window: tuple[Point, ...] = ()

    @property
    def longer(self) -> int:
        """The longer side."""
        return max(self.width, self.height)

    def at(self, place: Place, outline: Sequence[Point]) -> list[Point] | None:
        """Return an outline as it lies on the drawing, None where nobody knows."""
        if place.only_on is not None:
            seen = list(outline) if place.only_on == self.photograph_id else None
        else:
            seen = self._of_sheet(outline)
        return seen and [(x * self.width, y * self.height) for x, y in seen]

    def _of_sheet(self, outline: Sequence[Point]) -> list[Point] | None:
        if self.seen is None:
            return None
        try:
            return [self.seen.on_picture(point) for point in outline]
        except OutsideKnownRange:
            return None


@dataclass(frozen=True)
class ShapeShown:
    """One outline, or one point, with where its label stands. `kind`: now, earlier or gone.

    `on` is the date behind the label, printed on paper, empty for what is there now. The label
    would stand best at `best_x`, `best_y`; `leader` leads to one that moved aside.
    """

    kind: str
    no: int
    finding_id: int
    said: str
    label: str
    on: str
    label_size: float
    best_x: float
    best_y: float
    label_x: float = 0.0
    label_y: float = 0.0
    is_left_out: bool = False
    leader: str = ""
    points: str = ""
    x: float = 0.0
    y: float = 0.0


@dataclass(frozen=True)
class DrawingShown:
    """What templates/photographs/_findings_drawing.html draws."""

    width: int
    height: int
    point: float
    corners: str
    window: str
    shapes: tuple[ShapeShown, ...] = field(default=())


def canvas_of(photograph: Photograph | None, placed: WorkPlaced) -> Canvas | None:
    """Return what is drawn upon; None without a photograph where the sheet was not measured."""
    if photograph is None:
        return None if placed.sheet is None else _plain(placed.sheet)
    number = photograph.id or 0
    return laid_canvas(
        photograph, placed.corners.get(number), placed.windows.get(number), placed.sheet
    )


def laid_canvas(
    photograph: Photograph,
    corners: PhotographCorners | None,
    window: WindowEdge | None,
    sheet: Sheet | None,
) -> Canvas:
    """Return a photograph to draw upon, with its corners and window where they are known."""
    seen = sheet_seen(photograph, corners, sheet)
    return Canvas(
        photograph.width_px,
        photograph.height_px,
        side_seen(photograph),
        seen,
        () if corners is None else fractions(corners),
        photograph.id,
        window_seen(window, seen),
    )


def _plain(sheet: Sheet) -> Canvas:
    seen = sheet_on_photograph(
        WHOLE, width_mm=sheet.width_mm, height_mm=sheet.height_mm, side=Side.RECTO
    )
    size = (round(sheet.width_mm * UNITS_PER_MM), round(sheet.height_mm * UNITS_PER_MM))
    return Canvas(*size, Side.RECTO, seen, WHOLE)


def drawing_of(canvas: Canvas, findings: Iterable[FindingPlaced]) -> DrawingShown:
    """Return the findings of this side as they lie on the drawing, the present ones on top."""
    shapes = [s for f in findings if f.side is canvas.side for s in _shapes(canvas, f)]
    shapes = sorted(shapes, key=lambda shape: _TOP_FIRST[shape.kind])
    corners, window = (
        [(x * canvas.width, y * canvas.height) for x, y in four]
        for four in (canvas.corners, canvas.window)
    )
    return DrawingShown(
        canvas.width,
        canvas.height,
        round(canvas.longer * POINT, 1),
        points_said(corners) if canvas.photograph_id is not None else "",
        points_said(window),
        tuple(_labels_apart(canvas, shapes)),
    )


def _labels_apart(canvas: Canvas, shapes: Sequence[ShapeShown]) -> Iterator[ShapeShown]:
    """Give the shapes with their labels apart: the numbers of what is there now stay first."""
    labelled = [shape for shape in reversed(shapes) if shape.label]
    labels = [_label(canvas, shape) for shape in labelled]
    places = places_apart(labels, width=canvas.width, height=canvas.height)
    standing = {
        id(shape): (label, place)
        for shape, label, place in zip(labelled, labels, places, strict=True)
    }
    for shape in shapes:
        label, place = standing.get(id(shape), (None, None))
        if label is None:
            yield shape
        elif place is None:
            yield replace(shape, is_left_out=True)
        else:
            x, y = round(place[0], 1), round(place[1], 1)
            yield replace(shape, label_x=x, label_y=y, leader=leader(label, place))


def _label(canvas: Canvas, shape: ShapeShown) -> Label:
    """Return the label as it is printed: its date goes on towards the middle of the drawing."""
    date = f", {shape.on}" if shape.on else ""
    half = LETTER_OF_HEIGHT * shape.label_size * len(date) / 2
    x = shape.best_x + (half if shape.best_x < canvas.width / 2 else -half)
    return Label(f"{shape.label}{date}", shape.label_size, x, shape.best_y)


def points_said(points: Iterable[Point]) -> str:
    """Return points as a drawing takes them."""
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _shapes(canvas: Canvas, finding: FindingPlaced) -> Iterator[ShapeShown]:
    for at, place in enumerate(finding.places):
        is_last = place is finding.places[-1]
        kind = ("gone" if finding.is_gone else "now") if is_last else "earlier"
        for index, outline in enumerate(place.outlines):
            seen = canvas.at(place, outline)
            if seen:
                label = "" if index else str(finding.no) if is_last else earlier_mark(finding, at)
                yield _shape(canvas, finding, place, kind, seen, label)


def earlier_mark(finding: FindingPlaced, at: int) -> str:
    """Return what marks an earlier place of a finding: "3a" the first, "3z" and then "3aa"."""
    letters, rest = "", at + 1
    while rest:
        rest, letter = divmod(rest - 1, 26)
        letters = chr(ord("a") + letter) + letters
    return f"{finding.no}{letters}"


def _on(finding: FindingPlaced, place: Place, kind: str) -> str:
    if kind == "now":
        return ""
    return date_said(finding.last.on_edtf if kind == "gone" else place.on_edtf)


def _shape(
    canvas: Canvas,
    finding: FindingPlaced,
    place: Place,
    kind: str,
    seen: Sequence[Point],
    label: str,
) -> ShapeShown:
    is_point = place.shape is OutlineShape.POINT
    label_x, label_y = _label_place(canvas, finding, place, seen, kind)
    return ShapeShown(
        kind=kind,
        no=finding.no,
        finding_id=finding.finding_id,
        said=place_said(finding, place, kind),
        label=label,
        on=_on(finding, place, kind),
        label_size=round(canvas.longer * LABEL * LABEL_SIZES[kind], 1),
        best_x=round(label_x, 1),
        best_y=round(label_y, 1),
        points="" if is_point else points_said(seen),
        x=round(seen[0][0], 1),
        y=round(seen[0][1], 1),
    )


def _label_place(
    canvas: Canvas, finding: FindingPlaced, place: Place, seen: Sequence[Point], kind: str
) -> Point:
    """Beside a point, in the middle of an outline, one after the other along a band."""
    if place.shape is OutlineShape.POINT:
        return seen[0][0] + canvas.longer * 2 * LABEL, seen[0][1]
    middle = sum(x for x, _ in seen) / len(seen), sum(y for _, y in seen) / len(seen)
    if place.shape is not OutlineShape.BAND:
        lower = 0.0 if kind == "now" else canvas.longer * 2 * LABEL
        return middle[0], middle[1] + lower
    on_band = _along(seen, (finding.no * 0.17 + (0.0 if kind == "now" else 0.09)) % 0.8 + 0.1)
    is_upright = abs(seen[2][1] - seen[0][1]) > abs(seen[2][0] - seen[0][0])
    return on_band if kind == "now" else _inward(canvas, on_band, is_upright=is_upright)


def _along(seen: Sequence[Point], part: float) -> Point:
    """Return a place on the middle line of a band: its labels stand one after the other."""
    one, two, three, four = seen
    if _apart(one, two) > _apart(one, four):
        begin, end = _middle(one, four), _middle(two, three)
    else:
        begin, end = _middle(one, two), _middle(four, three)
    return begin[0] + part * (end[0] - begin[0]), begin[1] + part * (end[1] - begin[1])


def _inward(canvas: Canvas, point: Point, *, is_upright: bool) -> Point:
    """Return a place beside a band, towards the middle."""
    beside = 2 * LABEL * canvas.longer
    across, down = (beside, 0.0) if is_upright else (0.0, beside)
    x, y = point
    return x + (across if x < canvas.width / 2 else -across), y + (
        down if y < canvas.height / 2 else -down
    )


def _apart(one: Point, other: Point) -> float:
    return hypot(other[0] - one[0], other[1] - one[1])


def _middle(one: Point, other: Point) -> Point:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2


def place_said(finding: FindingPlaced, place: Place, kind: str) -> str:
    """Return in words what a shape shows: "3 mat burn, left edge, 12 mm in, 20 May 2019"."""
    said = [f"{finding.no} {finding.term}"]
    if finding.edge is not None:
        said.append("all edges" if finding.edge == "all" else f"{finding.edge} edge")
    if place.reach_mm is not None:
        said.append(f"{place.reach_mm:.4g} mm in")
    said.append(f"as seen {date_said(place.on_edtf)}")
    if kind == "gone":
        said.append(f"{finding.last.change} {date_said(finding.last.on_edtf)}")
    return ", ".join(said)


def told_to_script(canvas: Canvas, placed: WorkPlaced) -> str:
    """Return what templates/static/findings_on.js needs to draw, as JSON."""
    sheet, number = placed.sheet, canvas.photograph_id or 0
    corners, window = placed.corners.get(number), placed.windows.get(number)
    return json.dumps(
        {
            "photograph": canvas.photograph_id,
            "width": canvas.width,
            "height": canvas.height,
            "side": canvas.side,
            "sheet": None if sheet is None else [sheet.width_mm, sheet.height_mm],
            "corners": [list(corner) for corner in canvas.corners],
            "corners_version": 0 if corners is None else corners.version,
            "window": [list(corner) for corner in canvas.window],
            "window_version": 0 if window is None else window.version,
            "window_mm": window_known(placed, canvas.photograph_id),
            "window_offered": window_offered(placed, canvas.photograph_id),
            "findings": [_told(placed, one) for one in placed.findings if one.side is canvas.side],
        }
    )


def window_known(placed: WorkPlaced, photograph_id: int | None) -> tuple[Point, ...]:
    """Return the window in mm of the sheet: as on this photograph, else as on the first."""
    known = placed.windows_mm
    return known.get(photograph_id or 0) or next(iter(known.values()), ())


def window_offered(placed: WorkPlaced, photograph_id: int | None) -> tuple[Point, ...]:
    """Return a window in mm of the sheet to begin with, where none is marked on a photograph.

    As on another photograph, else as large as that of the mat, in the middle of the image
    or of the sheet: where it lies nobody has said.
    """
    if placed.windows_mm:
        return window_known(placed, photograph_id)
    if placed.mat_mm is None or placed.sheet is None:
        return ()
    high, wide = placed.mat_mm
    work, unit = placed.work, MICROMETRES_PER_MM
    middle_x, middle_y = placed.sheet.width_mm / 2, placed.sheet.height_mm / 2
    if work.image_left_um is not None and work.image_width_um is not None:
        middle_x = (work.image_left_um + work.image_width_um / 2) / unit
    if work.image_top_um is not None and work.image_height_um is not None:
        middle_y = (work.image_top_um + work.image_height_um / 2) / unit
    left, right = middle_x - wide / 2, middle_x + wide / 2
    top, bottom = middle_y - high / 2, middle_y + high / 2
    return (left, top), (right, top), (right, bottom), (left, bottom)


def _told(placed: WorkPlaced, finding: FindingPlaced) -> dict[str, object]:
    outline = placed.outlines.get(finding.last.id)
    contrast = placed.contrasts.get(finding.last.id)
    place = finding.places[-1] if finding.places else None
    return {
        "id": finding.finding_id,
        "no": finding.no,
        "term": finding.term,
        "sighting": finding.last.id,
        "version": 0 if outline is None else outline.version,
        "contrast_version": 0 if contrast is None else contrast.version,
        "edge": finding.edge,
        "mm": None if place is None else place.reach_mm,
        "follows": finding.follows_window_edge,
        "shape": None if place is None or not place.is_drawn else place.shape,
        "points": [] if place is None or place.only_on is not None else list(place.outlines[0]),
    }
