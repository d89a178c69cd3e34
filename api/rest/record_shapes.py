"""In what shape are visits, mounts, findings and forecasts of a work sent?

Sizes in mm, dates in EDTF as they were recorded, days as ISO 8601, chances as
shares of 1. A day of a forecast that is past is sent as today, when it is due.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from api.rest.shapes import Out
from models.actions.work_records import (
    WorkRecords,
    layers_during,
    places_seen_at,
)
from models.risk.colour_difference import colour_difference
from models.rules.calendar_days import day_date
from models.rules.inspection_schedule import shown_day
from models.rules.mat_windows import read_windows
from models.rules.package_verdict import PackageVerdict
from models.rules.record_values import size_mm
from models.rules.visit_as_told import WindowTold
from models.rules.work_forecast import ChanceRange, NextDate, WorkForecast
from models.tables.case_rows import (
    BenchTestRow,
    HoldRow,
    LayerRow,
    MountRow,
    RemainRow,
    SightingRow,
    VisitRow,
)
from models.tables.outlines import (
    MILLION,
    FindingOutline,
    OnPictures,
    PhotographContrast,
    kept_points,
)
from models.tables.visit_notes import COLOUR, INSCRIPTION, TREATMENT, VisitNoteRow
from models.vocabulary import (
    MICROMETRES_PER_MM,
    Advice,
    Answer,
    BenchTest,
    CauseMount,
    Change,
    Distance,
    DueKind,
    Edge,
    FreedBy,
    Freeing,
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
    UrgentSign,
    Verdict,
    VisitKind,
)

# The spot against which the others are measured.
CLEAN_PAPER = "clean paper"


class RegionOut(Out):
    """A rectangle on the sheet, from its upper left corner."""

    left_mm: float | None
    top_mm: float | None
    width_mm: float | None
    height_mm: float | None


class CauseOut(Out):
    """What a finding is put down to; no mechanism: somebody looked, and it cannot be told."""

    mechanism: Mechanism | None
    mount: CauseMount | None
    mount_id: int | None


class ColourOut(Out):
    """A reading, and its CIEDE2000 difference to the clean paper of the same sighting."""

    L: float
    a: float
    b: float
    spot: str
    delta_e_2000: float | None


class OutlineOut(Out):
    """What a sighting covers: points in mm of the sheet, or fractions of the photograph."""

    version: int
    shape: OutlineShape
    photograph: int | None
    points: list[tuple[float, float]]
    on_photograph: bool
    from_mm: float | None
    to_mm: float | None


class SpotOut(Out):
    """A place on a photograph and what it shows there.

    `place` is in fractions of the upright picture, from its left and top; L*, a* and b* are
    those of CIE L*a*b* under D50.
    """

    place: tuple[float, float]
    L: float
    a: float
    b: float


class ContrastOut(Out):
    """A stain against clean paper beside it, as a photograph shows them: indicative only."""

    version: int
    photograph: int
    stain: SpotOut
    clean: SpotOut
    delta_e_2000: float


class SightingOut(Out):
    """What a finding was seen to be at one visit."""

    id: int
    version: int
    finding: int
    visit: int
    on: str
    term: str
    severity: Severity | None
    change: Change
    mm: float | None
    extent_percent: float | None
    note: str
    colours: list[ColourOut]
    outline: OutlineOut | None
    contrast: ContrastOut | None


class FindingOut(Out):
    """One damage, with every sighting of it, oldest first."""

    id: int
    number: int
    term: str
    side: Side
    edge: Edge | None
    follows_window_edge: bool
    region: RegionOut | None
    cause: CauseOut | None
    sightings: list[SightingOut]


class StopOut(Out):
    """Why a visit stopped, and how the work was left."""

    why: str
    left: str


class LayerTestOut(Out):
    """A bench test of a layer."""

    id: int
    layer: int
    test: BenchTest
    result: str


class InscriptionOut(Out):
    """A text or label found."""

    id: int
    where: str
    text: str
    kept: Kept | None


class TreatmentOut(Out):
    """What was done to the work."""

    id: int
    term: str
    by: str | None
    note: str
    materials: list[str]


class ReportOut(Out):
    """The condition report of a visit."""

    summary: str
    sightings: list[SightingOut]


class VisitOut(Out):
    """A visit as it is stored."""

    id: int
    version: int
    work: int
    number: int
    on: str
    kind: VisitKind
    reason: str
    by: str | None
    by_unknown_hand: bool
    minutes: int | None
    seen: list[Shown]
    stop: StopOut | None
    report: ReportOut
    tests: list[LayerTestOut]
    inscriptions: list[InscriptionOut]
    treatments: list[TreatmentOut]
    dismounted: int | None
    mounted: int | None
    layers_removed: list[int]
    layers_fitted: list[int]
    closed_as_it_was: bool
    to_write_up: bool


class ConditionReportOut(Out):
    """The report of one visit, by itself."""

    visit: int
    on: str
    kind: VisitKind
    by: str | None
    seen: list[Shown]
    summary: str
    sightings: list[SightingOut]


class WindowOut(Out):
    """A window of a mat; places from the left and upper edge of the mat, seen from the front."""

    height_mm: float | None
    width_mm: float | None
    left_mm: float | None
    top_mm: float | None
    shows: str


class LayerOut(Out):
    """A layer; `grade` is what it is judged by, `own_grade` a person's own word for it."""

    id: int
    version: int
    role: LayerRole
    side: LayerSide | None
    distance: Distance | None
    material: str | None
    lot: str | None
    grade: str | None
    own_grade: str | None
    known_by: KnownBy | None
    covers_all: bool
    belongs_to_work: bool
    windows: list[WindowOut]
    fitted_on: str | None
    ended: bool
    removed_on: str | None
    condition: str
    kept: Kept | None
    recalled_on: str | None
    note: str
    tests: list[LayerTestOut]


