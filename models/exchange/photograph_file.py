"""What does the file of a photograph hold, and what is made of it for the screen?

The original stays as it is. Made of it, upright and in sRGB, are a few smaller pictures
and, for looking closely, square parts at full size and at each half of it. None carries
anything but the picture itself: no camera, no place, no date. The size is looked at
before the picture is opened, so that a file made to fill the memory is refused at once.

Runs in a child process, see `models.exchange.photographs_apart`.
"""

import json
import os
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from io import BytesIO
from pathlib import Path

from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError
from pillow_heif import register_heif_opener

from models.errors import BadValue
from models.exchange.kept_files import settle, write_to_disk

# What is taken, and what each is called on the web. MPO: a JPEG with further pictures in it.
MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "MPO": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "WEBP": "image/webp",
    "HEIF": "image/heic",
}
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP", "HEIF")
FORMATS_SAID = "JPEG, PNG, TIFF, WebP or HEIC"
# The largest sensors of cameras for reproduction: 150 million pixels. Opened upright and in
# RGB, that is twice 600 MB.
MOST_PIXELS = 150_000_000
MOST_SIDE_PX = 65_000
# Longest sides of what is shown: in a list, on a page of a tablet, on a large screen.
SIDES_PX = (320, 960, 2400)
PART_PX = 512
QUALITY, QUALITY_OF_PARTS = 82, 88
WHITE = (255, 255, 255)
FACTS, PARTS = "facts.json", "parts.bin"

_CAMERA_DATE = re.compile(r"(\d{4}):(\d\d):(\d\d)\b")


@dataclass(frozen=True, kw_only=True)
class PhotographRead:
    """What is known of a photograph; sizes of the upright picture, the camera's date as EDTF."""

    media_type: str
    width_px: int
    height_px: int
    taken_on: str | None


def read_photograph(file: Path, made: Path) -> PhotographRead:
    """Read the file and leave what is made of it in the new folder `made`.

    Raises BadValue for what is no photograph, too large, or not whole.
    """
    register_heif_opener()
    # Our own limit stands below, with words of ours.
    Image.MAX_IMAGE_PIXELS = None
    try:
        with Image.open(file, formats=FORMATS) as opened:
            refuse_too_large(*opened.size)
            taken_on = _camera_date(opened)
            media_type = MEDIA_TYPES[opened.format or ""]
            upright = _in_srgb(_upright(opened))
    except UnidentifiedImageError:
        raise _refused("This is not a photograph.", f"Send {FORMATS_SAID}.") from None
    except (OSError, SyntaxError, ValueError, EOFError, KeyError, ArithmeticError):
        message = "This photograph is damaged, or ends before its picture does."
        raise _refused(message, "Send it again from the camera.") from None
    read = PhotographRead(
        media_type=media_type,
        width_px=upright.width,
        height_px=upright.height,
        taken_on=taken_on,
    )
    _leave(made, upright, read)
    return read


def refuse_too_large(width_px: int, height_px: int) -> None:
    """Raise BadValue for a picture of more pixels than are opened here."""
    if width_px * height_px > MOST_PIXELS or max(width_px, height_px) > MOST_SIDE_PX:
        message = (
            f"This photograph is {width_px} by {height_px} pixels;"
            f" up to {MOST_PIXELS // 1_000_000} million pixels are opened here."
        )
        raise _refused(message, "Save it smaller, or in parts.")


