"""What of a work must be kept so that its dates can be worked out anew without its records?

Two things: the *rows* by which its package can harm it, with their clocks as they
stood on one day and the rate at which they run on; and a *frame*: the absolute
days and plain facts on which the schedule rests. Neither holds a typical time, an
experience factor or a setting of the policy: those are put in when dates are
worked out, so that a change of them needs the kept rows alone.

Rows name their figure by a number made from its mechanism and grade, which is the
same in every house and every version. Days are whole days since 1970-01-01 as
floats, NaN where there is none.
"""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from models.risk.hazard import Components, Floats, Indexes, begins
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import ComponentRow, Experience
from models.vocabulary import SEEN_FROM_OUTSIDE, UNKNOWN_GRADES, Mechanism, Shown

Flags = NDArray[np.bool_]
Packed = NDArray[np.void]

MECHANISMS = tuple(Mechanism)
PLACES = tuple(Shown)
_PLACE_NUMBERS = {place: number for number, place in enumerate(PLACES)}

# Little-endian and without gaps: kept as bytes. A change of either is a new FORM.
FORM = 1
ROW = np.dtype(
    [
        ("figure", "<u4"),
        ("shown", "i1"),
        ("can_be_seen", "?"),
        ("is_in_chance", "?"),
        ("is_of_package", "?"),
        ("factor", "<f8"),
        ("rate_per_year", "<f8"),
        ("clock_seen", "<f8"),
        ("clock_now", "<f8"),
        ("weights", "<f8", (3,)),
    ]
)
FRAME = np.dtype(
    [
        # Numbers of the words in the order of their lists.
        ("replaceability", "i1"),
        ("use", "i1"),
        ("soundness", "i1"),
        # One bit for each place that was seen and clear at the last unframing.
        ("clean", "i1"),
        ("left_in_peace", "?"),
        ("was_ever_examined", "?"),
        ("is_live_stain", "?"),
        # The day of the clocks, and the first on which one started or its place was seen.
        ("as_of", "<f8"),
        ("since", "<f8"),
        ("mounted", "<f8"),
        ("unframed", "<f8"),
        ("opened", "<f8"),
        ("opened_for_certain", "<f8"),
        ("looked", "<f8"),
        ("box_checked", "<f8"),
        ("clean_floor", "<f8"),
        ("urgent", "<f8"),
        # The days that somebody put in place of those by the rules.
        ("put_off_look", "<f8"),
        ("put_off_unframing", "<f8"),
        ("put_off_box_check", "<f8"),
        ("put_off_remat", "<f8"),
    ]
)
IS_OUTSIDE = np.array([place in SEEN_FROM_OUTSIDE for place in PLACES])


@dataclass(frozen=True)
class KeptWork:
    """One work as it is kept: a FRAME, ROWs, and the name of each row's layer.

    One more name than rows: the weak layer where none leads.
    """

    frame: bytes
    rows: bytes
    names: tuple[str, ...]


@dataclass(frozen=True)
class FigureColumns:
    """The figures in force as columns, in the order of their numbers."""

    number: NDArray[np.uint32]
    mechanism: Indexes
    median: Floats
    shape: Floats
    theta: Floats


@dataclass(frozen=True)
class HarmRows:
    """The rows of many works with the figures in force in their place."""

    components: Components
    mechanism: Indexes
    shown: Indexes
    is_outside: Flags
    can_be_seen: Flags
    is_in_chance: Flags
    is_of_package: Flags


def figure_number(mechanism: Mechanism, grade: str) -> int:
    """Return the number by which a kept row names its figure."""
    return zlib.crc32(f"{mechanism.value}/{grade}".encode())


def pack_rows(rows: Sequence[ComponentRow], figures: DefaultFigures) -> Packed:
    """Return the rows of one work, in their order, as they are kept."""
    return np.array([_packed(row, figures) for row in rows], dtype=ROW)


def weak_layer(names: Sequence[str], leading: int) -> str:
    """Return the name of the row that leads among those of one work; negative: none does."""
    return names[leading] if leading >= 0 else names[-1]


def as_of_day(frame: bytes) -> int:
    """Return the day of the clocks of one kept work."""
    return int(np.frombuffer(frame, dtype=FRAME)["as_of"][0])