class HoldOut(Out):
    """A hold, and how it came off."""

    id: int
    version: int
    number: int
    material: str | None
    lot: str | None
    grade: str
    adhesive_grade: str | None
    known_by: KnownBy | None
    position: str
    count: int | None
    clearance_mm: float | None
    covers_all: bool
    since: str | None
    freed_by: FreedBy | None
    outcome: Outcome | None
    residue: str
    note: str


class RemainOut(Out):
    """What an earlier mount left on the work."""

    id: int
    what: str
    grade: str | None
    since: str | None
    is_still_there: bool


class MountOut(Out):
    """A mount with the layers that were in its package while it lasted."""

    id: int
    version: int
    work: int
    number: int
    package: int
    method: str | None
    front: Answer
    back: Answer
    held: Answer
    reason: str
    mounted_on: str | None
    mounted_is_assumed: bool
    mounted_by: str | None
    current: bool
    dismounted_on: str | None
    dismounted_by: str | None
    dismount_reason: str
    harm_at_dismount: str
    inferred: bool
    by_unknown_hand: bool
    note: str
    layers: list[LayerOut]
    holds: list[HoldOut]


class MountsOut(Out):
    """Every mount of a work, oldest first, and what is left on it."""

    items: list[MountOut]
    remains: list[RemainOut]


class ChanceOut(Out):
    """A chance, and what it were if typical times were twice or half as long."""

    chance: float
    if_twice_as_long: float
    if_half_as_long: float


class NextDateOut(Out):
    """A day, the years by formula from today (0: reached; null: never), and every step."""

    formula_years: float | None
    on: str | None
    steps: list[str]


class LayerVerdictOut(Out):
    """The judgement on one layer, hold or remain."""

    id: int | str | None
    role: str
    name: str
    verdict: Verdict
    why: str
    remarks: list[str]


class VerdictOut(Out):
    """The judgement on the package."""

    verdict: Verdict
    freeing: Freeing
    weak_layer: str
    sentence: str
    layers: list[LayerVerdictOut]


class UrgentOut(Out):
    """A sign that does not wait, with its first act."""

    sign: UrgentSign
    since: str
    act_by: str
    first_act: str
    caution: str


