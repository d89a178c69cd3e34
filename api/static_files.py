"""How do style, scripts, fonts and drawings of the program reach a browser?

They are the same for everybody and lie on the disk. A page asks for each by an address that
carries a digest of its content, so that a browser keeps it for good and still never shows
an old one after an update; asked for without the digest, a file is compared each time. Text
is sent compressed, style and scripts without their comments and indentation. Fonts are
compressed already and carry their version in their names.
"""

import gzip
import hashlib
import re
from functools import lru_cache
from pathlib import Path

from starlette.datastructures import Headers
from starlette.responses import FileResponse, Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

STATIC = Path(__file__).resolve().parent.parent / "templates" / "static"
# A year: what the address of never changes under it.
KEPT_FOR_GOOD = "public, max-age=31536000, immutable"
COMPARED_EACH_TIME = "public, no-cache"
COMPRESSED = frozenset({".css", ".js", ".svg"})
# Lines that are nothing but a comment: our scripts have no others, and no text over several lines.
COMMENTS = {
    ".css": re.compile(r"/\*.*?\*/", re.DOTALL),
    ".js": re.compile(r"^\s*//.*$", re.MULTILINE),
}
DIGEST_LETTERS = 12


def static(name: str) -> str:
    """Return the address of a static file, with the digest of what it holds now."""
    return f"/static/{name}?v={digest_of(name)}"


def digest_of(name: str) -> str:
    """Return the digest of a static file, as an address carries it."""
    file = STATIC / name
    return _digest(file, file.stat().st_mtime_ns)


@lru_cache
def _digest(file: Path, _changed_ns: int) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()[:DIGEST_LETTERS]


@lru_cache
def _compressed(file: Path, _changed_ns: int) -> bytes:
    return gzip.compress(_lean(file).encode(), 9, mtime=0)


def _lean(file: Path) -> str:
    text, comments = file.read_text("utf-8"), COMMENTS.get(file.suffix)
    if comments is None:
        return text
    lines = (line.strip() for line in comments.sub("", text).splitlines())
    return "\n".join(line for line in lines if line)


class StaticFilesKept(StaticFiles):
    """Style, scripts and fonts: the same for everybody, so a browser may keep them."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """Return the file, with how long it may be kept, compressed where that helps."""
        answer = await super().get_response(path, scope)
        kept = KEPT_FOR_GOOD if _is_kept_for_good(path, scope) else COMPARED_EACH_TIME
        answer.headers["Cache-Control"] = kept
        if Path(path).suffix not in COMPRESSED:
            return answer
        answer.headers["Vary"] = "Accept-Encoding"
        asked = Headers(scope=scope)
        takes_gzip = "gzip" in asked.get("accept-encoding", "") and "range" not in asked
        if takes_gzip and isinstance(answer, FileResponse) and answer.status_code == 200:
            return _as_gzip(answer)
        return answer


def _is_kept_for_good(path: str, scope: Scope) -> bool:
    asked = scope["query_string"].decode("latin-1")
    return path.endswith(".woff2") or asked == f"v={digest_of(path)}"


def _as_gzip(answer: FileResponse) -> Response:
    file = Path(answer.path)
    content = _compressed(file, file.stat().st_mtime_ns)
    kept = {
        name: value
        for name, value in answer.headers.items()
        if name not in ("content-length", "accept-ranges")
    }
    return Response(content, headers={**kept, "Content-Encoding": "gzip"})
