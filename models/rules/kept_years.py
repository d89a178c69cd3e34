"""When need the search for the dates of a work not be made again?

The search says in how many years the chance of harm unseen reaches what a work may
be exposed to, from the day of its clocks. It rests on the kept rows of the work, on
the figures and experience in force and on the allowed chances, and not on the day on
which somebody asks. So what was found is kept beside the forecast, under a number made
from all that is the same for every work: under another number it is not used. Whoever
keeps new rows of a work throws its years away.

Every thirtieth night a work is searched anew whatever is kept, a thirtieth of the
works each night: no mistake lasts. What proves stored forecasts never reads these years.
"""

import hashlib
from collections.abc import Iterable

import numpy as np

from models.risk.acid_transfer import MIXTURE_MEDIANS, MIXTURE_SHAPE
from models.risk.hazard import Floats, Indexes
from models.rules.allowed_chance import allowed_chance
from models.rules.packed_rows import FORM, FigureColumns, Flags, Packed
from models.rules.policy import Policy
from models.rules.work_dates import REPLACEABILITIES, Searched

# Raise it whenever the search itself gives other years from the same rows.
SEARCH = 1
HELD_NIGHTS = 30
# Little-endian and without gaps: kept as bytes. Years of `work_dates.Searched`.
YEARS = np.dtype(
    [
        ("found_with", "<u8"),
        ("opened", "<f8"),
        ("others", "<f8"),
        ("package", "<f8"),
        ("look", "<f8"),
    ]
)
_NAMES = ("opened", "others", "package", "look")
# Years that differ by less, half a minute, are the same: a search ends within them.
_SAME_YEARS = 1e-6
# No number is 0.
_NOTHING = np.zeros(1, dtype=YEARS).tobytes()


def number_of(figures: FigureColumns, policy: Policy) -> int:
    """Return the number of what is in force as far as a search rests on it; never 0."""
    told = hashlib.sha256(f"{SEARCH} {FORM}".encode())
    allowed = [allowed_chance(of, policy) for of in REPLACEABILITIES]
    for values in (
        np.array([*allowed, *MIXTURE_MEDIANS, MIXTURE_SHAPE], dtype=np.float64),
        figures.number,
        figures.mechanism,
        figures.median,
        figures.shape,
        figures.theta,
    ):
        told.update(np.ascontiguousarray(values).tobytes())
    return int.from_bytes(told.digest()[:8], "little") or 1


def unpack_years(kept: Iterable[bytes | None]) -> Packed:
    """Return what is kept of each work, all zeros where nothing is."""
    return np.frombuffer(b"".join(its or _NOTHING for its in kept), dtype=YEARS)


def pack_years(found: Searched, found_with: int) -> Packed:
    """Return what was found as it is kept."""
    packed = np.zeros(len(found.opened), dtype=YEARS)
    packed["found_with"] = found_with
    for name in _NAMES:
        packed[name] = getattr(found, name)
    return packed


def searched(years: Packed) -> Searched:
    """Return the years of a search as they are kept."""
    return Searched(**{name: years[name] for name in _NAMES})


def hold(years: Packed, found_with: int, work_ids: Indexes, today: int) -> Flags:
    """Say of which works the years kept hold today."""
    is_turn = (work_ids + today) % HELD_NIGHTS == 0
    return np.asarray((years["found_with"] == np.uint64(found_with)) & ~is_turn)


def are_same(one: Packed, other: Packed) -> Flags:
    """Say of which works two searches found the same, but for rounding."""
    pairs: list[tuple[Floats, Floats]] = [(one[name], other[name]) for name in _NAMES]
    same = [np.isclose(a, b, rtol=1e-9, atol=_SAME_YEARS, equal_nan=True) for a, b in pairs]
    return np.asarray(np.all(same, axis=0))