class DriverOut(Out):
    """One way to harm that leads at its place, with its share of the next five years.

    Median and clocks in `unit`; `theta` is the factor of own evidence, 1 for the default.
    """

    mechanism: Mechanism
    grade: str
    layer: str
    layer_id: int | str | None
    place: Shown
    median: float | None
    shape: float | None
    rate_per_year: float
    clock_seen: float
    clock_now: float
    share_5y: float
    theta: float
    unit: str


class ClimateBehindOut(Out):
    """By what the clocks of ageing and damp run on: a record of a year or more, or assumed air.

    `measured_in` is the place of the record. What is assumed counts where none read.
    """

    is_measured: bool
    measured_in: int | None
    temperature_c: float
    rh_percent: float


class ForecastOut(Out):
    """What is to be expected of a work; planning figures, not promises."""

    work: int
    today: str
    chance_unseen_now: ChanceOut
    chance_unseen_1y: ChanceOut
    chance_unseen_5y: ChanceOut
    chance_new_5y: ChanceOut
    unframing: NextDateOut
    look: NextDateOut
    box_check: NextDateOut
    due_on: str | None
    due: DueKind | None
    advice: Advice | None
    remat_by: str | None
    urgent: list[UrgentOut]
    may_be_opened: bool
    first_survey: bool
    weak_layer: str
    drivers: list[DriverOut]
    verdict: VerdictOut
    allowed_chance: float
    climate: ClimateBehindOut


def visits_out(
    records: WorkRecords, notes: Sequence[VisitNoteRow], pictures: OnPictures
) -> list[VisitOut]:
    """Return every visit, oldest first."""
    sightings = _sightings_by_visit(records, notes, pictures)
    tests = _tests_by_visit(records)
    return [_visit(records, visit, sightings, tests, notes) for visit in records.visits]


def reports_out(
    records: WorkRecords, notes: Sequence[VisitNoteRow], pictures: OnPictures
) -> list[ConditionReportOut]:
    """Return the reports of the visits at which something was said or seen, oldest first."""
    sightings = _sightings_by_visit(records, notes, pictures)
    return [
        ConditionReportOut(
            visit=visit.id,
            on=visit.on_edtf,
            kind=visit.kind,
            by=visit.by,
            seen=list(places_seen_at(visit)),
            summary=visit.summary,
            sightings=sightings[visit.id],
        )
        for visit in records.visits
        if visit.summary or sightings[visit.id]
    ]


def findings_out(
    records: WorkRecords, notes: Sequence[VisitNoteRow], pictures: OnPictures
) -> list[FindingOut]:
    """Return every finding with its sightings, by number."""
    rows: dict[int, list[SightingRow]] = defaultdict(list)
    for row in records.sightings:
        rows[row.finding_id].append(row)
    colours = _colours(notes)
    found = [_finding(its, colours, pictures) for its in rows.values()]
    return sorted(found, key=lambda finding: finding.number)


def mounts_out(records: WorkRecords) -> MountsOut:
    """Return every mount, oldest first, and what earlier mounts left on the work."""
    return MountsOut(
        items=[_mount(records, mount) for mount in records.mounts],
        remains=[_remain(row) for row in records.remains],
    )


