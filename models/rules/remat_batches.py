"""Which remats are best done together: of one board, one frame size, one room?

Boards are cut by the sheet, frames of one size take one set-up of the cutter, and
a room is emptied once. A batch has at least two works; the largest comes first.
One after the other they are best done board by board, within a board room by room,
and in a room the larger frames first: what is left of a sheet does for a smaller mat.
"""

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

SMALLEST_BATCH = 2
TIMES = "\N{MULTIPLICATION SIGN}"
# Frames that differ by less take the same set-up, mm. Default of this project (judgement).
FRAME_STEP_MM = 50


@dataclass(frozen=True, kw_only=True)
class RematToBatch:
    """A remat as far as it may be done with others; sizes of the sheet in mm."""

    work_id: int
    board: str = ""
    room: str = ""
    height_mm: float | None = None
    width_mm: float | None = None


@dataclass(frozen=True)
class Batch:
    """Remats with something in common, in the order in which they were given."""

    what: str
    work_ids: tuple[int, ...]


@dataclass(frozen=True)
class Batches:
    """The same remats put together in three ways."""

    by_board: tuple[Batch, ...]
    by_frame_size: tuple[Batch, ...]
    by_room: tuple[Batch, ...]


def batches(remats: Sequence[RematToBatch]) -> Batches:
    """Return the batches of these remats; what nobody recorded makes no batch."""
    return Batches(
        by_board=_together(remats, lambda one: one.board),
        by_frame_size=_together(remats, _frame_size),
        by_room=_together(remats, lambda one: one.room),
    )


def best_order(remats: Sequence[RematToBatch]) -> tuple[int, ...]:
    """Return the works in the order in which they are best done one after the other."""
    many = {batch.what: len(batch.work_ids) for batch in batches(remats).by_board}
    ordered = sorted(
        remats, key=lambda one: (-many.get(one.board, 0), one.board, one.room, -_area_mm2(one))
    )
    return tuple(one.work_id for one in ordered)


def _area_mm2(one: RematToBatch) -> float:
    return (one.height_mm or 0.0) * (one.width_mm or 0.0)


def _together(
    remats: Sequence[RematToBatch], common: Callable[[RematToBatch], str]
) -> tuple[Batch, ...]:
    found: dict[str, list[int]] = defaultdict(list)
    for one in remats:
        found[common(one)].append(one.work_id)
    large = [
        Batch(what, tuple(work_ids))
        for what, work_ids in found.items()
        if what and len(work_ids) >= SMALLEST_BATCH
    ]
    return tuple(sorted(large, key=lambda batch: (-len(batch.work_ids), batch.what)))


def _frame_size(one: RematToBatch) -> str:
    """Return the size that the sheet needs, height first, in whole steps; empty if unmeasured."""
    if one.height_mm is None or one.width_mm is None:
        return ""
    height, width = (
        FRAME_STEP_MM * ceil(side / FRAME_STEP_MM) for side in (one.height_mm, one.width_mm)
    )
    return f"sheets up to {height} {TIMES} {width} mm"
