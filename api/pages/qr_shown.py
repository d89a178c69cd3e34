"""How is the code of a label drawn, so that a telephone reads it?

One path of dark modules for an inline SVG, with the quiet zone that readers ask for.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import segno

# Light modules on every side: ISO/IEC 18004.
QUIET_MODULES = 4
# Up to a quarter of it may be spoilt: a sheet in a frame grows old.
ERROR_LEVEL = "q"


@dataclass(frozen=True)
class QrShown:
    """A QR code: its side in modules, quiet zone included, and the path of its dark ones."""

    side: int
    path: str


# The sheets of one work carry the same code, and the best of eight patterns is sought for it:
# a third of the time that a sheet takes.
@lru_cache(maxsize=256)
def qr_shown(content: str) -> QrShown:
    """Return the drawing of a code, in modules."""
    code = segno.make_qr(content, error=ERROR_LEVEL)
    dark: list[str] = []
    for y, row in enumerate(code.matrix, QUIET_MODULES):
        x = QUIET_MODULES
        # Dark modules beside each other are one rectangle.
        for module, those in groupby(row):
            length = len(list(those))
            if module:
                dark.append(f"M{x} {y}h{length}v1h-{length}z")
            x += length
    return QrShown(len(code.matrix) + 2 * QUIET_MODULES, "".join(dark))