def levels(width_px: int, height_px: int) -> int:
    """Return how many levels of parts there are: full size, its half and so on.

    Down to what the largest whole picture shows as well.
    """
    longest, count = max(width_px, height_px), 0
    while longest > SIDES_PX[-1]:
        longest, count = -(-longest // 2), count + 1
    return count


def size_at(level: int, width_px: int, height_px: int) -> tuple[int, int]:
    """Return the size of the whole picture at a level: 0 is full size, 1 its half."""
    step = 1 << level
    return -(-width_px // step), -(-height_px // step)


def _refused(message: str, right: str) -> BadValue:
    return BadValue.at("/file", message, right)


def _camera_date(opened: Image.Image) -> str | None:
    exif = opened.getexif()
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    told = inner.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    found = _CAMERA_DATE.match(told) if isinstance(told, str) else None
    if found is None:
        return None
    try:
        return date(*(int(part) for part in found.groups())).isoformat()
    except ValueError:
        return None


def _upright(opened: Image.Image) -> Image.Image:
    opened.load()
    # In place, so that a large picture is not in memory three times.
    ImageOps.exif_transpose(opened, in_place=True)
    return opened


def _in_srgb(picture: Image.Image) -> Image.Image:
    """Return the picture in RGB, its colours as its profile means them, on white paper."""
    profile = picture.info.get("icc_profile")
    plain = _in_a_plain_mode(picture)
    if profile or plain.mode == "LAB":
        plain = _by_profile(plain, profile)
    plain = plain if plain.mode == "RGB" else plain.convert("RGB")
    # Everything that came along with the picture stays behind.
    plain.info = {}
    return plain


def _in_a_plain_mode(picture: Image.Image) -> Image.Image:
    if picture.mode.startswith("I;16"):
        return picture.point(lambda value: value / 256).convert("L")
    if picture.mode in ("I", "F"):
        low, high = (float(value) for value in _extremes(picture))
        spread = 255 / (high - low) if high > low else 0
        return picture.point(lambda value: value * spread - low * spread).convert("L")
    if picture.has_transparency_data:
        seen = picture.convert("RGBA")
        paper = Image.new("RGB", seen.size, WHITE)
        paper.paste(seen, mask=seen.getchannel("A"))
        return paper
    return picture if picture.mode in ("L", "RGB", "CMYK", "LAB") else picture.convert("RGB")


def _extremes(picture: Image.Image) -> tuple[float, float]:
    low, high = picture.getextrema()
    assert isinstance(low, int | float), "a grey picture has one band"
    assert isinstance(high, int | float), "a grey picture has one band"
    return low, high


def _by_profile(picture: Image.Image, profile: bytes | None) -> Image.Image:
    try:
        of_file = (
            ImageCms.ImageCmsProfile(BytesIO(profile)) if profile else ImageCms.createProfile("LAB")
        )
        seen = ImageCms.profileToProfile(
            picture, of_file, ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        # A profile that is damaged or of another kind of picture says nothing about colours.
        return picture
    return picture if seen is None else seen


def _leave(made: Path, upright: Image.Image, read: PhotographRead) -> None:
    made.mkdir()
    for side in SIDES_PX:
        smaller = ImageOps.contain(upright, (side, side)) if _is_longer(upright, side) else upright
        write_to_disk(made / f"{side}.jpg", _as_jpeg(smaller, QUALITY))
    index = _leave_parts(made, upright)
    told = json.dumps({**asdict(read), "parts": index})
    write_to_disk(made / FACTS, told.encode())
    settle(made)


def _is_longer(picture: Image.Image, side_px: int) -> bool:
    return max(picture.size) > side_px


def _leave_parts(made: Path, upright: Image.Image) -> dict[str, tuple[int, int]]:
    """Write the parts of every level one after another; return where each begins and its length."""
    index: dict[str, tuple[int, int]] = {}
    with (made / PARTS).open("wb") as file:
        for name, part in _parts(upright):
            content = _as_jpeg(part, QUALITY_OF_PARTS)
            index[name] = (file.tell(), len(content))
            file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return index


def _parts(upright: Image.Image) -> Iterator[tuple[str, Image.Image]]:
    for level in range(levels(*upright.size)):
        whole = upright.reduce(1 << level) if level else upright
        for row, top in enumerate(range(0, whole.height, PART_PX)):
            for column, left in enumerate(range(0, whole.width, PART_PX)):
                right = min(left + PART_PX, whole.width)
                lower = min(top + PART_PX, whole.height)
                yield f"{level}/{row}/{column}", whole.crop((left, top, right, lower))


def _as_jpeg(picture: Image.Image, quality: int) -> bytes:
    content = BytesIO()
    picture.save(content, "JPEG", quality=quality)
    return content.getvalue()
