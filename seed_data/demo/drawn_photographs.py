"""What would somebody have photographed of an invented work: its sheet, its back, its frame?

A sheet lies a little askew on grey card beside a scale of 10 cm; where its four corners and
the line that a window has left are on the picture is known, so that what was found lies where
the record says: a mat burn as many millimetres in from its edge, foxing in its rectangle. An
earlier photograph shows the earlier reach. Drawn by program, the same each time; nothing in it
is real.
"""

import io
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from models.rules.sheet_corners import sheet_on_photograph
from models.vocabulary import Edge, PhotographStage, PhotographView, Side
from seed_data.demo.drawn_images import Colour, Floats, drawn_image, grain, noise

Point = tuple[float, float]
Corners = tuple[Point, Point, Point, Point]

LONG_PX, SHORT_PX = 1080, 810
# The longest side of a sheet before it is laid on the card, and how much of the card it takes.
SHEET_PX, TAKES = 660, 0.8
QUALITY = 84
SCALE_MM = 100
# How much of the margin a window shows around the image.
ROOM_MM = 9

PAPERS: dict[str, Colour] = {
    "blue": (0.64, 0.70, 0.73),
    "grey": (0.74, 0.72, 0.68),
    "parchment": (0.90, 0.83, 0.68),
    "groundwood": (0.86, 0.76, 0.58),
    "japanese": (0.94, 0.91, 0.82),
    "kozo": (0.94, 0.91, 0.82),
    "coated": (0.95, 0.94, 0.91),
    "resin": (0.96, 0.96, 0.95),
    "china": (0.92, 0.90, 0.84),
    "card": (0.89, 0.84, 0.73),
    "laid": (0.92, 0.87, 0.77),
}
WOVE: Colour = (0.935, 0.90, 0.815)
# How light the grey card is that a sheet lies on, of 1.
CARD = 0.47
BROWN: Colour = (0.68, 0.47, 0.26)
YELLOW: Colour = (0.88, 0.74, 0.45)
PALE: Colour = (1.12, 1.10, 1.05)
# What a finding lets through of the paper under it; a colour above 1 is lighter than the paper.
LETS_THROUGH: dict[str, Colour] = {
    "mat burn": (0.80, 0.63, 0.42),
    "backing stain": (0.85, 0.72, 0.52),
    "browning": (0.88, 0.77, 0.60),
    "tape stain": (0.84, 0.64, 0.34),
    "tacky or oily tape": (0.80, 0.62, 0.33),
    "hinge stain": (0.84, 0.68, 0.42),
    "photographic fading or staining": YELLOW,
    "silver mirroring": (0.86, 0.93, 1.04),
    "light line": (0.80, 0.86, 0.98),
    "earlier mount line": (0.90, 0.84, 0.74),
    "condensation marks": (0.84, 0.77, 0.62),
    "cockling": (0.93, 0.92, 0.90),
    "active mould": (0.72, 0.74, 0.66),
    "skinning": PALE,
    "thinning": PALE,
    "scuffing": (1.10, 1.09, 1.06),
    "scratch": (1.20, 1.18, 1.14),
    "friable surface touching the glazing": (1.06, 1.05, 1.03),
}
SPOTTED: Final = frozenset({"foxing", "active mould"})
FADED: Final = "fading"


@dataclass(frozen=True, kw_only=True)
class MarkDrawn:
    """A finding as it was on one day: a band `reach_mm` in from an edge, a rectangle, or all over.

    The rectangle is left, top, width and height in mm, as seen from the recto. `window_mm`: how
    far in the edge of the window lay that a band follows.
    """

    term: str
    side: Side = Side.RECTO
    edge: Edge | None = None
    reach_mm: float = 0.0
    window_mm: float | None = None
    region_mm: tuple[float, float, float, float] | None = None
    strength: float = 0.6


@dataclass(frozen=True, kw_only=True)
class SheetDrawn:
    """What is known of a work that shows: `image_mm` is left, top, height and width."""

    number: str
    title: str
    technique: str
    support: str
    height_mm: float
    width_mm: float
    image_mm: tuple[float, float, float, float] | None = None

    @property
    def px_per_mm(self) -> float:
        """Return how large a millimetre is on the sheet before it is laid down."""
        return SHEET_PX / max(self.height_mm, self.width_mm)

    @property
    def shape(self) -> tuple[int, int]:
        """Return height and width in pixels."""
        scale = self.px_per_mm
        return round(self.height_mm * scale), round(self.width_mm * scale)


