"""What must lie ready for these remats: which pieces of which board, how much of what else?

Each layer that is put in is a piece as large as its sheet with the usual borders, so the
list tells pieces by material and size, and the area that they take together. It is no
plan of cuts: how the pieces lie on a board, and how large each window becomes, is
measured at the work. A spacer goes round the glass and is counted by its length; what
holds a work is counted by the work. Sheets that nobody measured are named, not guessed.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from models.rules.hinge_count import usual_hinge_count
from models.rules.remat_score import BORDER_MM, MM2_PER_M2
from models.vocabulary import LayerRole

# How a swap is written: the layer, what comes, what goes.
_IS, _INSTEAD = ": ", " instead of "
# Pieces are listed by whole centimetres, rounded up: nobody cuts a board closer. Our own choice.
PIECE_STEP_MM = 10
MM_PER_M = 1000
CORNERS = 4
TIMES = "\N{MULTIPLICATION SIGN}"

Size = tuple[int, int]


@dataclass(frozen=True)
class LayerSwap:
    """One layer that goes and what comes in its place; `old` is empty where one is added."""

    role: str
    new: str
    old: str


@dataclass(frozen=True, kw_only=True)
class RematToSupply:
    """A remat as far as it needs materials; the sheet in mm, None where nobody measured."""

    number: str
    swaps: tuple[LayerSwap, ...] = ()
    method: str = ""
    height_mm: float | None = None
    width_mm: float | None = None


@dataclass(frozen=True)
class PiecesOfSize:
    """So many pieces of one size, height before width, mm, and for which works."""

    size_mm: Size
    count: int
    numbers: tuple[str, ...]

    @property
    def said(self) -> str:
        """Return the size in words."""
        return f"{self.size_mm[0]} {TIMES} {self.size_mm[1]} mm"


@dataclass(frozen=True, kw_only=True)
class MaterialNeeded:
    """One material: its pieces, the largest first, what they take together, what is unmeasured."""

    material: str
    roles: tuple[str, ...]
    pieces: tuple[PiecesOfSize, ...]
    area_m2: float
    length_m: float
    unmeasured: tuple[str, ...]


@dataclass(frozen=True)
class HoldsNeeded:
    """What holds works anew: the method, for which works, and how many in all where that is so."""

    method: str
    numbers: tuple[str, ...]
    said: str


@dataclass(frozen=True)
class MaterialsNeeded:
    """What must lie ready for a set of remats."""

    sheets: tuple[MaterialNeeded, ...]
    holds: tuple[HoldsNeeded, ...]


def written_swap(swap: LayerSwap) -> str:
    """Return a swap as the line in which it is stored and shown."""
    written = f"{swap.role}{_IS}{swap.new}"
    return f"{written}{_INSTEAD}{swap.old}" if swap.old else written


def read_swap(line: str) -> LayerSwap:
    """Return a swap from the line in which it is stored."""
    role, _, rest = line.partition(_IS)
    new, _, old = rest.partition(_INSTEAD)
    return LayerSwap(role, new, old)


def piece_mm(height_mm: float | None, width_mm: float | None) -> Size | None:
    """Return the outer size of a mat for such a sheet, in whole centimetres; None if unmeasured."""
    if height_mm is None or width_mm is None:
        return None
    height, width = (
        PIECE_STEP_MM * ceil((side + 2 * BORDER_MM) / PIECE_STEP_MM)
        for side in (height_mm, width_mm)
    )
    return height, width


def materials_needed(remats: Sequence[RematToSupply]) -> MaterialsNeeded:
    """Return what these remats need, by material and by what holds the works."""
    by_material: dict[str, list[tuple[RematToSupply, str]]] = defaultdict(list)
    for remat in remats:
        for swap in remat.swaps:
            by_material[swap.new].append((remat, swap.role))
    needed = [_needed(material, uses) for material, uses in by_material.items()]
    return MaterialsNeeded(
        sheets=tuple(sorted(needed, key=lambda one: (-one.area_m2, one.material))),
        holds=_holds(remats),
    )


def _needed(material: str, uses: Sequence[tuple[RematToSupply, str]]) -> MaterialNeeded:
    pieces: dict[Size, list[str]] = defaultdict(list)
    length_mm, unmeasured = 0, []
    for remat, role in uses:
        size = piece_mm(remat.height_mm, remat.width_mm)
        if size is None:
            unmeasured.append(remat.number)
        elif role == LayerRole.SPACER:
            length_mm += 2 * sum(size)
        else:
            pieces[size].append(remat.number)
    listed = [
        PiecesOfSize(size, len(numbers), tuple(dict.fromkeys(numbers)))
        for size, numbers in sorted(pieces.items(), key=lambda one: -one[0][0] * one[0][1])
    ]
    return MaterialNeeded(
        material=material,
        roles=tuple(dict.fromkeys(role for _, role in uses)),
        pieces=tuple(listed),
        area_m2=sum(one.count * one.size_mm[0] * one.size_mm[1] for one in listed) / MM2_PER_M2,
        length_m=length_mm / MM_PER_M,
        unmeasured=tuple(dict.fromkeys(unmeasured)),
    )


def _holds(remats: Sequence[RematToSupply]) -> tuple[HoldsNeeded, ...]:
    by_method: dict[str, list[RematToSupply]] = defaultdict(list)
    for remat in remats:
        if remat.method:
            by_method[remat.method].append(remat)
    return tuple(
        HoldsNeeded(method, tuple(one.number for one in of), _count_said(method, of))
        for method, of in sorted(by_method.items())
    )


def _count_said(method: str, remats: Sequence[RematToSupply]) -> str:
    """Return how many in all; empty where that is for whoever stands at the bench to say."""
    if method == "corner pockets":
        return f"{CORNERS * len(remats)} pockets, one to a corner"
    if "hinge" not in method:
        return ""
    counts = Counter(r.width_mm is not None for r in remats)
    hinges = sum(usual_hinge_count(r.width_mm) for r in remats if r.width_mm is not None)
    rest = f", and those of {counts[False]} unmeasured" if counts[False] else ""
    return f"{hinges} hinges by the usual count{rest}" if counts[True] else ""
