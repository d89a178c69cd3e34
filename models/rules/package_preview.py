"""What would a planned package do to a work, before it exists?

A plan is complete as it is told: layers and holds that are not listed do not
exist, and nothing is stored. What is left out takes a default, and every default
that was taken is named in the answer under `assumed`:

- today: today, and `mount.mounted_on`: today
- `work.replaceability`: unique, `work.surface`: other
- `work.light_class`: 2, as for a technique that nobody knows
- `place.use`: display, `place.temperature_c`: 20, `place.rh_percent`: 50
- `place.lux`: 50 (in storage or a box: 0), `place.hours_per_day`: 8,
  `place.days_per_year`: 365, `place.uv_uw_per_lm`: 10

A place that was last seen counts as clear then; the last day on which margins,
verso or what is under the hinges were seen is the last unframing. Light is worked
out apart, as if the work had been shown nowhere this year and hung there from today;
of the glazing a plan says nothing, so ultraviolet is as the place has it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from math import isfinite

from models.errors import BadValue, Fault
from models.rules.calendar_days import day_date, day_number
from models.rules.default_figures import DefaultFigures
from models.rules.inspection_schedule import shown_day
from models.rules.light_ledger import (
    ASSUMED_LIGHT_CLASS,
    LightStay,
    light_ledger,
    place_light,
    sensitivity_of,
)
from models.rules.package_facts import (
    ClimateFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.place_tree import DEFAULTS
from models.rules.work_forecast import NextDate, WorkCase, WorkForecast, forecasts
from models.vocabulary import (
    SEEN_FROM_OUTSIDE,
    SEEN_WHEN_OPENED,
    Advice,
    Distance,
    Freeing,
    LayerRole,
    LayerSide,
    Mechanism,
    PlaceUse,
    Replaceability,
    Shown,
    Surface,
    Verdict,
)

TEMPERATURE_RANGE_C = (-30.0, 60.0)
RH_RANGE_PERCENT = (0.0, 100.0)
LUX_RANGE = (0.0, 1e6)
HOURS_RANGE = (0.0, 24.0)
DAYS_RANGE = (0.0, 366.0)
UV_RANGE_UW_PER_LM = (0.0, 1e6)
LIGHT_CLASS_RANGE = (1.0, 8.0)
# An experience factor of nothing would say that a material never harms.
FACTOR_RANGE = (0.001, 1000.0)


@dataclass(frozen=True, kw_only=True)
class WorkPlanned:
    """The work. `process_group` is that of its technique where the caller knows it."""

    replaceability: Replaceability | None = None
    technique: str = ""
    process_group: str = ""
    light_class: int | None = None
    surface: Surface | None = None
    width_mm: float | None = None
    height_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class PlacePlanned:
    """Where it is to be, in what climate and light; UV in microwatts per lumen."""

    use: PlaceUse | None = None
    temperature_c: float | None = None
    rh_percent: float | None = None
    lux: float | None = None
    hours_per_day: float | None = None
    days_per_year: float | None = None
    uv_uw_per_lm: float | None = None


@dataclass(frozen=True, kw_only=True)
class HoldPlanned:
    """A hold by its grade; an adhesive that it puts on the work is a layer of its own."""

    grade: str
    count: int | None = None
    covers_all: bool = False


@dataclass(frozen=True, kw_only=True)
class LayerPlanned:
    """A layer by its role and grade; side and distance follow from the order where not told."""

    role: LayerRole
    grade: str | None = None
    distance: Distance | None = None
    side: LayerSide | None = None
    fitted_on: date | None = None
    covers_all: bool = False


@dataclass(frozen=True, kw_only=True)
class MountPlanned:
    """The mount: layers front to back, with the work among them."""

    mounted_on: date | None = None
    method: str = ""
    floats: bool = False
    holds: tuple[HoldPlanned, ...] = ()
    layers: tuple[LayerPlanned, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PackagePlan:
    """All that a preview is told. Experience factors go by `mechanism/grade`."""

    today: date | None = None
    work: WorkPlanned = WorkPlanned()
    place: PlacePlanned = PlacePlanned()
    mount: MountPlanned = MountPlanned()
    last_seen: Mapping[Shown, date | None] = field(default_factory=dict)
    experience: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class PreviewDate:
    """A date as it is shown: one that is past is today."""

    formula_years: float | None
    on: date | None
    steps: tuple[str, ...]


@dataclass(frozen=True)
class PreviewDriver:
    """A row that leads its mechanism at its place."""

    mechanism: Mechanism
    grade: str
    layer: str
    place: Shown
    median: float | None
    shape: float | None
    rate_per_year: float
    clock_seen: float
    clock_now: float
    share_5y: float


@dataclass(frozen=True)
class PreviewLayer:
    """The verdict on one layer or hold."""

    role: str
    verdict: Verdict
    why: str


@dataclass(frozen=True)
class PreviewVerdict:
    """How the work would be freed, and every layer judged."""

    freeing: Freeing
    weak_layer: str | None
    layers: tuple[PreviewLayer, ...]


@dataclass(frozen=True)
class PreviewLight:
    """On how many days a year it may be shown, and until when now; None: no limit is reached."""

    days_per_year: float | None
    take_down_by: date | None


@dataclass(frozen=True)
class PackagePreview:
    """The answer; chances are shares of 1."""

    chance_unseen_now: float
    chance_unseen_1y: float
    chance_unseen_5y: float
    chance_new_5y: float
    unframing: PreviewDate
    look: PreviewDate
    light: PreviewLight
    advice: Advice | None
    remat_by: date | None
    drivers: tuple[PreviewDriver, ...]
    verdict: PreviewVerdict
    assumed: Mapping[str, str | int | float]


def preview_package(plan: PackagePlan, *, figures: DefaultFigures, today: date) -> PackagePreview:
    """Return what a planned package would do to its work.

    `today` is the day where the installation is, for a plan that names none.
    Raises BadValue with every value that cannot be right.
    """
    on = plan.today or today
    if faults := [*_faults_of_values(plan), *_faults_of_days(plan, on), *_faults(plan, figures)]:
        raise BadValue("Some values of this plan cannot be right.", faults)
    (found,) = forecasts([_case(plan, figures, on)])
    light = _light(plan, day_number(on))
    return _answer(found, light, day_number(on), _assumed(plan, on))


def _case(plan: PackagePlan, figures: DefaultFigures, on: date) -> WorkCase:
    seen = {place: _day(plan.last_seen.get(place)) for place in Shown}
    unframed = _latest(seen[place] for place in SEEN_WHEN_OPENED)
    return WorkCase(
        work=_work(plan.work),
        figures=figures,
        today=day_number(on),
        package=_package(plan.mount, on),
        climate=ClimateFacts(
            use=plan.place.use or PlaceUse.DISPLAY,
            temperature_c=_or(plan.place.temperature_c, ClimateFacts.temperature_c),
            rh_percent=_or(plan.place.rh_percent, ClimateFacts.rh_percent),
        ),
        seen=SeenFacts(days=seen),
        experience={_mechanism_and_grade(key): factor for key, factor in plan.experience.items()},
        last_look_day=_latest(seen[place] for place in SEEN_FROM_OUTSIDE),
        last_unframing_day=unframed,
        clear_at_last_unframing=frozenset(p for p, day in seen.items() if day == unframed),
        is_unchanged_since=True,
    )


def _work(work: WorkPlanned) -> WorkFacts:
    return WorkFacts(
        technique=work.technique,
        process_group=work.process_group,
        surface=work.surface or Surface.OTHER,
        replaceability=work.replaceability or Replaceability.UNIQUE,
        width_mm=work.width_mm,
        height_mm=work.height_mm,
    )


def _package(mount: MountPlanned, on: date) -> PackageFacts:
    layers = tuple(
        LayerFacts(
            role=layer.role,
            grade=layer.grade,
            distance=layer.distance,
            side=layer.side,
            fitted_first_day=_day(layer.fitted_on),
            covers_all=layer.covers_all,
        )
        for layer in mount.layers
    )
    holds = tuple(
        HoldFacts(grade=hold.grade, count=hold.count, covers_all=hold.covers_all)
        for hold in mount.holds
    )
    return PackageFacts(
        layers=layers,
        holds=holds,
        method=mount.method,
        floats=mount.floats,
        mounted_day=day_number(mount.mounted_on or on),
        is_recorded=False,
    )


def _assumed(plan: PackagePlan, on: date) -> dict[str, str | int | float]:
    """Return every field that was left out and decides something, with what stood in for it."""
    told: dict[str, tuple[object, str | int | float]] = {
        "today": (plan.today, on.isoformat()),
        "work.replaceability": (plan.work.replaceability, Replaceability.UNIQUE.value),
        "work.surface": (plan.work.surface, Surface.OTHER.value),
        "work.light_class": (plan.work.light_class, ASSUMED_LIGHT_CLASS),
        "place.use": (plan.place.use, PlaceUse.DISPLAY.value),
        "place.temperature_c": (plan.place.temperature_c, ClimateFacts.temperature_c),
        "place.rh_percent": (plan.place.rh_percent, ClimateFacts.rh_percent),
        "place.lux": (plan.place.lux, _assumed_lux(plan.place.use)),
        "place.hours_per_day": (plan.place.hours_per_day, DEFAULTS.hours_per_day),
        "place.days_per_year": (plan.place.days_per_year, DEFAULTS.days_per_year),
        "place.uv_uw_per_lm": (plan.place.uv_uw_per_lm, DEFAULTS.uv_uw_per_lm),
        "mount.mounted_on": (plan.mount.mounted_on, on.isoformat()),
    }
    return {name: default for name, (given, default) in told.items() if given is None}


def _assumed_lux(use: PlaceUse | None) -> float:
    return DEFAULTS.lux if use in (None, PlaceUse.DISPLAY) else 0.0


def _light(plan: PackagePlan, today: int) -> PreviewLight:
    place = place_light(
        use=plan.place.use or PlaceUse.DISPLAY,
        lux=_or(plan.place.lux, DEFAULTS.lux),
        hours_per_day=_or(plan.place.hours_per_day, DEFAULTS.hours_per_day),
        days_per_year=_or(plan.place.days_per_year, DEFAULTS.days_per_year),
        uv_uw_per_lm=_or(plan.place.uv_uw_per_lm, DEFAULTS.uv_uw_per_lm),
        is_said=plan.place.lux is not None,
        is_said_by_itself=plan.place.lux is not None,
    )
    sensitivity = sensitivity_of(plan.work.light_class, plan.work.process_group)
    ledger = light_ledger(sensitivity, [LightStay(today, today + 1, place)], today=today)
    return PreviewLight(ledger.days_per_year, _date(ledger.take_down_on))


def _answer(
    found: WorkForecast, light: PreviewLight, today: int, assumed: Mapping[str, str | int | float]
) -> PackagePreview:
    # In a box the check of the box stands for the look.
    look_on = found.look.on if found.box_check.on is None else found.box_check.on
    look = NextDate(found.look.formula_years, look_on, (*found.look.steps, *found.box_check.steps))
    return PackagePreview(
        chance_unseen_now=found.chance_unseen_now.chance,
        chance_unseen_1y=found.chance_unseen_1y.chance,
        chance_unseen_5y=found.chance_unseen_5y.chance,
        chance_new_5y=found.chance_new_5y.chance,
        unframing=_shown(found.unframing, today),
        look=_shown(look, today),
        light=light,
        advice=found.advice,
        remat_by=_date(shown_day(found.remat_by, today)),
        drivers=tuple(
            PreviewDriver(
                driver.mechanism,
                driver.grade,
                driver.layer,
                driver.place,
                driver.median,
                driver.shape,
                driver.rate_per_year,
                driver.clock_seen,
                driver.clock_now,
                driver.share_5y,
            )
            for driver in found.drivers
        ),
        verdict=PreviewVerdict(
            freeing=found.verdict.freeing,
            weak_layer=found.weak_layer or None,
            layers=tuple(
                PreviewLayer(layer.role, layer.verdict, layer.why) for layer in found.verdict.layers
            ),
        ),
        assumed=assumed,
    )


def _shown(next_date: NextDate, today: int) -> PreviewDate:
    on = _date(shown_day(next_date.on, today))
    return PreviewDate(next_date.formula_years, on, next_date.sentences)


def _faults_of_values(plan: PackagePlan) -> Iterable[Fault]:
    ranged = {
        "/place/temperature_c": (plan.place.temperature_c, TEMPERATURE_RANGE_C),
        "/place/rh_percent": (plan.place.rh_percent, RH_RANGE_PERCENT),
        "/place/lux": (plan.place.lux, LUX_RANGE),
        "/place/hours_per_day": (plan.place.hours_per_day, HOURS_RANGE),
        "/place/days_per_year": (plan.place.days_per_year, DAYS_RANGE),
        "/place/uv_uw_per_lm": (plan.place.uv_uw_per_lm, UV_RANGE_UW_PER_LM),
        "/work/light_class": (plan.work.light_class, LIGHT_CLASS_RANGE),
        **{
            _pointer("experience", key): (factor, FACTOR_RANGE)
            for key, factor in plan.experience.items()
        },
    }
    for pointer, (value, (low, high)) in ranged.items():
        if value is not None and not (isfinite(value) and low <= value <= high):
            yield Fault(pointer, "This is out of range.", f"From {low:g} to {high:g}.")
    for name, size in (("width_mm", plan.work.width_mm), ("height_mm", plan.work.height_mm)):
        if size is not None and not (isfinite(size) and size > 0):
            yield Fault(f"/work/{name}", "A work has a size.", "More than 0 mm.")


def _faults_of_days(plan: PackagePlan, on: date) -> Iterable[Fault]:
    days = {
        "/mount/mounted_on": plan.mount.mounted_on,
        **{
            f"/mount/layers/{index}/fitted_on": layer.fitted_on
            for index, layer in enumerate(plan.mount.layers)
        },
        **{_pointer("last_seen", place): day for place, day in plan.last_seen.items()},
    }
    for pointer, day in days.items():
        if day is not None and day > on:
            yield Fault(pointer, "This day is still to come.", f"{on.isoformat()} or before.")


def _faults(plan: PackagePlan, figures: DefaultFigures) -> Iterable[Fault]:
    for index, hold in enumerate(plan.mount.holds):
        where = f"/mount/holds/{index}"
        grades = figures.grades(Mechanism.HOLD_FAILURE)
        yield from _not_one_of(f"{where}/grade", hold.grade, grades)
        if hold.count is not None and hold.count < 1:
            yield Fault(f"{where}/count", "A hold that is listed is there.", "1 or more.")
    for index, layer in enumerate(plan.mount.layers):
        if layer.grade is not None and layer.role is not LayerRole.WORK:
            grades = _grades_of(layer.role, figures)
            yield from _not_one_of(f"/mount/layers/{index}/grade", layer.grade, grades)
    works = [i for i, layer in enumerate(plan.mount.layers) if layer.role is LayerRole.WORK]
    for index in works[1:]:
        yield Fault(f"/mount/layers/{index}/role", "The work is listed twice.", "List it once.")
    for key in plan.experience:
        if key not in _known_keys(figures):
            right = "Write mechanism/grade, each as in the table of default figures."
            yield Fault(_pointer("experience", key), "There is no such mechanism and grade.", right)


def _grades_of(role: LayerRole, figures: DefaultFigures) -> tuple[str, ...]:
    adhesives = figures.grades(Mechanism.ADHESIVE_AGEING)
    if role is LayerRole.ADHESIVE:
        return adhesives
    return figures.grades(Mechanism.ACID_MIGRATION) + adhesives


def _known_keys(figures: DefaultFigures) -> frozenset[str]:
    return frozenset(f"{of}/{grade}" for of in Mechanism for grade in figures.grades(of))


def _not_one_of(pointer: str, word: str, known: tuple[str, ...]) -> Iterable[Fault]:
    if word not in known:
        yield Fault(pointer, "There is no such grade.", f"One of: {'; '.join(known)}.")


def _mechanism_and_grade(key: str) -> tuple[Mechanism, str]:
    mechanism, _, grade = key.partition("/")
    return Mechanism(mechanism), grade


def _pointer(*parts: str) -> str:
    return "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in parts)


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _day(on: date | None) -> int | None:
    return None if on is None else day_number(on)


def _date(day: int | None) -> date | None:
    return None if day is None else day_date(day)


def _latest(days: Iterable[int | None]) -> int | None:
    return max((day for day in days if day is not None), default=None)