@dataclass(frozen=True, kw_only=True)
class PictureDrawn:
    """A JPEG, its size, and the corners of sheet and window as fractions of it.

    Of the sheet none in a frame, of the window none where it has left no line.
    """

    content: bytes
    width_px: int
    height_px: int
    corners: Corners | None
    window: Corners | None = None


def seeded(*words: str) -> np.random.Generator:
    """Return chance that is the same each time for the same words."""
    return np.random.default_rng(zlib.crc32("\n".join(words).encode()))


def photograph(
    sheet: SheetDrawn,
    marks: Sequence[MarkDrawn],
    *,
    view: PhotographView,
    stage: PhotographStage | None,
    on: str,
    mat: Colour = WOVE,
) -> PictureDrawn:
    """Return the photograph of a sheet on one day: in its frame, or out of it on grey card."""
    if stage is PhotographStage.IN_FRAME:
        return _in_frame(sheet, marks, mat)
    is_back = view is PhotographView.VERSO
    drawn = _verso(sheet, marks) if is_back else _recto(sheet, marks)
    laid = _laid_down(sheet, drawn, seeded(sheet.number, view, on))
    return laid if is_back else replace(laid, window=_line_left(sheet, marks, laid.corners))


# --- the sheet --------------------------------------------------------------------------------


def _paper(sheet: SheetDrawn) -> Floats:
    said = sheet.support.lower()
    tone = next((tone for word, tone in PAPERS.items() if word in said), WOVE)
    rng = seeded(sheet.number, "paper")
    fibres = (
        1 + 0.022 * (grain(rng, sheet.shape) - 0.5) + 0.03 * (noise(rng, sheet.shape, 6, 6) - 0.5)
    )
    if "laid" in said:
        lines = np.arange(sheet.shape[0], dtype=np.float32)[:, None]
        fibres = fibres + 0.008 * np.sin(lines * 1.9)
    return fibres[:, :, None] * np.asarray(tone, dtype=np.float32)


@cache
def _blank_and_printed(sheet: SheetDrawn) -> tuple[Floats, Floats]:
    """Return the paper alone, and the paper with its image; drawn once for all its photographs."""
    paper = _paper(sheet)
    printed = paper.copy()
    top, left, bottom, right = _image_box(sheet)
    rng = seeded(sheet.number, "image")
    image = drawn_image(sheet.title, sheet.technique, rng, (bottom - top, right - left))
    printed[top:bottom, left:right] *= image
    if sheet.image_mm is not None:
        _press_plate_mark(printed, (top, left, bottom, right))
    return paper, printed


def _image_box(sheet: SheetDrawn) -> tuple[int, int, int, int]:
    """Return top, left, bottom and right in pixels; a margin of one twentieth if nobody said."""
    height, width = sheet.shape
    if sheet.image_mm is None:
        margin = round(min(height, width) * 0.05)
        return margin, margin, height - margin, width - margin
    left, top, tall, wide = (round(mm * sheet.px_per_mm) for mm in sheet.image_mm)
    return top, left, min(height, top + tall), min(width, left + wide)


def _press_plate_mark(printed: Floats, box: tuple[int, int, int, int]) -> None:
    top, left, bottom, right = box
    printed[top - 3 : top - 1, left - 3 : right + 3] *= 0.90
    printed[top - 3 : bottom + 3, left - 3 : left - 1] *= 0.92
    printed[bottom + 1 : bottom + 3, left - 3 : right + 3] *= 1.05
    printed[top - 3 : bottom + 3, right + 1 : right + 3] *= 1.05


def _recto(sheet: SheetDrawn, marks: Sequence[MarkDrawn]) -> Floats:
    _, printed = _blank_and_printed(sheet)
    drawn = printed.copy()
    for mark in marks:
        if mark.side is Side.RECTO:
            _leave(sheet, drawn, mark)
    return drawn


def _verso(sheet: SheetDrawn, marks: Sequence[MarkDrawn]) -> Floats:
    """Return the back as it is seen when the sheet is turned over its long edge."""
    paper, printed = _blank_and_printed(sheet)
    drawn = paper * (0.93 + 0.07 * printed / np.maximum(paper, 0.01)) * 0.985
    for mark in marks:
        if mark.side is Side.VERSO:
            _leave(sheet, drawn, mark)
    _hinges(sheet, drawn)
    return drawn[:, ::-1]


