"""What does a program send of a visit, a mount, a sighting, and as what is it told on?

The shapes of interfaces a program relies on; each is turned into the words of
`models/rules/visit_as_told.py`, the same that the pages use.
"""

from typing import Annotated, Literal, TypeVar

from pydantic import Field, StringConstraints

from api.rest.shapes import LONGEST_LIST, Figure, Id, In, Name, Note
from models.errors import BadValue, Contradiction
from models.rules.finding_outline import MOST_POINTS
from models.rules.mat_windows import LONGEST_SHOWS, MOST_WINDOWS
from models.rules.visit_as_told import (
    CauseTold,
    ColourTold,
    DismountTold,
    HoldFreedTold,
    HoldTold,
    InscriptionTold,
    LayerFittedTold,
    LayerRemovedTold,
    LayerTestTold,
    LayerTold,
    MountTold,
    OutlineTold,
    ReachTold,
    RegionTold,
    SightingTold,
    StopTold,
    TreatmentTold,
    VisitTold,
    WindowTold,
)
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

Ref = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9_.-]{1,50}$")]
NamedIn = Id | Annotated[str, StringConstraints(pattern=r"^ref:[A-Za-z0-9_.-]{1,50}$")]
Edtf = Annotated[str, StringConstraints(min_length=1, max_length=100)]
Line = Annotated[Note, StringConstraints(max_length=500)]
Count = Annotated[int, Field(ge=1, le=1000, strict=True)]
Coordinate = Annotated[float, Field(ge=-20_000, le=20_000, allow_inf_nan=False)]
Millimetres = Annotated[float, Field(ge=0, le=20_000, allow_inf_nan=False)]
NotThere = Literal["none", "unknown"]

_Part = TypeVar("_Part")
Several = Annotated[tuple[_Part, ...], Field(max_length=LONGEST_LIST)]


class WindowIn(In):
    """A window of a mat; places from the left and upper edge of the mat, seen from the front."""

    height_mm: Millimetres | None = None
    width_mm: Millimetres | None = None
    left_mm: Millimetres | None = None
    top_mm: Millimetres | None = None
    shows: Annotated[str, StringConstraints(max_length=LONGEST_SHOWS)] = ""

    def told(self) -> WindowTold:
        """Return the window as it is told on."""
        return WindowTold(
            height_mm=self.height_mm,
            width_mm=self.width_mm,
            left_mm=self.left_mm,
            top_mm=self.top_mm,
            shows=self.shows,
        )


Windows = Annotated[tuple[WindowIn, ...], Field(max_length=MOST_WINDOWS)]


class LayerIn(In):
    """A layer; without a material its grade says what is known of it."""

    role: LayerRole
    material: Name | None = None
    grade: Name | None = None
    lot: Name | None = None
    side: LayerSide | None = None
    distance: Distance | None = None
    known_by: KnownBy | None = None
    fitted_on: Edtf | None = None
    covers_all: bool = False
    belongs_to_work: bool = False
    windows: Windows = ()
    note: Note = ""
    ref: Ref | None = None

    def told(self) -> LayerTold:
        """Return the layer as it is told on."""
        return LayerTold(
            role=self.role,
            material=self.material,
            grade=self.grade,
            lot=self.lot,
            side=self.side,
            distance=self.distance,
            known_by=self.known_by,
            fitted_on=self.fitted_on,
            covers_all=self.covers_all,
            belongs_to_work=self.belongs_to_work,
            windows=tuple(window.told() for window in self.windows),
            note=self.note,
            ref=self.ref,
        )


