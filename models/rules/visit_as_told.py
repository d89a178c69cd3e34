"""What does a person tell of a visit?

The parts of a visit as they are told at the bench or sent by a program, before
anything is looked up: names of materials and terms, dates in EDTF, sizes in
millimetres. A part may carry a `ref` ("a"), and "ref:a" then stands wherever a
record number is expected, so that a work of unknown history is found, tested,
dismounted and remounted in one visit.
"""

from dataclasses import dataclass

from models.vocabulary import (
    Answer,
    BenchTest,
    CauseMount,
    Change,
    Distance,
    Edge,
    FreedBy,
    Kept,
    KnownBy,
    LayerRole,
    LayerSide,
    Mechanism,
    Outcome,
    OutlineShape,
    Severity,
    Shown,
    Side,
    VisitKind,
)

# A record number, or "ref:…" for a part of the same visit.
Named = int | str


@dataclass(frozen=True, kw_only=True)
class WindowTold:
    """A window of a mat; places from the left and upper edge of the mat, seen from the front."""

    height_mm: float | None = None
    width_mm: float | None = None
    left_mm: float | None = None
    top_mm: float | None = None
    shows: str = ""


@dataclass(frozen=True, kw_only=True)
class LayerTold:
    """A layer as told; without a material its grade says what is known of it."""

    role: LayerRole
    material: str | None = None
    grade: str | None = None
    lot: str | None = None
    side: LayerSide | None = None
    distance: Distance | None = None
    known_by: KnownBy | None = None
    fitted_on: str | None = None
    covers_all: bool = False
    belongs_to_work: bool = False
    windows: tuple[WindowTold, ...] = ()
    note: str = ""
    ref: str | None = None


@dataclass(frozen=True, kw_only=True)
class HoldTold:
    """One kind of hold as told; `since` when only the tab was renewed."""

    material: str | None = None
    grade: str | None = None
    adhesive_grade: str | None = None
    lot: str | None = None
    position: str = ""
    count: int | None = None
    clearance_mm: float | None = None
    known_by: KnownBy | None = None
    since: str | None = None
    covers_all: bool = False
    note: str = ""
    ref: str | None = None


@dataclass(frozen=True, kw_only=True)
class MountTold:
    """A mount as told: made at the visit, found at it, or inferred from its traces.

    `mounted_on` and `dismounted_on` are for mounts found or inferred; a mount
    made at the visit begins with it. An answer of None was not given.
    """

    method: str | None = None
    package: Named | None = None
    house_package: str | None = None
    layers: tuple[LayerTold, ...] = ()
    in_front: Answer | None = None
    behind: Answer | None = None
    holds: tuple[HoldTold, ...] = ()
    held: Answer | None = None
    mounted_on: str | None = None
    dismounted_on: str | None = None
    inferred: bool = False
    reason: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class HoldFreedTold:
    """How one hold came off, or did not."""

    hold: Named
    freed_by: FreedBy | None = None
    outcome: Outcome = Outcome.FREED
    residue: str = ""


@dataclass(frozen=True, kw_only=True)
class DismountTold:
    """How a work came out of its mount: hold by hold, or one way for all."""

    holds: tuple[HoldFreedTold, ...] = ()
    freed_by: FreedBy | None = None
    outcome: Outcome = Outcome.FREED
    residue: str = ""
    harm: str = ""
    reason: str = ""


@dataclass(frozen=True, kw_only=True)
class LayerRemovedTold:
    """A layer taken out, what it looked like, and where it went."""

    layer: Named
    condition: str = ""
    kept: Kept | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class LayerFittedTold:
    """A layer put in: in the place of one removed, or before another; last if neither."""

    layer: LayerTold
    replaces: Named | None = None
    before: Named | None = None


@dataclass(frozen=True)
class ReachTold:
    """A band along an edge, so many millimetres in."""

    edge: Edge
    mm: float
    follows_window_edge: bool = False