def forecast_out(work_id: int, forecast: WorkForecast, *, today: int) -> ForecastOut:
    """Return a forecast; a day that is past is due today."""
    return ForecastOut(
        work=work_id,
        today=_iso(today) or "",
        chance_unseen_now=_chance(forecast.chance_unseen_now),
        chance_unseen_1y=_chance(forecast.chance_unseen_1y),
        chance_unseen_5y=_chance(forecast.chance_unseen_5y),
        chance_new_5y=_chance(forecast.chance_new_5y),
        unframing=_next(forecast.unframing, today),
        look=_next(forecast.look, today),
        box_check=_next(forecast.box_check, today),
        due_on=_iso(shown_day(forecast.due_on, today)),
        due=forecast.due_kind,
        advice=forecast.advice,
        remat_by=_iso(shown_day(forecast.remat_by, today)),
        urgent=[
            UrgentOut(
                sign=urgent.sign,
                since=_iso(urgent.since_day) or "",
                act_by=_iso(shown_day(urgent.due_day, today)) or "",
                first_act=urgent.first_act.act,
                caution=urgent.first_act.caution,
            )
            for urgent in forecast.urgent
        ],
        may_be_opened=forecast.may_be_opened,
        first_survey=forecast.first_survey,
        weak_layer=forecast.weak_layer,
        drivers=[
            DriverOut(
                mechanism=driver.mechanism,
                grade=driver.grade,
                layer=driver.layer,
                layer_id=driver.key,
                place=driver.place,
                median=driver.median,
                shape=driver.shape,
                rate_per_year=driver.rate_per_year,
                clock_seen=driver.clock_seen,
                clock_now=driver.clock_now,
                share_5y=driver.share_5y,
                theta=driver.theta,
                unit=driver.unit,
            )
            for driver in forecast.drivers
        ],
        verdict=verdict_out(forecast.verdict),
        allowed_chance=forecast.allowed_chance,
        climate=ClimateBehindOut(
            is_measured=forecast.climate.is_measured,
            measured_in=forecast.climate.measured_in,
            temperature_c=forecast.climate.temperature_c,
            rh_percent=forecast.climate.rh_percent,
        ),
    )


def verdict_out(verdict: PackageVerdict) -> VerdictOut:
    """Return the judgement on a package."""
    return VerdictOut(
        verdict=verdict.verdict,
        freeing=verdict.freeing,
        weak_layer=verdict.weak_layer,
        sentence=verdict.sentence,
        layers=[
            LayerVerdictOut(
                id=layer.key,
                role=layer.role,
                name=layer.name,
                verdict=layer.verdict,
                why=layer.why,
                remarks=[remark.sentence for remark in layer.remarks],
            )
            for layer in verdict.layers
        ],
    )


def _visit(
    records: WorkRecords,
    visit: VisitRow,
    sightings: Mapping[int, list[SightingOut]],
    tests: Mapping[int, list[LayerTestOut]],
    notes: Sequence[VisitNoteRow],
) -> VisitOut:
    own = [note for note in notes if note.visit_id == visit.id]
    layers = [layer for its in records.layers.values() for layer in its]
    mounts = records.mounts
    return VisitOut(
        id=visit.id,
        version=visit.version,
        work=visit.work_id,
        number=visit.visit_no,
        on=visit.on_edtf,
        kind=visit.kind,
        reason=visit.reason,
        by=visit.by,
        by_unknown_hand=visit.by_unknown_hand,
        minutes=visit.minutes,
        seen=list(places_seen_at(visit)),
        stop=StopOut(why=visit.stop_why, left=visit.stop_left or "") if visit.stop_why else None,
        report=ReportOut(summary=visit.summary, sightings=sightings[visit.id]),
        tests=tests[visit.id],
        inscriptions=[_inscription(note) for note in own if note.kind == INSCRIPTION],
        treatments=[_treatment(note) for note in own if note.kind == TREATMENT],
        dismounted=_first(m.id for m in mounts if m.dismounted_visit_id == visit.id),
        mounted=_first(m.id for m in mounts if m.mounted_visit_id == visit.id),
        layers_removed=[x.id for x in layers if x.removed_visit_id == visit.id],
        layers_fitted=[x.id for x in layers if x.fitted_visit_id == visit.id],
        closed_as_it_was=visit.closed_as_it_was,
        to_write_up=visit.to_write_up,
    )


def _inscription(note: VisitNoteRow) -> InscriptionOut:
    kept = None if note.kept is None else Kept(note.kept)
    return InscriptionOut(id=note.id, where=note.what, text=note.text, kept=kept)


def _treatment(note: VisitNoteRow) -> TreatmentOut:
    materials = note.materials.split("; ") if note.materials else []
    return TreatmentOut(
        id=note.id, term=note.what, by=note.by, note=note.text, materials=sorted(materials)
    )


def _first(keys: Iterable[int]) -> int | None:
    return next(iter(keys), None)


def _tests_by_visit(records: WorkRecords) -> Mapping[int, list[LayerTestOut]]:
    found: dict[int, list[LayerTestOut]] = defaultdict(list)
    for tests in records.tests.values():
        for test in tests:
            found[test.visit_id].append(_test(test))
    return found


