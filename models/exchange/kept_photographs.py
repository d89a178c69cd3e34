"""Where do the pictures of photographs lie, and how does one come there?

In one folder: the originals byte for byte under their SHA-256, and beside them, under the
same name, what was made of each for the screen. The original is on the disk before anything
is made of it, and all of it before its record: a record never names a picture that is not
there. What was made can always be made again from the original.
"""

from dataclasses import dataclass
from pathlib import Path

from models.exchange.kept_files import keep_written, kept_file
from models.exchange.photograph_file import PARTS, SIDES_PX
from models.exchange.photographs_apart import make_apart, place_of_part

ORIGINALS, MADE = "originals", "made"


@dataclass(frozen=True, kw_only=True)
class PictureKept:
    """A picture as it is kept: sizes are those of the upright picture; the date is EDTF."""

    sha256: str
    media_type: str
    byte_count: int
    file_name: str
    width_px: int
    height_px: int
    taken_on: str | None = None


def keep_picture(folder: Path, file: Path, file_name: str) -> PictureKept:
    """Keep a file that is on the disk, and make of it what the screen shows.

    Raises BadValue when it is no photograph that can be opened.
    """
    sha256 = keep_written(folder / ORIGINALS, file)
    read = make_apart(folder / ORIGINALS / sha256, folder / MADE)
    return PictureKept(
        sha256=sha256,
        media_type=read.media_type,
        byte_count=file.stat().st_size,
        file_name=file_name,
        width_px=read.width_px,
        height_px=read.height_px,
        taken_on=read.taken_on,
    )


def original_of(folder: Path, sha256: str) -> Path | None:
    """Return where the original of this digest is kept, None if it is not."""
    return kept_file(folder / ORIGINALS, sha256)


def picture_for_screen(folder: Path, sha256: str, side_px: int) -> Path | None:
    """Return the picture of this longest side; made again if it has gone, None without original."""
    made = _made(folder, sha256)
    return made / f"{side_px}.jpg" if made and side_px in SIDES_PX else None


def part_for_screen(
    folder: Path, sha256: str, *, level: int, row: int, column: int
) -> bytes | None:
    """Return one square part as JPEG; level 0 is full size, each further one half of it."""
    made = _made(folder, sha256)
    place = made and place_of_part(made, f"{level}/{row}/{column}")
    if not made or not place:
        return None
    begin, length = place
    with (made / PARTS).open("rb") as file:
        file.seek(begin)
        return file.read(length)


def _made(folder: Path, sha256: str) -> Path | None:
    made = folder / MADE / sha256
    if (original := original_of(folder, sha256)) is None:
        return None
    if not made.is_dir():
        make_apart(original, folder / MADE)
    return made
