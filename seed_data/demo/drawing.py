"""Who draws the photographs of the demonstration while it is being recorded?

A process beside it: it draws and keeps the originals, says what it drew, and then goes on
to make what the screen shows of them, so that nobody waits for the first list of works.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from models.exchange.kept_files import keep_file
from models.exchange.kept_photographs import MADE, ORIGINALS, PictureKept
from models.exchange.photograph_file import read_photograph
from seed_data.demo.drawn_photographs import Corners, PictureDrawn, SheetDrawn, photograph
from seed_data.demo.pictures_taken import PictureReady, PictureTaken, pictures_taken, sheets
from seed_data.demo.record import deeds_in_order

MEDIA_TYPE = "image/jpeg"
_Told = tuple[str, int, int, int, Corners | None, Corners | None]


@contextmanager
def drawn_beside(folder: Path) -> Iterator[Callable[[], list[PictureReady]]]:
    """Begin to draw into a folder of photographs; give what waits for the drawings."""
    drawing = subprocess.Popen(
        [sys.executable, "-m", __name__, str(folder)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    assert drawing.stdout is not None, "it was asked for"
    with drawing.stdout as told:
        yield lambda: _ready(told.read())


def draw(folder: Path) -> list[_Told]:
    """Draw and keep all photographs; return digest, bytes, pixels and corners of each."""
    lying = sheets()
    return [_kept(folder, _drawn(lying[one.number], one)) for one in _all_taken()]


def make_ready_for_screen(folder: Path, digests: list[str]) -> None:
    """Make what the screen shows of each original, as far as nobody has asked for it yet."""
    (folder / MADE).mkdir(mode=0o700, parents=True, exist_ok=True)
    for digest in digests:
        made = folder / MADE / digest
        if not made.exists():
            with tempfile.TemporaryDirectory(dir=folder / MADE, prefix="making-") as bench:
                read_photograph(folder / ORIGINALS / digest, Path(bench) / "made")
                if not made.exists():
                    (Path(bench) / "made").rename(made)


def _all_taken() -> list[PictureTaken]:
    return pictures_taken(deeds_in_order())


def _drawn(sheet: SheetDrawn, one: PictureTaken) -> PictureDrawn:
    return photograph(sheet, one.marks, view=one.view, stage=one.stage, on=one.on, mat=one.mat)


def _kept(folder: Path, drawn: PictureDrawn) -> _Told:
    digest = keep_file(folder / ORIGINALS, drawn.content)
    size = len(drawn.content), drawn.width_px, drawn.height_px
    return digest, *size, drawn.corners, drawn.window


def _ready(told: bytes) -> list[PictureReady]:
    drawn: list[_Told] = json.loads(told)
    return [_one_ready(taken, *one) for taken, one in zip(_all_taken(), drawn, strict=True)]


def _one_ready(
    taken: PictureTaken,
    sha256: str,
    byte_count: int,
    width_px: int,
    height_px: int,
    corners: Corners | None,
    window: Corners | None,
) -> PictureReady:
    kept = PictureKept(
        sha256=sha256,
        media_type=MEDIA_TYPE,
        byte_count=byte_count,
        file_name=taken.file_name,
        width_px=width_px,
        height_px=height_px,
    )
    return PictureReady(taken=taken, kept=kept, corners=corners, window=window)


def main() -> None:
    """Draw into the folder named first."""
    folder = Path(sys.argv[1])
    told = draw(folder)
    with sys.stdout as out:
        json.dump(told, out)
    make_ready_for_screen(folder, [digest for digest, *_ in told])


if __name__ == "__main__":
    main()