def is_same(one: KeptWork, other: KeptWork) -> bool:
    """Say whether two works are kept alike, but for the rounding of their clocks."""
    if one.names != other.names or len(one.rows) != len(other.rows):
        return False
    pairs = ((ROW, one.rows, other.rows), (FRAME, one.frame, other.frame))
    return all(
        _is_close(np.frombuffer(its, dtype=form)[name], np.frombuffer(others, dtype=form)[name])
        for form, its, others in pairs
        for name in form.names or ()
    )


def _is_close(one: NDArray[np.generic], other: NDArray[np.generic]) -> bool:
    return np.allclose(
        one.astype(np.float64), other.astype(np.float64), rtol=1e-9, atol=1e-9, equal_nan=True
    )


def clean_bits(places: frozenset[Shown]) -> int:
    """Return the places as bits of one number."""
    return sum(1 << _PLACE_NUMBERS[place] for place in places)


def figure_columns(figures: DefaultFigures, experience: Experience) -> FigureColumns:
    """Return the figures and the experience factors in force as columns."""
    plain = _figure_columns(figures)
    theta = np.ones(len(plain.number))
    for (mechanism, grade), factor in experience.items():
        at = np.searchsorted(plain.number, figure_number(mechanism, grade))
        if grade not in UNKNOWN_GRADES and at < len(theta):
            theta[at] = factor
    return FigureColumns(plain.number, plain.mechanism, plain.median, plain.shape, theta)


def harm_rows(rows: Packed, counts: Indexes, figures: FigureColumns) -> HarmRows:
    """Return the kept rows of works one after the other, `counts` of each.

    Raises KeyError for a row whose figure is no longer there.
    """
    at = np.searchsorted(figures.number, rows["figure"])
    at = np.minimum(at, len(figures.number) - 1)
    if (figures.number[at] != rows["figure"]).any():
        raise KeyError("figure of a kept row")
    work = np.repeat(np.arange(len(counts)), counts)
    mechanism, shown = figures.mechanism[at], rows["shown"].astype(np.int64)
    place = (work * len(MECHANISMS) + mechanism) * len(PLACES) + shown
    components = Components(
        work=work,
        group=np.cumsum(begins(place)) - 1,
        median=figures.median[at] * rows["factor"],
        shape=figures.shape[at],
        theta=figures.theta[at],
        clock_seen=rows["clock_seen"].astype(np.float64),
        clock_now=rows["clock_now"].astype(np.float64),
        rate_per_year=rows["rate_per_year"].astype(np.float64),
        weights=np.ascontiguousarray(rows["weights"]),
        works=len(counts),
    )
    return HarmRows(
        components=components,
        mechanism=mechanism,
        shown=shown,
        is_outside=IS_OUTSIDE[shown],
        can_be_seen=rows["can_be_seen"],
        is_in_chance=rows["is_in_chance"],
        is_of_package=rows["is_of_package"],
    )


def _packed(row: ComponentRow, figures: DefaultFigures) -> tuple[object, ...]:
    median = figures.figure(row.mechanism, row.grade).median
    return (
        figure_number(row.mechanism, row.grade),
        _PLACE_NUMBERS[row.shown],
        row.can_be_seen,
        row.is_in_chance,
        row.is_of_package,
        1.0 if median is None else row.median / median,
        row.rate_per_year,
        row.clock_seen,
        row.clock_now,
        row.weights,
    )


@lru_cache(maxsize=16)
def _figure_columns(figures: DefaultFigures) -> FigureColumns:
    found = sorted(
        (figure_number(mechanism, grade), number, figures.figure(mechanism, grade))
        for number, mechanism in enumerate(MECHANISMS)
        for grade in figures.grades(mechanism)
    )
    numbers = np.array([number for number, _, _ in found], dtype=np.uint32)
    assert len(np.unique(numbers)) == len(numbers), "two figures have one number"
    return FigureColumns(
        number=numbers,
        mechanism=np.array([number for _, number, _ in found], dtype=np.int64),
        median=np.array([_or_nan(figure.median) for _, _, figure in found]),
        shape=np.array([_or_nan(figure.shape) for _, _, figure in found]),
        theta=np.ones(len(found)),
    )


def _or_nan(value: float | None) -> float:
    return np.nan if value is None else value
