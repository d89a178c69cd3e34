"""How does a sheet look of which there is no photograph: blank, in its own proportion?

Lengths are units of the drawing; a sheet of which a side was not measured is drawn as
high as most of paper are against their width.
"""

from dataclasses import dataclass

# The drawing is so wide, and no sheet in it wider or higher than this.
WIDTH, LARGEST = 240.0, 200.0
MARGIN = (WIDTH - LARGEST) / 2
# The sides of a sheet of ISO 216, where nobody measured them.
UNKNOWN_HEIGHT, UNKNOWN_WIDTH = 297, 210


@dataclass(frozen=True)
class SheetDrawing:
    """A sheet in the middle of its drawing; `is_to_scale` where both sides were measured."""

    width: float
    height: float
    left: float
    top: float
    sheet_width: float
    sheet_height: float
    is_to_scale: bool


@dataclass(frozen=True)
class SheetInLittle:
    """The picture of a work beside its line: a photograph, else the blank sheet."""

    photograph_id: int | None
    drawing: SheetDrawing


def sheet_drawing(height: float | None, width: float | None) -> SheetDrawing:
    """Return the drawing of a blank sheet of these sides, both in the same unit."""
    is_to_scale = bool(height and width)
    high, wide = (height, width) if is_to_scale else (UNKNOWN_HEIGHT, UNKNOWN_WIDTH)
    scale = LARGEST / max(high or 1, wide or 1)
    sheet_width, sheet_height = (round((side or 1) * scale, 1) for side in (wide, high))
    return SheetDrawing(
        width=WIDTH,
        height=round(sheet_height + 2 * MARGIN, 1),
        left=round((WIDTH - sheet_width) / 2, 1),
        top=MARGIN,
        sheet_width=sheet_width,
        sheet_height=sheet_height,
        is_to_scale=is_to_scale,
    )
