"""How is a file that somebody sent kept byte for byte, so that no crash can lose it?

Under the digest of its content, so that the same file is kept once and a file that no
record names does no harm. The bytes and then the folder are on disk before the name is
given out: a record never names a file that is not there.
"""

import hashlib
import os
import re
import shutil
import tempfile
from pathlib import Path

_NAME = re.compile(r"[0-9a-f]{64}")


def keep_file(folder: Path, content: bytes) -> str:
    """Keep the bytes and return their SHA-256, under which `kept_file` finds them."""
    sha256 = hashlib.sha256(content).hexdigest()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not (folder / sha256).exists():
        descriptor, written = tempfile.mkstemp(dir=folder, prefix="coming-")
        os.close(descriptor)
        write_to_disk(Path(written), content)
        Path(written).replace(folder / sha256)
        settle(folder)
    return sha256


def keep_written(folder: Path, file: Path) -> str:
    """Keep a file that is on the disk already; it stays where it is. Return its SHA-256."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with file.open("rb") as opened:
        sha256 = hashlib.file_digest(opened, "sha256").hexdigest()
        os.fsync(opened.fileno())
    if not (folder / sha256).exists():
        with tempfile.TemporaryDirectory(dir=folder, prefix="coming-") as bench:
            coming = Path(bench) / sha256
            _link_or_copy(file, coming)
            coming.replace(folder / sha256)
        settle(folder)
    return sha256


def _link_or_copy(file: Path, coming: Path) -> None:
    try:
        # The same bytes under a second name: a hundred megabytes are not written twice.
        os.link(file, coming)
    except OSError:
        shutil.copyfile(file, coming)
        settle(coming)


def kept_file(folder: Path, sha256: str) -> Path | None:
    """Return where the bytes of this digest are kept, None if they are not or it is none."""
    if not _NAME.fullmatch(sha256) or not (folder / sha256).is_file():
        return None
    return folder / sha256


def write_to_disk(file: Path, content: bytes) -> None:
    """Write a file of its own, on the disk when this returns; its folder is settled apart."""
    with file.open("wb") as opened:
        opened.write(content)
        opened.flush()
        os.fsync(opened.fileno())


def settle(there: Path) -> None:
    """Return when what was written of a file, or which files a folder holds, is on the disk."""
    descriptor = os.open(there, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