def _hinges(sheet: SheetDrawn, drawn: Floats) -> None:
    height, width = sheet.shape
    tall, wide = round(26 * sheet.px_per_mm), round(22 * sheet.px_per_mm)
    for share in (0.2, 0.8):
        left = round(width * share - wide / 2)
        drawn[: min(tall, height), left : left + wide] *= np.asarray(
            (0.955, 0.94, 0.90), dtype=np.float32
        )
        drawn[tall - 1 : tall + 1, left : left + wide] *= 0.9


def _leave(sheet: SheetDrawn, drawn: Floats, mark: MarkDrawn) -> None:
    """Leave a finding on the sheet, where and as far as it is on record."""
    rng = seeded(sheet.number, mark.term)
    if mark.term == FADED:
        drawn += (0.30 * mark.strength) * (np.asarray(WOVE, dtype=np.float32) - drawn)
        return
    if mark.term not in LETS_THROUGH and mark.term not in SPOTTED:
        return
    if mark.term in SPOTTED:
        cover = _spots(sheet, mark, rng)
    else:
        cover = _covered(sheet, mark, rng)
    through = np.asarray(LETS_THROUGH.get(mark.term, BROWN), dtype=np.float32)
    drawn *= 1 + (cover * (0.45 + 0.75 * mark.strength)).clip(0, 1)[:, :, None] * (through - 1)


def _covered(sheet: SheetDrawn, mark: MarkDrawn, rng: np.random.Generator) -> Floats:
    if mark.edge is not None:
        return _band(sheet, mark, rng)
    patchy = 0.6 + 0.55 * noise(rng, sheet.shape, 7, 7)
    if mark.region_mm is None:
        ribs = np.sin(
            np.arange(sheet.shape[1], dtype=np.float32) * (2 * np.pi / (9 * sheet.px_per_mm))
        )
        all_over: Floats = 0.4 * patchy * (1 + 0.18 * ribs[None, :])
        return all_over
    return patchy * _within(sheet, mark.region_mm, soft_mm=3)


def _band(sheet: SheetDrawn, mark: MarkDrawn, rng: np.random.Generator) -> Floats:
    """Return a band so many millimetres in; it is darkest along its inner edge."""
    reach = mark.reach_mm
    swell = noise(rng, sheet.shape, 24, 24)
    ragged = 0.9 * (swell - 0.5)
    inwards = _from_edge(sheet, mark.edge or Edge.ALL) + ragged
    inside = np.clip((reach - inwards) / 1.2 + 0.5, 0, 1)
    line = np.exp(-(((inwards - reach + 1.6) / 1.5) ** 2))
    uneven = 0.75 + 0.4 * swell
    return (0.42 * inside * (0.45 + 0.55 * np.clip(inwards / reach, 0, 1)) + 0.62 * line) * uneven


def _from_edge(sheet: SheetDrawn, edge: Edge) -> Floats:
    """Return how many mm each place lies from an edge, from the nearest where it is all."""
    height, width = sheet.shape
    down = (np.arange(height, dtype=np.float32)[:, None] + 0.5) / sheet.px_per_mm
    across = (np.arange(width, dtype=np.float32)[None, :] + 0.5) / sheet.px_per_mm
    flat = np.zeros(sheet.shape, dtype=np.float32)
    ways = {
        Edge.TOP: down + flat,
        Edge.BOTTOM: sheet.height_mm - down + flat,
        Edge.LEFT: across + flat,
        Edge.RIGHT: sheet.width_mm - across + flat,
    }
    return ways[edge] if edge in ways else np.minimum.reduce(list(ways.values()))


def _within(
    sheet: SheetDrawn, region: tuple[float, float, float, float], *, soft_mm: float
) -> Floats:
    left, top, wide, tall = region
    height, width = sheet.shape
    y = (np.arange(height, dtype=np.float32)[:, None] / sheet.px_per_mm - top - tall / 2) / (
        tall / 2
    )
    x = (np.arange(width, dtype=np.float32)[None, :] / sheet.px_per_mm - left - wide / 2) / (
        wide / 2
    )
    soft = soft_mm / max(2.0, min(wide, tall) / 2)
    inside: Floats = np.clip((1 - np.maximum(np.abs(y), np.abs(x))) / soft + 0.5, 0, 1)
    return inside