class HoldIn(In):
    """One kind of hold; `since` when only the tab was renewed."""

    material: Name | None = None
    grade: Name | None = None
    adhesive_grade: Name | None = None
    lot: Name | None = None
    position: Line = ""
    count: Count | None = None
    clearance_mm: Millimetres | None = None
    known_by: KnownBy | None = None
    since: Edtf | None = None
    covers_all: bool = False
    note: Note = ""
    ref: Ref | None = None

    def told(self) -> HoldTold:
        """Return the hold as it is told on."""
        return HoldTold(
            material=self.material,
            grade=self.grade,
            adhesive_grade=self.adhesive_grade,
            lot=self.lot,
            position=self.position,
            count=self.count,
            clearance_mm=self.clearance_mm,
            known_by=self.known_by,
            since=self.since,
            covers_all=self.covers_all,
            note=self.note,
            ref=self.ref,
        )


class MountIn(In):
    """A mount: its layers front to back with the work among them, or front and back apart."""

    method: Name | None = None
    package: Id | None = None
    house_package: Name | None = None
    layers: Several[LayerIn] | None = None
    front: Several[LayerIn] | NotThere | None = None
    back: Several[LayerIn] | NotThere | None = None
    holds: Several[HoldIn] | NotThere | None = None
    mounted_on: Edtf | None = None
    dismounted_on: Edtf | None = None
    inferred: bool = False
    reason: Note = ""
    note: Note = ""

    def told(self, at: str) -> MountTold:
        """Return the mount as it is told on. Raises RuleBroken where it contradicts itself."""
        self._refuse_two_ways(at)
        holds = self.holds
        return MountTold(
            method=self.method,
            package=self.package,
            house_package=self.house_package,
            layers=self._layers(),
            in_front=_answer(self.front),
            behind=_answer(self.back),
            holds=tuple(hold.told() for hold in holds) if isinstance(holds, tuple) else (),
            held=Answer.NONE if holds == () else _answer(holds),
            mounted_on=self.mounted_on,
            dismounted_on=self.dismounted_on,
            inferred=self.inferred,
            reason=self.reason,
            note=self.note,
        )

    def _refuse_two_ways(self, at: str) -> None:
        told_apart = isinstance(self.front, tuple) or isinstance(self.back, tuple)
        if self.layers is not None and told_apart:
            message = "Tell the layers in one list, or front and back apart; not both."
            raise BadValue.at(f"{at}/layers", message, "one of the two")
        usual = self.house_package is not None
        if usual and (self.layers is not None or told_apart or self.holds is not None):
            raise Contradiction(
                f"{at}/house_package",
                "A house package brings its layers and holds.",
                "Leave them out, or leave it out.",
            )

    def _layers(self) -> tuple[LayerTold, ...]:
        if self.layers is not None:
            return tuple(layer.told() for layer in self.layers)
        front = self.front if isinstance(self.front, tuple) else ()
        back = self.back if isinstance(self.back, tuple) else ()
        if not front and not back:
            return ()
        work = LayerTold(role=LayerRole.WORK)
        return (*(f.told() for f in front), work, *(b.told() for b in back))


def _answer(told: object) -> Answer | None:
    if isinstance(told, str):
        return Answer(told)
    # An empty list says that nothing is there.
    return Answer.NONE if told == () else None


class HoldFreedIn(In):
    """How one hold came off, or did not."""

    hold: NamedIn
    freed_by: FreedBy | None = None
    outcome: Outcome = Outcome.FREED
    residue: Note = ""


class DismountIn(In):
    """How the work came out: hold by hold, or one way for all that are not listed."""

    holds: Several[HoldFreedIn] = ()
    freed_by: FreedBy | None = None
    outcome: Outcome = Outcome.FREED
    residue: Note = ""
    harm: Note = ""
    reason: Note = ""

    def told(self) -> DismountTold:
        """Return the dismount as it is told on."""
        return DismountTold(
            holds=tuple(
                HoldFreedTold(
                    hold=way.hold, freed_by=way.freed_by, outcome=way.outcome, residue=way.residue
                )
                for way in self.holds
            ),
            freed_by=self.freed_by,
            outcome=self.outcome,
            residue=self.residue,
            harm=self.harm,
            reason=self.reason,
        )


