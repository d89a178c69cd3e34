"""What is a rule told about a work, its package and its place?

Plain facts only, as somebody recorded them: layers front to back, what holds
the work, what earlier mounts left on it, the work itself, and the climate of
its place. A fact that nobody knows is None (or `Answer.UNKNOWN`), never a
figure that passes as good. Days are whole days since 1970-01-01; sizes are
millimetres; a half-known date is given by its first day.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from models.rules.climate_record import ClimateRecord
from models.vocabulary import (
    Answer,
    BenchTest,
    Distance,
    Freeing,
    KnownBy,
    LayerRole,
    LayerSide,
    Mechanism,
    PatResult,
    PlaceUse,
    Replaceability,
    Severity,
    Shown,
    Surface,
    UrgentSign,
    ValueBand,
)

# A record number once stored; the position in the list, or a `ref`, before that.
Key = int | str | None


@dataclass(frozen=True, kw_only=True)
class BenchFacts:
    """One bench test of one layer: `bevel colour` brown or white, `pH pen` acid or not acid."""

    test: BenchTest
    result: str
    on_day: int | None = None


@dataclass(frozen=True, kw_only=True)
class LayerFacts:
    """One layer of a package.

    `distance` and `side` are a person's word and overrule what the order says.
    `grade` is a row of the risk defaults; None for a layer that harms by none of
    them (glazing, spacer). `is_barrier` marks metal, glass and polyester film;
    that a sound board of 4-ply is a barrier too is worked out by the rule.
    `windows`: how many a mat has, 0 where nobody said.
    """

    role: LayerRole
    key: Key = None
    side: LayerSide | None = None
    distance: Distance | None = None
    grade: str | None = None
    material: str = ""
    known_by: KnownBy | None = KnownBy.SEEN
    fitted_first_day: int | None = None
    thickness_mm: float | None = None
    ph: float | None = None
    alkaline_reserve_percent: float | None = None
    kappa: float | None = None
    buffered: bool | None = None
    pat: PatResult = PatResult.NOT_TESTED
    pat_day: int | None = None
    frees_by: Freeing | None = None
    covers_all: bool = False
    is_barrier: bool = False
    belongs_to_work: bool = False
    windows: int = 0
    recalled: bool = False
    recalled_day: int | None = None
    tests: tuple[BenchFacts, ...] = ()


@dataclass(frozen=True, kw_only=True)
class HoldFacts:
    """One kind of hold: pockets, strips, hinges, or an adhesive all over.

    `grade` is a row of *hold failure*, `adhesive_grade` one of *adhesive ageing*
    (None: no adhesive touches the work). `since_day` is the day from which the
    adhesive on the work counts when only the tab was renewed. `clearance_mm` is
    what a pocket or strip leaves free on each side.
    """

    grade: str
    key: Key = None
    adhesive_grade: str | None = None
    material: str = ""
    known_by: KnownBy | None = KnownBy.SEEN
    frees_by: Freeing | None = None
    count: int | None = None
    position: str = ""
    clearance_mm: float | None = None
    since_day: int | None = None
    covers_all: bool = False
    pat: PatResult = PatResult.NOT_TESTED
    pat_day: int | None = None
    recalled: bool = False
    recalled_day: int | None = None


@dataclass(frozen=True, kw_only=True)
class RemainFacts:
    """A stub, tape or residue of an earlier hold that still touches the work.

    `since_day` is the day its own clock started, long before this package.
    """

    what: str
    key: Key = None
    grade: str | None = None
    since_day: int | None = None
    covers_all: bool = False
    frees_by: Freeing | None = None


@dataclass(frozen=True, kw_only=True)
class WorkFacts:
    """What the work is made of, how large it is and how easily it could be had again.

    `support` is what it is on, in the words of the record; the days are the first
    and the last on which it may have been made.
    """

    technique: str = ""
    process_group: str = ""
    support: str = ""
    made_first_day: int | None = None
    made_last_day: int | None = None
    surface: Surface = Surface.OTHER
    replaceability: Replaceability = Replaceability.UNIQUE
    value_band: ValueBand = ValueBand.NORMAL
    width_mm: float | None = None
    height_mm: float | None = None
    groundwood_support: bool = False


@dataclass(frozen=True, kw_only=True)
class PackageFacts:
    """One work in its package: layers front to back, holds, remains, and the three answers.

    An answer of None was never given and counts as unknown, unless a layer or
    hold of that kind is listed. `mounted_day` is the first day of the mount.
    `is_recorded` is False for a planned package, in which what is not listed
    does not exist.
    """

    layers: tuple[LayerFacts, ...] = ()
    holds: tuple[HoldFacts, ...] = ()
    remains: tuple[RemainFacts, ...] = ()
    front: Answer | None = None
    behind: Answer | None = None
    held: Answer | None = None
    method: str = ""
    floats: bool = False
    mounted_day: int | None = None
    mounted_last_day: int | None = None
    mounted_is_assumed: bool = False
    is_recorded: bool = True


@dataclass(frozen=True, kw_only=True)
class ClimateFacts:
    """The place: what it is used for, the climate assumed there, and what was measured, if any."""

    use: PlaceUse = PlaceUse.DISPLAY
    temperature_c: float = 20.0
    rh_percent: float = 50.0
    record: ClimateRecord | None = None

    @property
    def is_measured(self) -> bool:
        """Whether the rates of the years to come are measured, not assumed."""
        return self.measured_in is not None

    @property
    def measured_in(self) -> int | None:
        """The place whose record speaks for the years to come; None: they are assumed."""
        is_long = self.record is not None and self.record.whole_years > 0
        return self.record.place if self.record is not None and is_long else None


@dataclass(frozen=True, kw_only=True)
class FindingFacts:
    """The last sighting of one finding, as far as a date or a rank depends on it."""

    term: str
    severity: Severity = Severity.SLIGHT
    shows_at: Shown = Shown.FRONT
    mechanism: Mechanism | None = None
    grade: str | None = None
    is_of_this_mount: bool = False
    is_grown: bool = False
    is_still_there: bool = True
    first_seen_day: int | None = None
    urgent_sign: UrgentSign | None = None


_WHERE_MOULD_SHOWS = (Shown.BACK_OF_FRAME, Shown.VERSO)
NEVER_SEEN: Mapping[Shown, int | None] = {place: None for place in Shown}


@dataclass(frozen=True, kw_only=True)
class SeenFacts:
    """The last day on which each place was really seen; None where never.

    `harm_days` is the last day on which harm by a mechanism was recorded at a
    place: for that mechanism the place was seen then, whatever else was.
    `clean_day` is the last day on which back of frame or verso was seen, or the box
    checked, and no mould was found; not given, it is the last day on which either
    was seen, unless mould was recorded then.
    """

    days: Mapping[Shown, int | None] = field(default_factory=lambda: dict(NEVER_SEEN))
    harm_days: Mapping[tuple[Mechanism, Shown], int] = field(default_factory=dict)
    clean_day: int | None = None

    def day(self, place: Shown) -> int | None:
        """Return the last day on which the place was seen."""
        return self.days.get(place)

    def day_for(self, mechanism: Mechanism, place: Shown) -> int | None:
        """Return the last day on which harm by this mechanism would have been seen there."""
        known = [self.days.get(place), self.harm_days.get((mechanism, place))]
        return max((day for day in known if day is not None), default=None)

    def day_of_damp(self, mechanism: Mechanism, place: Shown) -> int | None:
        """Return the last day on which harm by a damp clock would have been seen.

        Mould shows on the back of the frame or on the verso, whichever was seen last;
        where somebody found it, it was seen.
        """
        if mechanism is not Mechanism.MOULD:
            return self.day_for(mechanism, place)
        known = [self.days.get(back) for back in _WHERE_MOULD_SHOWS]
        known += [day for (of, _), day in self.harm_days.items() if of is mechanism]
        known.append(self.clean_day)
        return max((day for day in known if day is not None), default=None)

    def clean_of_mould_day(self) -> int | None:
        """Return the last day on which somebody looked where mould shows and found none."""
        if self.clean_day is not None:
            return self.clean_day
        seen = self.day_of_damp(Mechanism.MOULD, Shown.BACK_OF_FRAME)
        found = [self.harm_days.get((Mechanism.MOULD, place)) for place in Shown]
        return None if seen in found else seen