def _spots(sheet: SheetDrawn, mark: MarkDrawn, rng: np.random.Generator) -> Floats:
    """Return scattered spots with soft edges inside the rectangle."""
    left, top, wide, tall = mark.region_mm or (0, 0, sheet.width_mm, sheet.height_mm)
    scale = sheet.px_per_mm
    canvas = Image.new("L", sheet.shape[::-1])
    pen = ImageDraw.Draw(canvas)
    for _ in range(14 + int(wide * tall / 60)):
        x, y = left + wide * rng.random(), top + tall * rng.random()
        size = float(rng.gamma(2.2, 0.42)) * scale
        pen.ellipse(
            [x * scale - size, y * scale - size, x * scale + size, y * scale + size],
            fill=int(rng.integers(110, 235)),
        )
    return np.asarray(canvas.filter(ImageFilter.GaussianBlur(1.3)), dtype=np.float32) / 255


# --- the photograph ---------------------------------------------------------------------------


def _laid_down(sheet: SheetDrawn, drawn: Floats, rng: np.random.Generator) -> PictureDrawn:
    size = (LONG_PX, SHORT_PX) if sheet.width_mm >= sheet.height_mm else (SHORT_PX, LONG_PX)
    corners_px = _where_it_lies(sheet, size, rng)
    light = 0.05 if rng.random() < 0.5 else -0.05
    ground = _ground(size, corners_px, rng, light)
    _lay_scale(ground, sheet, corners_px, size)
    flat = Image.fromarray(
        np.uint8(np.clip(drawn * (_window_light(sheet.shape, light) * 255)[:, :, None], 0, 255))
    )
    flat.putalpha(255)
    way = _to_sheet(corners_px, sheet.shape)
    laid = flat.transform(size, Image.Transform.PERSPECTIVE, way, Image.Resampling.BILINEAR)
    ground.paste(laid, (0, 0), laid)
    wide, tall = size
    a, b, c, d = ((x / wide, y / tall) for x, y in corners_px)
    return PictureDrawn(
        content=_as_jpeg(ground), width_px=wide, height_px=tall, corners=(a, b, c, d)
    )


def _line_left(
    sheet: SheetDrawn, marks: Sequence[MarkDrawn], corners: Corners | None
) -> Corners | None:
    """Return the line that a window has left; beside its burn it lay as far in as it shows."""
    burnt = {
        mark.edge: mark.window_mm
        for mark in marks
        if mark.side is Side.RECTO and mark.edge is not None and mark.window_mm is not None
    }
    if corners is None or not burnt:
        return None
    left, top, right, bottom = (
        burnt.get(edge, burnt.get(Edge.ALL, otherwise))
        for edge, otherwise in zip(
            (Edge.LEFT, Edge.TOP, Edge.RIGHT, Edge.BOTTOM), _beside_image(sheet), strict=True
        )
    )
    assert left is not None
    assert top is not None
    assert right is not None
    assert bottom is not None
    wide, tall = sheet.width_mm, sheet.height_mm
    seen = sheet_on_photograph(corners, width_mm=wide, height_mm=tall, side=Side.RECTO)
    places = (left, top), (wide - right, top), (wide - right, tall - bottom), (left, tall - bottom)
    one, two, three, four = (seen.on_picture(place) for place in places)
    return one, two, three, four


def _beside_image(sheet: SheetDrawn) -> tuple[float, float, float, float]:
    """Return how far in from left, top, right and bottom a window begins that shows the image."""
    top, left, bottom, right = (px / sheet.px_per_mm for px in _image_box(sheet))
    ways = left, top, sheet.width_mm - right, sheet.height_mm - bottom
    room = 0.0 if sheet.image_mm is None else ROOM_MM
    one, two, three, four = (max(0.0, way - room) for way in ways)
    return one, two, three, four


def _window_light(shape: tuple[int, int], slope: float) -> Floats:
    """Return light that falls off from one side to the other."""
    across = np.linspace(1 + slope * 0.6, 1 - slope * 0.8, shape[1], dtype=np.float32)[None, :]
    return across * np.linspace(1.01, 0.97, shape[0], dtype=np.float32)[:, None]


