"""What can be told of the windows of one mat, and how are they said?

Most mats have one window, and nobody says more of it. A mat with several shows several
works, or a title beneath one. Each window is told by its height and width, by where it lies
from the left and the upper edge of the mat as seen from the front, and by what it shows; of
each as much as is known. They are kept as JSON text in whole micrometres: nothing
is ever searched by them.
"""

import json
from collections.abc import Sequence
from itertools import combinations

from models.errors import BadValue
from models.rules.record_values import Faults, a_line, exact_um, offset_um, size_mm
from models.rules.visit_as_told import WindowTold
from models.vocabulary import LayerRole

# More windows than this no mat has that fits on a board.
MOST_WINDOWS = 40
LONGEST_SHOWS = 200
HAS_WINDOWS = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT})
_SIZES = ("height_mm", "width_mm", "left_mm", "top_mm")


def windows_text(role: LayerRole, windows: Sequence[WindowTold]) -> str | None:
    """Return the windows as they are kept; None where nothing is told of them.

    Raises BadValue for what cannot be.
    """
    if not windows:
        return None
    if role not in HAS_WINDOWS:
        message = f"A {role} has no windows."
        raise BadValue.at("", message, f"Tell them of a {' or '.join(sorted(HAS_WINDOWS))}.")
    if len(windows) > MOST_WINDOWS:
        raise BadValue.at("", f"{len(windows)} windows in one mat.", f"at most {MOST_WINDOWS}")
    faults = Faults()
    kept = [_kept(faults, f"/{number}", window) for number, window in enumerate(windows)]
    faults.refuse()
    _refuse_overlapping(kept)
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def read_windows(text: str | None) -> tuple[WindowTold, ...]:
    """Return the windows that `windows_text` wrote; none where nothing was told."""
    return tuple(_read(kept) for kept in json.loads(text or "[]"))


def window_count(text: str | None) -> int:
    """Return how many windows are told of; 0 where nobody said."""
    return len(json.loads(text or "[]"))


def only_window_mm(texts: Sequence[str | None]) -> tuple[float, float] | None:
    """Return height and width of the one window of these mats, front to back.

    Of a double mat the innermost counts, which lies at the sheet; None where there are
    several windows or nobody measured the one.
    """
    for text in reversed(texts):
        windows = read_windows(text)
        if windows:
            height, width = windows[0].height_mm, windows[0].width_mm
            is_known = len(windows) == 1 and height is not None and width is not None
            return (height or 0.0, width or 0.0) if is_known else None
    return None


def windows_said(windows: Sequence[WindowTold]) -> str:
    """Return the windows in words: "2 windows: 210 x 148 mm, the wren; 210 x 148 mm"."""
    many = "1 window" if len(windows) == 1 else f"{len(windows)} windows"
    told = "; ".join(filter(None, map(_said, windows)))
    return ": ".join(filter(None, (many, told))) if windows else ""


def _said(window: WindowTold) -> str:
    size = place = ""
    if window.height_mm is not None:
        size = f"{window.height_mm:g} \N{MULTIPLICATION SIGN} {window.width_mm:g} mm"
    if window.left_mm is not None:
        place = f"{window.left_mm:g} mm from the left, {window.top_mm:g} from the top"
    return ", ".join(filter(None, (size, place, window.shows)))


def _kept(faults: Faults, at: str, window: WindowTold) -> dict[str, int | str]:
    kept: dict[str, int | str] = {}
    for pair in (("height_mm", "width_mm"), ("left_mm", "top_mm")):
        missing = [name for name in pair if getattr(window, name) is None]
        if len(missing) == 1:
            message = f"The {_words(pair[0])} and the {_words(pair[1])} go together."
            faults.note(f"{at}/{missing[0]}", BadValue.at("", message, "Tell both, or neither."))
    for name in _SIZES:
        check = exact_um if name in _SIZES[:2] else offset_um
        um = faults.read_if_given(f"{at}/{name}", check, getattr(window, name))
        if um is not None:
            kept[f"{name[:-3]}_um"] = um
    shows = faults.read(f"{at}/shows", a_line("text", LONGEST_SHOWS), window.shows)
    return {**kept, "shows": shows} if shows else kept


def _words(name: str) -> str:
    return {"left_mm": "way from the left", "top_mm": "way from the top"}.get(name, name[:-3])


def _read(kept: dict[str, int | str]) -> WindowTold:
    height, width, left, top = (
        size_mm(um) if isinstance(um := kept.get(f"{name[:-3]}_um"), int) else None
        for name in _SIZES
    )
    return WindowTold(
        height_mm=height,
        width_mm=width,
        left_mm=left,
        top_mm=top,
        shows=str(kept.get("shows", "")),
    )


def _refuse_overlapping(kept: Sequence[dict[str, int | str]]) -> None:
    placed = [
        (number, window)
        for number, window in enumerate(map(_read, kept))
        if window.height_mm is not None and window.left_mm is not None
    ]
    for (one_no, one), (other_no, other) in combinations(placed, 2):
        if _overlap(one.left_mm, one.width_mm, other.left_mm, other.width_mm) and _overlap(
            one.top_mm, one.height_mm, other.top_mm, other.height_mm
        ):
            message = f"Windows {one_no + 1} and {other_no + 1} would overlap."
            raise BadValue.at(f"/{other_no}/left_mm", message, "Between two windows stands a bar.")


def _overlap(
    begin: float | None, long: float | None, other: float | None, other_long: float | None
) -> bool:
    one_end, other_end = (begin or 0) + (long or 0), (other or 0) + (other_long or 0)
    return (begin or 0) < other_end and (other or 0) < one_end
