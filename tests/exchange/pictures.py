"""Photographs made for a test: four colours, so that it shows which way up they stand."""

from io import BytesIO
from typing import Any

import numpy as np
from PIL import Image
from pillow_heif import register_heif_opener

RED, GREEN, BLUE, YELLOW = (220, 30, 30), (30, 170, 40), (40, 60, 210), (230, 210, 40)
# Top left, top right, bottom left, bottom right of the upright picture.
CORNERS = (RED, GREEN, BLUE, YELLOW)
ORIENTATION = 0x0112


def four_colours(width_px: int = 96, height_px: int = 64) -> Image.Image:
    """Return an upright picture of four colours."""
    pixels = np.zeros((height_px, width_px, 3), np.uint8)
    half_row, half_column = height_px // 2, width_px // 2
    pixels[:half_row, :half_column] = RED
    pixels[:half_row, half_column:] = GREEN
    pixels[half_row:, :half_column] = BLUE
    pixels[half_row:, half_column:] = YELLOW
    return Image.fromarray(pixels)


def as_file(picture: Image.Image, kind: str = "JPEG", **how: Any) -> bytes:
    """Return the picture as a file of this kind."""
    register_heif_opener()
    content = BytesIO()
    quality = {"quality": 95} if kind in ("JPEG", "WEBP", "HEIF") else {}
    picture.save(content, kind, **quality, **how)
    return content.getvalue()


def with_orientation(orientation: int) -> bytes:
    """Return the file of a camera that was held so that the upright picture is `four_colours`."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    return as_file(Image.fromarray(as_stored(orientation)), exif=exif)


# Exif 2.32 (CIPA DC-008-2019), table of the tag Orientation: which side of the picture as
# seen the first row and the first column of the stored picture are.
FIRST_ROW_AND_COLUMN = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}


def as_stored(orientation: int) -> Any:
    """Return the pixels in the order in which the camera stored them."""
    row, column = FIRST_ROW_AND_COLUMN[orientation]
    seen = np.asarray(four_colours())
    stored = seen if row in ("top", "bottom") else seen.transpose(1, 0, 2)
    stored = stored[::-1] if row in ("bottom", "right") else stored
    return np.ascontiguousarray(stored[:, ::-1] if column in ("right", "bottom") else stored)


def corners(content: bytes) -> list[tuple[int, int, int]]:
    """Return which of the four colours stands in each corner, the nearest one."""
    with Image.open(BytesIO(content)) as picture:
        across, down = picture.width // 4, picture.height // 4
        places = [(x, y) for y in (down, 3 * down) for x in (across, 3 * across)]
        seen = [np.asarray(picture.convert("RGB").getpixel(place), float) for place in places]
    return [min(CORNERS, key=lambda c: float(np.abs(np.asarray(c) - one).sum())) for one in seen]
