"""How is a file that somebody sent kept byte for byte, so that no crash can lose it?

Under the digest of its content, so that the same file is kept once and a file that no
record names does no harm. The bytes and then the folder are on disk before the name is
given out: a record never names a file that is not there.
"""

import hashlib
import os
import re
import tempfile
from pathlib import Path

_NAME = re.compile(r"[0-9a-f]{64}")


def keep_file(folder: Path, content: bytes) -> str:
    """Keep the bytes and return their SHA-256, under which `kept_file` finds them."""
    sha256 = hashlib.sha256(content).hexdigest()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not (folder / sha256).exists():
        descriptor, written = tempfile.mkstemp(dir=folder, prefix="coming-")
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(written).replace(folder / sha256)
        _fsync(folder)
    return sha256


def kept_file(folder: Path, sha256: str) -> Path | None:
    """Return where the bytes of this digest are kept, None if they are not or it is none."""
    if not _NAME.fullmatch(sha256) or not (folder / sha256).is_file():
        return None
    return folder / sha256


def _fsync(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
