"""How does a photograph that somebody sends come onto the disk, and how is it shown again?

Before any transaction: what is slow never holds up whoever wants to write.
"""

import shutil
import tempfile
from math import ceil
from pathlib import Path

from starlette.datastructures import UploadFile

from api.installation import Installation
from api.settings import Settings
from api.typed_text import without_forbidden
from models.errors import BadValue, NotFound
from models.exchange.kept_photographs import (
    PictureKept,
    keep_picture,
    original_of,
    part_for_screen,
    picture_for_screen,
)

MOST_FILE_BYTES = 100_000_000
# A form around the file: its other fields.
MOST_FORM_BYTES = MOST_FILE_BYTES + 1_000_000
PHOTOGRAPHS = "photographs"
COMING = "coming"
SMALLER = "Up to 100 MB are taken: save it smaller, as JPEG for example."


def keep_photograph_sent(here: Installation, upload: UploadFile) -> PictureKept:
    """Keep a photograph that came with a form, and read it. Raises BadValue."""
    with tempfile.TemporaryDirectory(dir=coming_folder(here.settings)) as bench:
        written = Path(bench) / "sent"
        with written.open("wb") as file:
            shutil.copyfileobj(upload.file, file, 1 << 20)
        require_a_size(written.stat().st_size)
        return keep_photograph(here, written, upload.filename or "")


def keep_photograph(here: Installation, file: Path, name: str) -> PictureKept:
    """Keep a photograph that is on the disk, and read it. Raises BadValue."""
    said = without_forbidden(Path(name).name)
    return keep_picture(photograph_folder(here.settings), file, said)


def require_a_size(byte_count: int, at: str = "/file") -> None:
    """Raise BadValue, `at` where it was told, for no file, an empty one, or one too large."""
    if byte_count < 1:
        raise BadValue.at(at, "No photograph was sent, or an empty file.", "Choose a photograph.")
    if byte_count > MOST_FILE_BYTES:
        megabytes = ceil(byte_count / 1_000_000)
        raise BadValue.at(at, f"This photograph has {megabytes} MB.", SMALLER)


def path_of_original(here: Installation, sha256: str) -> Path:
    """Return where an original is kept. Raises NotFound."""
    return _there(original_of(photograph_folder(here.settings), sha256), sha256)


def path_of_picture(here: Installation, sha256: str, side_px: int) -> Path:
    """Return the picture with this longest side. Raises NotFound."""
    return _there(picture_for_screen(photograph_folder(here.settings), sha256, side_px), sha256)


def part_of_picture(here: Installation, sha256: str, *, level: int, row: int, column: int) -> bytes:
    """Return one square part of a picture. Raises NotFound."""
    folder = photograph_folder(here.settings)
    part = part_for_screen(folder, sha256, level=level, row=row, column=column)
    if part is None:
        raise NotFound("part", f"{level}/{row}/{column}")
    return part


def photograph_folder(settings: Settings) -> Path:
    """Return the folder in which photographs are kept."""
    return settings.data / PHOTOGRAPHS


def coming_folder(settings: Settings) -> Path:
    """Return the folder for what is on its way, made if need be."""
    folder = photograph_folder(settings) / COMING
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def _there(file: Path | None, sha256: str) -> Path:
    if file is None:
        raise NotFound("picture", sha256[:12])
    return file