def _where_it_lies(sheet: SheetDrawn, size: tuple[int, int], rng: np.random.Generator) -> Corners:
    """Return the corners in pixels: turned by a degree or so, each off by the tilt of a hand."""
    wide, tall = size
    scale = min(TAKES * wide / sheet.width_mm, (TAKES - 0.04) * tall / sheet.height_mm)
    half_w, half_h = sheet.width_mm * scale / 2, sheet.height_mm * scale / 2
    turn = rng.uniform(-0.022, 0.022)
    middle = (wide / 2 + rng.uniform(-8, 8), tall * 0.475 + rng.uniform(-6, 6))
    spots: list[Point] = []
    for x, y in ((-half_w, -half_h), (half_w, -half_h), (half_w, half_h), (-half_w, half_h)):
        off_x, off_y = rng.uniform(-5, 5, 2)
        spots.append(
            (
                float(middle[0] + x * np.cos(turn) - y * np.sin(turn) + off_x),
                float(middle[1] + x * np.sin(turn) + y * np.cos(turn) + off_y),
            )
        )
    return spots[0], spots[1], spots[2], spots[3]


def _to_sheet(corners: Corners, shape: tuple[int, int]) -> list[float]:
    """Return the eight figures that lead from the picture to the sheet."""
    height, width = shape
    rows, right = [], []
    for (x, y), (u, v) in zip(
        corners, ((0, 0), (width, 0), (width, height), (0, height)), strict=True
    ):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return [float(one) for one in np.linalg.solve(np.array(rows), np.array(right))]