def _test(row: BenchTestRow) -> LayerTestOut:
    return LayerTestOut(id=row.id, layer=row.layer_id, test=row.test, result=row.result)


def _sightings_by_visit(
    records: WorkRecords, notes: Sequence[VisitNoteRow], pictures: OnPictures
) -> Mapping[int, list[SightingOut]]:
    colours = _colours(notes)
    found: dict[int, list[SightingOut]] = defaultdict(list)
    for row in records.sightings:
        found[row.visit_id].append(_sighting(row, colours, pictures))
    return found


def _colours(notes: Sequence[VisitNoteRow]) -> Mapping[int, list[ColourOut]]:
    readings: dict[int, list[VisitNoteRow]] = defaultdict(list)
    for note in notes:
        if note.kind == COLOUR and note.sighting_id is not None:
            readings[note.sighting_id].append(note)
    found: dict[int, list[ColourOut]] = defaultdict(list)
    for sighting_id, its in readings.items():
        clean = next((note for note in its if note.what == CLEAN_PAPER), None)
        found[sighting_id] = [_colour(note, clean) for note in its]
    return found


def _colour(note: VisitNoteRow, clean: VisitNoteRow | None) -> ColourOut:
    lab = _lab(note)
    difference = None
    if clean is not None and clean is not note:
        difference = round(float(colour_difference(lab, _lab(clean))), 2)
    return ColourOut(L=lab[0], a=lab[1], b=lab[2], spot=note.what, delta_e_2000=difference)


def _lab(note: VisitNoteRow) -> tuple[float, float, float]:
    return note.lab_l or 0.0, note.lab_a or 0.0, note.lab_b or 0.0


def outline_out(row: FindingOutline) -> OutlineOut:
    """Return an outline as it is kept, its points in mm or as fractions."""
    unit = MICROMETRES_PER_MM if row.on_sheet else MILLION
    return OutlineOut(
        version=row.version,
        shape=row.shape,
        photograph=row.photograph_id,
        points=[(left / unit, top / unit) for left, top in kept_points(row)],
        on_photograph=not row.on_sheet,
        from_mm=size_mm(row.from_um),
        to_mm=size_mm(row.to_um),
    )


def contrast_out(row: PhotographContrast) -> ContrastOut:
    """Return what was read from a photograph, with CIEDE2000 between the two places."""
    stain, clean = row.labs
    return ContrastOut(
        version=row.version,
        photograph=row.photograph_id,
        stain=_spot(row.stain_x_ppm, row.stain_y_ppm, stain),
        clean=_spot(row.clean_x_ppm, row.clean_y_ppm, clean),
        delta_e_2000=round(float(colour_difference(stain, clean)), 2),
    )


def _spot(x_ppm: int, y_ppm: int, lab: tuple[float, float, float]) -> SpotOut:
    lightness, a, b = (round(figure, 2) for figure in lab)
    return SpotOut(place=(x_ppm / MILLION, y_ppm / MILLION), L=lightness, a=a, b=b)


def _sighting(
    row: SightingRow, colours: Mapping[int, list[ColourOut]], pictures: OnPictures
) -> SightingOut:
    outline, contrast = pictures.outlines.get(row.id), pictures.contrasts.get(row.id)
    return SightingOut(
        id=row.id,
        version=row.version,
        finding=row.finding_id,
        visit=row.visit_id,
        on=row.on_edtf,
        term=row.term,
        severity=row.severity,
        change=row.change,
        mm=size_mm(row.reach_um),
        extent_percent=row.extent_percent,
        note=row.note,
        colours=colours[row.id] if row.id in colours else [],
        outline=None if outline is None else outline_out(outline),
        contrast=None if contrast is None else contrast_out(contrast),
    )


