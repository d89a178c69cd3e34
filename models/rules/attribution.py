"""What probably caused a finding, by which mount, and by which layer of it?

The word for a damage suggests how it came about; where it lies says more. A stain
of no clear cause that follows the edge of the window is the mat's. What follows the
edge of this window, or is new since the last look, is of this mount where something
in it can do that; a band along an edge that does not follow this window was made by
an earlier mat; where nothing in this package can do it, an earlier mount did. All
else cannot be told. The layer is the one of that mechanism at that place whose clock
stands worst.

It is a suggestion: it becomes the cause of a finding when a person confirms it.
Common practice, no source; the words of the terms are those of the shipped list.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from models.risk.hazard import summed_hazard
from models.rules.finding_place import where_it_shows
from models.rules.package_components import ComponentRow, as_arrays
from models.vocabulary import CauseMount, Edge, Mechanism, Shown, Side

# Changes of colour that have many causes: where they follow the window's edge, it is the mat.
FOLLOWS_THE_MAT = frozenset({"browning", "darkening", "discolouration", "stain", "yellowing"})
# What is seen on the package and has not reached the work.
OF_THE_PACKAGE = frozenset({"bevel brown", "seal open"})
# What only something in the package can do.
_NEEDS_A_SOURCE = frozenset(
    {
        Mechanism.ACID_MIGRATION,
        Mechanism.ADHESIVE_AGEING,
        Mechanism.PHOTO_ACTIVITY,
        Mechanism.ALKALI_CONTACT,
        Mechanism.HOLD_FAILURE,
    }
)


@dataclass(frozen=True, kw_only=True)
class FindingSeen:
    """A finding as far as its cause shows: `is_new` when it was new or grew at some look."""

    term: str
    suggests: Mechanism | None
    side: Side = Side.RECTO
    edge: Edge | None = None
    follows_window_edge: bool = False
    is_new: bool = False


@dataclass(frozen=True)
class SuggestedCause:
    """The mechanism, whose mount, the layer by name (empty for none), and why, in a sentence."""

    mechanism: Mechanism
    mount: CauseMount
    layer: str
    place: Shown
    sentence: str


def suspected_mechanism(
    term: str, suggests: Mechanism | None, *, follows_window_edge: bool
) -> Mechanism | None:
    """Return what a finding probably comes of, by its word and the edge it follows."""
    if term in OF_THE_PACKAGE:
        return None
    if follows_window_edge and term in FOLLOWS_THE_MAT:
        return Mechanism.ACID_MIGRATION
    return suggests


def suggested_cause(finding: FindingSeen, rows: Iterable[ComponentRow]) -> SuggestedCause | None:
    """Return the probable cause; `rows` are those of the package the work is in now."""
    follows = finding.follows_window_edge
    mechanism = suspected_mechanism(finding.term, finding.suggests, follows_window_edge=follows)
    if mechanism is None:
        return None
    place = where_it_shows(finding.side, mechanism, follows_window_edge=follows)
    could = [row for row in rows if row.mechanism is mechanism and row.shown is place]
    mount, why = _which_mount(finding, mechanism, could)
    source = _worst([row for row in could if row.is_of_package is (mount is CauseMount.THIS)])
    name = "" if source is None else source.name
    by = f" The likeliest source is {name}." if name else ""
    sentence = f"{_capital(finding.term)}: probably {mechanism}. {_capital(why)}.{by}"
    return SuggestedCause(mechanism, mount, name, place, sentence)


def _which_mount(
    finding: FindingSeen, mechanism: Mechanism, could: Sequence[ComponentRow]
) -> tuple[CauseMount, str]:
    of_this = any(row.is_of_package for row in could)
    if mechanism in _NEEDS_A_SOURCE and not of_this:
        if could:
            return CauseMount.EARLIER, "what does it was left by an earlier mount"
        return CauseMount.EARLIER, "nothing in this package does that there: an earlier mount"
    if finding.follows_window_edge:
        return CauseMount.THIS, "it follows the edge of this window: this mount"
    if finding.is_new:
        return CauseMount.THIS, "it came or grew while this mount held the work: this mount"
    if mechanism is Mechanism.ACID_MIGRATION and finding.edge and finding.side is Side.RECTO:
        why = "the band does not follow the edge of this window: an earlier mount"
        return CauseMount.EARLIER, why
    return CauseMount.CANNOT_TELL, "whether this mount or an earlier one did it cannot be told"


def _worst(rows: Sequence[ComponentRow]) -> ComponentRow | None:
    """Return the row whose clock stands worst, None of none."""
    if len(rows) < 2:
        return rows[0] if rows else None
    found = as_arrays([rows])
    return rows[int(summed_hazard(found, found.clock_now).argmax())]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
