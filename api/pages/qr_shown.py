"""How is the code of a label drawn, so that a telephone reads it?

One path of dark modules for an inline SVG, with the quiet zone that readers ask for.
"""

from dataclasses import dataclass

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


def qr_shown(content: str) -> QrShown:
    """Return the drawing of a code, in modules."""
    code = segno.make_qr(content, error=ERROR_LEVEL)
    rows = [list(row) for row in code.matrix]
    dark = (
        f"M{x + QUIET_MODULES} {y + QUIET_MODULES}h1v1h-1z"
        for y, row in enumerate(rows)
        for x, module in enumerate(row)
        if module
    )
    return QrShown(len(rows) + 2 * QUIET_MODULES, "".join(dark))