class LayerRemovedIn(In):
    """A layer taken out, what it looked like, and where it went."""

    layer: NamedIn
    condition: Note = ""
    kept: Kept | None = None
    note: Note = ""


class LayerFittedIn(LayerIn):
    """A layer put in: in the place of one, or before another; at the back if neither."""

    replaces: NamedIn | None = None
    before: NamedIn | None = None

    def fitted(self) -> LayerFittedTold:
        """Return the layer as it is told on, with its place."""
        return LayerFittedTold(layer=self.told(), replaces=self.replaces, before=self.before)


class RegionIn(In):
    """A rectangle on the sheet, from its upper left corner."""

    left_mm: Millimetres
    top_mm: Millimetres
    width_mm: Millimetres
    height_mm: Millimetres


class ReachIn(In):
    """A band along an edge, so many millimetres in; or a region."""

    edge: Edge | None = None
    mm: Millimetres | None = None
    follows_window_edge: bool = False
    region: RegionIn | None = None

    def reach(self) -> ReachTold | None:
        """Return the band, None where a region is told."""
        if self.edge is None or self.mm is None:
            return None
        return ReachTold(self.edge, self.mm, self.follows_window_edge)


class ColourIn(In):
    """An instrument reading in CIE L*a*b* (D50 or as the instrument gives it)."""

    L: Annotated[Figure, Field(ge=0, le=100)]
    a: Annotated[Figure, Field(ge=-200, le=200)]
    b: Annotated[Figure, Field(ge=-200, le=200)]
    spot: Annotated[Name, StringConstraints(max_length=100)]


class CauseIn(In):
    """What a finding is put down to.

    Without a mechanism: what is usual for its term, or with *cannot tell* that nobody can say.
    """

    mechanism: Mechanism | None = None
    mount: CauseMount = CauseMount.CANNOT_TELL


class OutlineIn(In):
    """What a finding covers: points in mm from the upper left of the sheet as seen from the recto.

    With `on_photograph` they are fractions of the upright picture. A band has no points: its
    edge and mm are the reach of the sighting, `from_mm` and `to_mm` a part of that edge.
    """

    shape: OutlineShape
    photograph: Id | None = None
    points: Annotated[tuple[tuple[Coordinate, Coordinate], ...], Field(max_length=MOST_POINTS)] = ()
    on_photograph: bool = False
    from_mm: Millimetres | None = None
    to_mm: Millimetres | None = None

    def told(self) -> OutlineTold:
        """Return the outline as it is told on."""
        return OutlineTold(
            shape=self.shape,
            photograph=self.photograph,
            points=self.points,
            on_photograph=self.on_photograph,
            from_mm=self.from_mm,
            to_mm=self.to_mm,
        )


class SightingIn(In):
    """What a finding was seen to be; `finding` is null for one never seen before."""

    finding: Id | None = None
    term: Name | None = None
    side: Side = Side.RECTO
    reach: ReachIn | None = None
    severity: Severity | None = None
    change: Change
    note: Note = ""
    extent_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    cause: CauseIn | None = None
    colours: Annotated[tuple[ColourIn, ...], Field(max_length=50)] = ()
    outline: OutlineIn | None = None

    def told(self, at: str) -> SightingTold:
        """Return the sighting as it is told on. Raises BadValue for half a reach."""
        reach = self.reach
        if reach is not None and reach.region is None and reach.reach() is None:
            message = "A reach is an edge and how many mm in, or a region."
            raise BadValue.at(f"{at}/reach", message, "edge and mm, or region")
        region = None if reach is None or reach.region is None else reach.region
        return SightingTold(
            finding=self.finding,
            term=self.term,
            side=self.side,
            reach=None if reach is None else reach.reach(),
            region=None
            if region is None
            else RegionTold(region.left_mm, region.top_mm, region.width_mm, region.height_mm),
            severity=self.severity,
            change=self.change,
            note=self.note,
            extent_percent=self.extent_percent,
            cause=None if self.cause is None else CauseTold(self.cause.mechanism, self.cause.mount),
            colours=tuple(ColourTold(c.L, c.a, c.b, c.spot) for c in self.colours),
            outline=None if self.outline is None else self.outline.told(),
        )