def _ground(
    size: tuple[int, int], corners: Corners, rng: np.random.Generator, light: float
) -> Image.Image:
    """Return grey card with the soft shadow of the sheet."""
    wide, tall = size
    small = Image.new("L", (wide // 4, tall // 4), 255)
    ImageDraw.Draw(small).polygon([((x + 7) / 4, (y + 9) / 4) for x, y in corners], fill=120)
    shadow = small.filter(ImageFilter.GaussianBlur(3)).resize(size, Image.Resampling.BILINEAR)
    shade = np.asarray(shadow, dtype=np.float32) * (CARD * _window_light((tall, wide), light))
    return Image.fromarray(np.uint8(shade + 5 * _tooth((tall, wide)))).convert("RGB")


@cache
def _tooth(shape: tuple[int, int]) -> Floats:
    return grain(seeded("card"), shape) - 0.5


def _lay_scale(
    ground: Image.Image, sheet: SheetDrawn, corners: Corners, size: tuple[int, int]
) -> None:
    """Lay a scale of 10 cm, in true length, and six steps of grey below the sheet."""
    px_per_mm = (
        np.hypot(corners[1][0] - corners[0][0], corners[1][1] - corners[0][1]) / sheet.width_mm
    )
    length = min(SCALE_MM * px_per_mm, size[0] * 0.4)
    centimetre = px_per_mm * 10
    left, top = size[0] * 0.1, size[1] - 46
    pen = ImageDraw.Draw(ground)
    pen.rectangle([left - 8, top - 7, left + length + 8, top + 19], fill=(226, 225, 220))
    for n in range(int(length / centimetre)):
        tone = (28, 28, 28) if n % 2 == 0 else (226, 225, 220)
        pen.rectangle(
            [left + n * centimetre, top, left + (n + 1) * centimetre, top + 12], fill=tone
        )
    pen.rectangle(
        [left, top, left + int(length / centimetre) * centimetre, top + 12], outline=(28, 28, 28)
    )
    for n in range(6):
        grey = 34 + n * 42
        right = size[0] * 0.9 - (5 - n) * 30
        pen.rectangle([right - 30, top - 7, right, top + 19], fill=(grey, grey, grey))


def _as_jpeg(picture: Image.Image) -> bytes:
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=QUALITY)
    return written.getvalue()


# --- in its frame -----------------------------------------------------------------------------

MOULDINGS: tuple[Colour, ...] = (
    (0.30, 0.20, 0.13),
    (0.16, 0.15, 0.15),
    (0.58, 0.46, 0.26),
    (0.47, 0.36, 0.26),
)


def _in_frame(sheet: SheetDrawn, marks: Sequence[MarkDrawn], mat: Colour) -> PictureDrawn:
    """Return the work behind its mat in a moulding, on a pale wall, with light in the glass."""
    rng = seeded(sheet.number, "frame")
    drawn = _recto(sheet, marks)
    shown = Image.fromarray(np.uint8(np.clip(_behind_window(sheet, drawn), 0, 1) * 255))
    size = (LONG_PX, SHORT_PX) if sheet.width_mm >= sheet.height_mm else (SHORT_PX, LONG_PX)
    wide, tall = size
    wall = 204 + 12 * noise(rng, (tall, wide), 2, 2) + 6 * _tooth((tall, wide))
    picture = Image.fromarray(np.uint8(wall)).convert("RGB")
    scale = min(0.56 * wide / shown.width, 0.56 * tall / shown.height)
    inner = shown.resize(
        (round(shown.width * scale), round(shown.height * scale)), Image.Resampling.LANCZOS
    )
    left, top = (wide - inner.width) // 2, round((tall - inner.height) * 0.47)
    _moulding(picture, (left, top, left + inner.width, top + inner.height), rng, mat)
    picture.paste(inner, (left, top))
    right, bottom = left + inner.width, top + inner.height
    sides = (left, top), (right, top), (right, bottom), (left, bottom)
    one, two, three, four = ((x / wide, y / tall) for x, y in sides)
    return PictureDrawn(
        content=_as_jpeg(_with_sheen(picture)),
        width_px=wide,
        height_px=tall,
        corners=None,
        window=(one, two, three, four),
    )


def _behind_window(sheet: SheetDrawn, drawn: Floats) -> Floats:
    """Return what the window leaves open: the image and a little round it."""
    top, left, bottom, right = _image_box(sheet)
    room = round(ROOM_MM * sheet.px_per_mm) if sheet.image_mm is not None else 0
    return drawn[max(0, top - room) : bottom + room, max(0, left - room) : right + room]


def _moulding(
    picture: Image.Image,
    window: tuple[int, int, int, int],
    rng: np.random.Generator,
    mat: Colour,
) -> None:
    left, top, right, bottom = window
    wide = round(0.075 * max(picture.size))
    profile = round(0.026 * max(picture.size))
    outer = (
        left - wide - profile,
        top - wide - profile,
        right + wide + profile,
        bottom + round(1.25 * wide) + profile,
    )
    shadow = Image.new("L", picture.size)
    ImageDraw.Draw(shadow).rectangle(
        [outer[0] + 8, outer[1] + 12, outer[2] + 12, outer[3] + 16], fill=120
    )
    picture.paste((70, 68, 64), (0, 0), shadow.filter(ImageFilter.BoxBlur(12)))
    pen = ImageDraw.Draw(picture)
    tone = MOULDINGS[int(rng.integers(len(MOULDINGS)))]
    for step in range(profile):
        bright = 0.8 + 0.55 * np.sin(np.pi * step / profile) ** 2
        shade = tuple(int(min(255, part * bright * 255)) for part in tone)
        pen.rectangle(
            [outer[0] + step, outer[1] + step, outer[2] - step, outer[3] - step], outline=shade
        )
    board = tuple(int(part * 255) for part in mat)
    pen.rectangle(
        [outer[0] + profile, outer[1] + profile, outer[2] - profile, outer[3] - profile], fill=board
    )
    pen.line(
        [(outer[0] + profile, outer[1] + profile), (outer[2] - profile, outer[1] + profile)],
        fill=tuple(int(c * 0.8) for c in board),
        width=5,
    )
    bevel = tuple(int(c * 0.86) for c in board)
    pen.rectangle([left - 4, top - 4, right + 4, bottom + 4], fill=bevel)
    pen.rectangle([left - 4, top - 4, right + 4, top], fill=tuple(int(c * 0.72) for c in board))


def _with_sheen(picture: Image.Image) -> Image.Image:
    """Return the picture with the pale slant of a window in its glass."""
    wide, tall = picture.size[0] // 4, picture.size[1] // 4
    x = np.linspace(0, 1, wide, dtype=np.float32)[None, :]
    y = np.linspace(0, 1, tall, dtype=np.float32)[:, None]
    slant = np.exp(-(((x + 0.5 * y - 0.82) / 0.09) ** 2)) * 16
    veil = Image.fromarray(np.uint8(slant)).resize(picture.size, Image.Resampling.BILINEAR)
    picture.paste((255, 255, 255), (0, 0), veil)
    return picture