def _finding(
    rows: Sequence[SightingRow],
    colours: Mapping[int, list[ColourOut]],
    pictures: OnPictures,
) -> FindingOut:
    row = rows[0]
    region = None
    if row.region_width_um is not None:
        region = RegionOut(
            left_mm=size_mm(row.region_left_um),
            top_mm=size_mm(row.region_top_um),
            width_mm=size_mm(row.region_width_um),
            height_mm=size_mm(row.region_height_um),
        )
    cause = None
    if row.cause_mechanism is not None or row.cause_mount is not None:
        cause = CauseOut(
            mechanism=row.cause_mechanism, mount=row.cause_mount, mount_id=row.cause_mount_id
        )
    return FindingOut(
        id=row.finding_id,
        number=row.finding_no,
        term=row.term,
        side=row.side,
        edge=row.edge,
        follows_window_edge=row.follows_window_edge,
        region=region,
        cause=cause,
        sightings=[_sighting(its, colours, pictures) for its in rows],
    )


def _mount(records: WorkRecords, mount: MountRow) -> MountOut:
    layers = layers_during(mount, records.layers[mount.package_id])
    return MountOut(
        id=mount.id,
        version=mount.version,
        work=mount.work_id,
        number=mount.mount_no,
        package=mount.package_id,
        method=mount.method,
        front=mount.in_front,
        back=mount.behind,
        held=mount.held,
        reason=mount.reason,
        mounted_on=mount.mounted_edtf,
        mounted_is_assumed=mount.mounted_assumed,
        mounted_by=mount.mounted_by,
        current=not mount.ended,
        dismounted_on=mount.dismounted_edtf,
        dismounted_by=mount.dismounted_by,
        dismount_reason=mount.dismount_reason,
        harm_at_dismount=mount.harm_at_dismount,
        inferred=mount.inferred,
        by_unknown_hand=mount.by_unknown_hand,
        note=mount.note,
        layers=[_layer(layer, records.tests.get(layer.id, ())) for layer in layers],
        holds=[_hold(hold) for hold in records.holds[mount.id]],
    )


def _layer(row: LayerRow, tests: Sequence[BenchTestRow]) -> LayerOut:
    return LayerOut(
        id=row.id,
        version=row.version,
        role=row.role,
        side=row.side,
        distance=row.distance,
        material=row.material,
        lot=row.lot,
        grade=row.grade or row.figures_grade,
        own_grade=row.grade,
        known_by=row.known_by,
        covers_all=row.covers_all,
        belongs_to_work=row.belongs_to_work,
        windows=[_window(window) for window in read_windows(row.windows)],
        fitted_on=row.fitted_edtf,
        ended=row.ended,
        removed_on=row.removed_edtf,
        condition=row.condition,
        kept=row.kept,
        recalled_on=_iso(row.recalled_on),
        note=row.note,
        tests=[_test(test) for test in tests],
    )


def _window(told: WindowTold) -> WindowOut:
    return WindowOut(
        height_mm=told.height_mm,
        width_mm=told.width_mm,
        left_mm=told.left_mm,
        top_mm=told.top_mm,
        shows=told.shows,
    )


def _hold(row: HoldRow) -> HoldOut:
    return HoldOut(
        id=row.id,
        version=row.version,
        number=row.hold_no,
        material=row.material,
        lot=row.lot,
        grade=row.grade,
        adhesive_grade=row.adhesive_grade,
        known_by=row.known_by,
        position=row.position,
        count=row.hold_count,
        clearance_mm=size_mm(row.clearance_um),
        covers_all=row.covers_all,
        since=row.since_edtf,
        freed_by=row.freed_by,
        outcome=row.outcome,
        residue=row.residue,
        note=row.note,
    )


def _remain(row: RemainRow) -> RemainOut:
    return RemainOut(
        id=row.id,
        what=row.what,
        grade=row.grade,
        since=row.since_edtf,
        is_still_there=not row.ended,
    )


def _chance(told: ChanceRange) -> ChanceOut:
    return ChanceOut(
        chance=told.chance,
        if_twice_as_long=told.if_twice_as_long,
        if_half_as_long=told.if_half_as_long,
    )


def _next(told: NextDate, today: int) -> NextDateOut:
    return NextDateOut(
        formula_years=told.formula_years,
        on=_iso(shown_day(told.on, today)),
        steps=list(told.sentences),
    )


def _iso(day: int | None) -> str | None:
    return None if day is None else day_date(day).isoformat()