class ReportIn(In):
    """The condition report: a summary in words, and a sighting for each finding."""

    summary: Note = ""
    sightings: Several[SightingIn] = ()


class StopIn(In):
    """Why somebody stopped before unframing, and how the work was left."""

    why: Name
    left: Name


class LayerTestIn(In):
    """A bench test of a layer; the result in words, or a pH."""

    layer: NamedIn
    test: BenchTest
    result: Name | Figure


class InscriptionIn(In):
    """A text or label found, and where it is kept."""

    where: Annotated[Name, StringConstraints(max_length=200)]
    text: Note
    kept: Kept | None = None


class TreatmentIn(In):
    """What was done to the work itself; `removes` names the remains it took off."""

    term: Name
    by: Name | None = None
    note: Note = ""
    materials: Several[Name] = ()
    removes: Several[Id] = ()


class VisitIn(In):
    """A whole visit; all parts but `on` and `kind` are optional."""

    on: Edtf
    kind: VisitKind
    reason: Note = ""
    by: Name | None = None
    by_unknown_hand: bool = False
    minutes: Annotated[int, Field(ge=0, le=100_000, strict=True)] | None = None
    seen: Annotated[list[Shown], Field(max_length=5)] | None = None
    stop: StopIn | None = None
    report: ReportIn = ReportIn()
    tests: Several[LayerTestIn] = ()
    inscriptions: Several[InscriptionIn] = ()
    treatments: Several[TreatmentIn] = ()
    dismount: DismountIn | None = None
    layers_removed: Several[LayerRemovedIn] = ()
    layers_fitted: Several[LayerFittedIn] = ()
    found: MountIn | None = None
    mount: MountIn | None = None
    also_unframed: Several[Id] = ()
    closed_as_it_was: bool = False
    to_write_up: bool = False
    based_on: Id | None = None

    def told(self) -> VisitTold:
        """Return the visit as it is told on."""
        sightings = enumerate(self.report.sightings)
        return VisitTold(
            on=self.on,
            kind=self.kind,
            reason=self.reason,
            by=self.by,
            by_unknown_hand=self.by_unknown_hand,
            minutes=self.minutes,
            seen=None if self.seen is None else frozenset(self.seen),
            stop=None if self.stop is None else StopTold(self.stop.why, self.stop.left),
            summary=self.report.summary,
            sightings=tuple(s.told(f"/report/sightings/{i}") for i, s in sightings),
            tests=tuple(LayerTestTold(t.layer, t.test, str(t.result)) for t in self.tests),
            inscriptions=tuple(InscriptionTold(i.where, i.text, i.kept) for i in self.inscriptions),
            treatments=tuple(
                TreatmentTold(
                    term=t.term,
                    by=t.by,
                    note=t.note,
                    materials=tuple(t.materials),
                    removes=tuple(t.removes),
                )
                for t in self.treatments
            ),
            dismount=None if self.dismount is None else self.dismount.told(),
            layers_removed=tuple(
                LayerRemovedTold(layer=r.layer, condition=r.condition, kept=r.kept, note=r.note)
                for r in self.layers_removed
            ),
            layers_fitted=tuple(fitted.fitted() for fitted in self.layers_fitted),
            found=None if self.found is None else self.found.told("/found"),
            mount=None if self.mount is None else self.mount.told("/mount"),
            also_unframed=tuple(self.also_unframed),
            closed_as_it_was=self.closed_as_it_was,
            to_write_up=self.to_write_up,
            based_on=self.based_on,
        )