@dataclass(frozen=True)
class RegionTold:
    """A rectangle on the sheet, in millimetres from its upper left corner."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, kw_only=True)
class OutlineTold:
    """What a finding covers, as it was drawn; an edge and its reach are told with the sighting.

    `points` are mm from the upper left of the sheet as seen from the recto, or with
    `on_photograph` fractions of the upright picture. A band may tell a part of its edge.
    """

    shape: OutlineShape
    photograph: int | None = None
    points: tuple[tuple[float, float], ...] = ()
    on_photograph: bool = False
    from_mm: float | None = None
    to_mm: float | None = None


@dataclass(frozen=True)
class ColourTold:
    """An instrument reading in CIE L*a*b*."""

    lightness: float
    a: float
    b: float
    spot: str


@dataclass(frozen=True)
class SpotTold:
    """A place on a picture, in fractions of it, and its colour in sRGB, each part 0 to 1."""

    place: tuple[float, float]
    rgb: tuple[float, float, float]


@dataclass(frozen=True)
class ContrastTold:
    """A stain and clean paper beside it, as they were read from a photograph."""

    photograph: int
    stain: SpotTold
    clean: SpotTold


@dataclass(frozen=True)
class CauseTold:
    """What a person puts a finding down to.

    No mechanism: what is usual for the finding, or with *cannot tell* that nobody can say.
    """

    mechanism: Mechanism | None
    mount: CauseMount = CauseMount.CANNOT_TELL


@dataclass(frozen=True, kw_only=True)
class SightingTold:
    """What a finding was seen to be; `finding` None for one never seen before."""

    change: Change
    finding: int | None = None
    term: str | None = None
    side: Side = Side.RECTO
    reach: ReachTold | None = None
    region: RegionTold | None = None
    severity: Severity | None = None
    extent_percent: float | None = None
    note: str = ""
    cause: CauseTold | None = None
    colours: tuple[ColourTold, ...] = ()
    contrast: ContrastTold | None = None
    outline: OutlineTold | None = None


@dataclass(frozen=True)
class LayerTestTold:
    """A test of a layer and its result in words, or a pH for the surface electrode."""

    layer: Named
    test: BenchTest
    result: str


@dataclass(frozen=True)
class InscriptionTold:
    """A text found, and where it is kept."""

    where: str
    text: str
    kept: Kept | None = None


@dataclass(frozen=True, kw_only=True)
class TreatmentTold:
    """What was done to the work itself; `removes` names the remains it took off."""

    term: str
    by: str | None = None
    note: str = ""
    materials: tuple[str, ...] = ()
    removes: tuple[int, ...] = ()


@dataclass(frozen=True)
class StopTold:
    """Why a visit stopped before unframing, and how the work was left."""

    why: str
    left: str


@dataclass(frozen=True, kw_only=True)
class VisitTold:
    """A whole visit, stored together or not at all."""

    on: str
    kind: VisitKind
    reason: str = ""
    by: str | None = None
    by_unknown_hand: bool = False
    minutes: int | None = None
    seen: frozenset[Shown] | None = None
    stop: StopTold | None = None
    summary: str = ""
    sightings: tuple[SightingTold, ...] = ()
    tests: tuple[LayerTestTold, ...] = ()
    inscriptions: tuple[InscriptionTold, ...] = ()
    treatments: tuple[TreatmentTold, ...] = ()
    dismount: DismountTold | None = None
    layers_removed: tuple[LayerRemovedTold, ...] = ()
    layers_fitted: tuple[LayerFittedTold, ...] = ()
    found: MountTold | None = None
    mount: MountTold | None = None
    also_unframed: tuple[int, ...] = ()
    closed_as_it_was: bool = False
    to_write_up: bool = False
    based_on: int | None = None

    def changes_package(self) -> bool:
        """Say whether anything was dismounted, mounted, removed or fitted at this visit."""
        return bool(self.dismount or self.mount or self.layers_removed or self.layers_fitted)


# What a look or an unframing is taken to have seen when nobody says: ticked beforehand.
TICKED_BEFOREHAND = frozenset({Shown.FRONT, Shown.BACK_OF_FRAME})
_LIFTS_THE_MAT = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT})


def places_seen(
    told: VisitTold, *, removed: frozenset[LayerRole], every_hold_freed: bool
) -> frozenset[Shown]:
    """Return what the visit saw.

    A lifted mat shows the margins; a dismount with every hold freed shows all
    five places. Closed again as it was, a box check, and a stop show no more
    than somebody ticked.
    """
    if told.closed_as_it_was:
        # Whoever closed it again as it was says nothing of what it looked like.
        seen: frozenset[Shown] = frozenset()
    elif told.seen is not None:
        seen = told.seen
    elif told.kind is VisitKind.BOX_CHECK or told.stop:
        seen = frozenset()
    else:
        seen = TICKED_BEFOREHAND
    if every_hold_freed:
        return frozenset(Shown)
    return seen | {Shown.MARGINS} if removed & _LIFTS_THE_MAT else seen
