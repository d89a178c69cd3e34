"""What is to be expected of each work, what must be done next, and why?

The rows by which the packages can harm are worked out for many works at once:
the chance of harm unseen now, in one year and in five, the chance of new harm
within five years, each with its range for typical times half and twice as long;
and the days by formula of the next unframing (what shows at the margins, on the
verso, under the hinges) and of the next look (front and back of frame). Then the
steps of the schedule are taken work by work.

A row that nobody can see stays in the chance and leaves the sum that sets the
date. A work with no package on record is judged as unknown in front, behind and
held, mounted at an assumed date. Days are absolute; `inspection_schedule.shown_day`
makes one that is past due today.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from math import expm1, isinf, isnan, log1p

import numpy as np

from models.risk.hazard import (
    Components,
    Floats,
    Indexes,
    chance,
    hazard_ahead,
    hazard_shares,
    hazard_unseen,
    only_rows,
    side_by_side,
    with_medians,
)
from models.rules.allowed_chance import allowed_chance
from models.rules.calendar_days import add_months, years_between
from models.rules.default_figures import DefaultFigures
from models.rules.inspection_schedule import (
    FIRST_SURVEY,
    Scheduled,
    Soundness,
    Step,
    StepKind,
    box_check,
    by_formula,
    clean_years_floor,
    with_clean_years,
    with_look_limits,
    with_unframing_limits,
    with_urgent_signs,
)
from models.rules.package_components import (
    Circumstances,
    ComponentRow,
    Experience,
    component_rows,
)
from models.rules.package_facts import (
    ClimateFacts,
    FindingFacts,
    Key,
    LayerFacts,
    PackageFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.package_verdict import PackageVerdict, package_verdict
from models.rules.packed_rows import (
    FRAME,
    ROW,
    KeptWork,
    clean_bits,
    figure_columns,
    harm_rows,
    pack_rows,
    weak_layer,
)
from models.rules.policy import Policy
from models.rules.postponement import MAY_BE_PUT_OFF, PutOffs, with_put_off
from models.rules.remat_advice import WINDOW_YEARS, RematAdvice, is_live_stain, remat_advice
from models.rules.urgent_signs import Urgent, may_be_opened, urgent_signs
from models.rules.work_dates import (
    DUE_KINDS,
    REPLACEABILITIES,
    SOUNDNESSES,
    USES,
    WHYS,
    Asked,
    WorkDates,
    work_dates,
)
from models.vocabulary import (
    SEEN_FROM_OUTSIDE,
    SEEN_WHEN_OPENED,
    UNKNOWN_GRADES,
    Advice,
    DueKind,
    LayerRole,
    Mechanism,
    Shown,
    Surface,
)

# Typical times half and twice as long give the range of a chance.
RANGE = (0.5, 2.0)

NOTHING_ON_RECORD = (LayerFacts(role=LayerRole.WORK),)


@dataclass(frozen=True, kw_only=True)
class WorkCase:
    """All that the forecast of one work depends on.

    The last days are first days of half-known dates; None: never on record. A
    mounting need not be given as an unframing. `clear_at_last_unframing` names
    the places that were seen and clear then, and `is_unchanged_since` says that
    neither the package nor the work's place has changed. `advised_on` is the
    stored day on which advice to remat first held, and `not_advised_on` the day on
    which it was last worked out that there was none. `past` are the climates of the
    places before, each with the last day on which it held, oldest first.
    """

    work: WorkFacts
    figures: DefaultFigures
    today: int
    policy: Policy = field(default_factory=Policy)
    package: PackageFacts | None = None
    climate: ClimateFacts = field(default_factory=ClimateFacts)
    past: tuple[tuple[int, ClimateFacts], ...] = ()
    seen: SeenFacts = field(default_factory=SeenFacts)
    experience: Experience = field(default_factory=dict)
    findings: tuple[FindingFacts, ...] = ()
    last_look_day: int | None = None
    last_unframing_day: int | None = None
    last_box_check_day: int | None = None
    was_ever_examined: bool = True
    clear_at_last_unframing: frozenset[Shown] = frozenset()
    is_unchanged_since: bool = False
    advised_on: int | None = None
    not_advised_on: int | None = None
    put_off: PutOffs = field(default_factory=dict)


@dataclass(frozen=True)
class ChanceRange:
    """A chance between 0 and 1, and what it were if typical times were twice or half as long."""

    chance: float
    if_twice_as_long: float
    if_half_as_long: float


@dataclass(frozen=True)
class NextDate:
    """A date: years by formula (0 when reached, None when never), the day, the steps to it."""

    formula_years: float | None
    on: int | None
    steps: tuple[Step, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """Return the steps in words."""
        return tuple(step.sentence for step in self.steps)


@dataclass(frozen=True)
class NewHarmByPlace:
    """The chance of new harm within five years by who would notice it, each from 0 to 1.

    `at_a_look` shows at the front or the back of the frame, `when_opened` at the margins,
    on the verso or under the hinges; `never_seen` at a place that nobody can see, as the
    verso of a work that is stuck down all over.
    """

    at_a_look: float
    when_opened: float
    never_seen: float


@dataclass(frozen=True, kw_only=True)
class Driver:
    """One row that leads its mechanism at its place, with its share of the next five years.

    Median and shape are None for an unknown board, which is a mixture. Theta is by how
    many times as often as typical the house's own mounts were marked. The unit is
    that of the clock and of the median.
    """

    mechanism: Mechanism
    grade: str
    layer: str
    key: Key
    place: Shown
    median: float | None
    shape: float | None
    rate_per_year: float
    clock_seen: float
    clock_now: float
    share_5y: float
    because: str = ""
    theta: float = 1.0
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class WorkForecast:
    """What is to be expected of one work; days are absolute and never clamped to today."""

    chance_unseen_now: ChanceRange
    chance_unseen_1y: ChanceRange
    chance_unseen_5y: ChanceRange
    chance_new_5y: ChanceRange
    new_harm_by_place: NewHarmByPlace
    unframing: NextDate
    look: NextDate
    box_check: NextDate
    # What is advised instead of looking again; no day and no steps where nothing is.
    remat: NextDate
    # Whether it is unframed to be looked at before it is rematted, if that is advised at all.
    is_unframed_first: bool
    advice: Advice | None
    advised_on: int | None
    urgent: tuple[Urgent, ...]
    may_be_opened: bool
    first_survey: bool
    drivers: tuple[Driver, ...]
    weak_layer: str
    verdict: PackageVerdict
    due_on: int | None
    due_kind: DueKind | None
    # What a date is reckoned from, beside its rows.
    allowed_chance: float
    climate: ClimateFacts = field(repr=False)
    kept: KeptWork = field(repr=False)
    rows: tuple[ComponentRow, ...] = field(repr=False)

    @property
    def remat_by(self) -> int | None:
        """Return the day by which it is rematted, as put off; None where nothing is advised."""
        return self.remat.on


def forecasts(cases: Sequence[WorkCase]) -> list[WorkForecast]:
    """Return the forecast of each work, all that rest on the same figures in one pass."""
    together: dict[object, list[int]] = {}
    for index, case in enumerate(cases):
        together.setdefault(_in_common(case), []).append(index)
    found: dict[int, WorkForecast] = {}
    for indexes in together.values():
        studied = [_study(cases[index]) for index in indexes]
        worked_out = _work_out(studied)
        for nth, index in enumerate(indexes):
            found[index] = _forecast(studied[nth], worked_out, nth)
    return [found[index] for index in range(len(cases))]


def _in_common(case: WorkCase) -> object:
    return case.policy, case.figures, frozenset(case.experience.items())


def package_on_record(case: WorkCase) -> PackageFacts:
    """Return the package as recorded; with none on record, one of which nothing is known."""
    if case.package is not None:
        return case.package
    return PackageFacts(
        layers=NOTHING_ON_RECORD,
        mounted_day=add_months(case.today, -int(case.policy.assumed_mounted_months)),
        mounted_is_assumed=True,
    )


@dataclass(frozen=True, kw_only=True)
class _Studied:
    """One work with its rows, before anything is summed."""

    case: WorkCase
    package: PackageFacts
    rows: tuple[ComponentRow, ...]
    verdict: PackageVerdict
    soundness: Soundness
    urgent: tuple[Urgent, ...]
    left_in_peace_because: str | None
    clean: frozenset[Shown]
    clean_years: float
    # The last unframing or mounting, and the last that is more than an assumption.
    opened_day: int | None
    opened_for_certain_day: int | None
    looked_day: int | None
    box_checked_day: int | None


def _study(case: WorkCase) -> _Studied:
    package = package_on_record(case)
    rows = component_rows(
        Circumstances(
            package=package,
            work=case.work,
            climate=case.climate,
            past=case.past,
            seen=case.seen,
            figures=case.figures,
            experience=case.experience,
            today=case.today,
        )
    )
    verdict = package_verdict(package, case.work, case.figures, case.today)
    clean = _clean_places(case, rows)
    opened = _latest(case.last_unframing_day, package.mounted_day)
    return _Studied(
        case=case,
        package=package,
        rows=rows,
        verdict=verdict,
        soundness=_soundness(verdict, rows),
        urgent=urgent_signs(case.findings, package, today=case.today),
        left_in_peace_because=_left_in_peace_because(case.work, verdict),
        clean=clean,
        clean_years=_clean_years(case, package, [row for row in rows if row.shown in clean]),
        opened_day=opened,
        opened_for_certain_day=_latest(case.last_unframing_day, _mounted_for_certain(package)),
        looked_day=_latest(case.last_look_day, opened),
        box_checked_day=_latest(case.last_box_check_day, opened),
    )


def _mounted_for_certain(package: PackageFacts) -> int | None:
    return None if package.mounted_is_assumed else package.mounted_day


def _clean_places(case: WorkCase, rows: Sequence[ComponentRow]) -> frozenset[Shown]:
    """Return the places of known grades that were clear at the last unframing, as they now are."""
    unframed = case.last_unframing_day
    if unframed is None or not case.is_unchanged_since:
        return frozenset()
    spoiled = {row.shown for row in rows if row.grade in UNKNOWN_GRADES or row.begun_day > unframed}
    return case.clear_at_last_unframing & frozenset(SEEN_WHEN_OPENED) - spoiled


def _clean_years(case: WorkCase, package: PackageFacts, rows: Sequence[ComponentRow]) -> float:
    """Return how long the clean places had stayed clean, by the youngest layer at them."""
    if case.last_unframing_day is None or package.mounted_is_assumed or not rows:
        return 0.0
    return years_between(max(row.begun_day for row in rows), case.last_unframing_day)


def _kept(one: _Studied) -> KeptWork:
    """Return the work as its dates can be worked out anew from."""
    names = (*(row.name for row in one.rows), one.verdict.weak_layer)
    rows = pack_rows(one.rows, one.case.figures)
    return KeptWork(np.array([_frame(one)], dtype=FRAME).tobytes(), rows.tobytes(), names)


def _frame(one: _Studied) -> tuple[object, ...]:
    case = one.case
    urgent = one.urgent[0].due_day if one.urgent else None
    return (
        REPLACEABILITIES.index(case.work.replaceability),
        USES.index(case.climate.use),
        SOUNDNESSES.index(one.soundness),
        clean_bits(one.clean),
        one.left_in_peace_because is not None,
        case.was_ever_examined,
        is_live_stain(case.findings, one.rows, case.work),
        case.today,
        _since(one),
        *(
            np.nan if day is None else day
            for day in (
                _mounted_for_certain(one.package),
                case.last_unframing_day,
                one.opened_day,
                one.opened_for_certain_day,
                one.looked_day,
                one.box_checked_day,
                _clean_floor(one),
                urgent,
                *(_put_off_until(case, kind) for kind in MAY_BE_PUT_OFF),
            )
        ),
    )


def _put_off_until(case: WorkCase, kind: DueKind) -> int | None:
    return case.put_off[kind].until_day if kind in case.put_off else None


def _since(one: _Studied) -> int:
    """Return the day on which the first clock started or its place was seen."""
    days = [_counts_from(row, one.case.seen.day(row.shown)) for row in one.rows]
    return min(days, default=one.case.today)


def _counts_from(row: ComponentRow, seen_day: int | None) -> int:
    return row.begun_day if seen_day is None else max(row.begun_day, seen_day)


def _clean_floor(one: _Studied) -> int | None:
    unframed = one.case.last_unframing_day
    return None if unframed is None else clean_years_floor(unframed, one.clean_years)


@dataclass(frozen=True, kw_only=True)
class _WorkedOut:
    """What was worked out of all works at once: one value per work, shares per row."""

    kept: list[KeptWork]
    first_row: Indexes
    dates: WorkDates
    chances: dict[str, tuple[Floats, Floats, Floats]]
    shares: Floats


def _work_out(studied: Sequence[_Studied]) -> _WorkedOut:
    shared = studied[0].case
    kept = [_kept(one) for one in studied]
    counts = np.array([len(one.rows) for one in studied], dtype=np.int64)
    packed = np.frombuffer(b"".join(one.rows for one in kept), dtype=ROW)
    rows = harm_rows(packed, counts, figure_columns(shared.figures, shared.experience))
    dates = work_dates(
        Asked(
            rows=rows,
            frames=np.frombuffer(b"".join(one.frame for one in kept), dtype=FRAME),
            policy=shared.policy,
            today=_days([one.case.today for one in studied]),
            advised_on=_days([one.case.advised_on for one in studied]),
            not_advised_on=_days([one.case.not_advised_on for one in studied]),
        )
    )
    in_chance = only_rows(rows.components, rows.is_in_chance)
    shares = np.zeros(len(packed))
    shares[rows.is_in_chance] = hazard_shares(in_chance, WINDOW_YEARS)
    first_row = np.concatenate([[0], np.cumsum(counts)])
    return _WorkedOut(
        kept=kept, first_row=first_row, dates=dates, chances=_chances(in_chance), shares=shares
    )


def _days(days: Sequence[int | None]) -> Floats:
    return np.array([np.nan if day is None else day for day in days], dtype=np.float64)


def _chances(rows: Components) -> dict[str, tuple[Floats, Floats, Floats]]:
    shorter, longer = (with_medians(rows, factor) for factor in RANGE)
    ranged = side_by_side([rows, longer, shorter])

    def of_each(hazard: Callable[[Components], Floats]) -> tuple[Floats, Floats, Floats]:
        value, of_longer, of_shorter = np.split(chance(hazard(ranged)), 3)
        return value, of_longer, of_shorter

    return {
        "unseen_now": of_each(lambda r: hazard_unseen(r, 0.0)),
        "unseen_1y": of_each(lambda r: hazard_unseen(r, 1.0)),
        "unseen_5y": of_each(lambda r: hazard_unseen(r, 5.0)),
        "new_5y": of_each(lambda r: hazard_ahead(r, 5.0)),
    }


def _forecast(one: _Studied, out: _WorkedOut, index: int) -> WorkForecast:
    case, dates = one.case, out.dates
    advice = _advice(one, out, index)
    first, last = out.first_row[index], out.first_row[index + 1]
    return WorkForecast(
        chance_unseen_now=_range(out, "unseen_now", index),
        chance_unseen_1y=_range(out, "unseen_1y", index),
        chance_unseen_5y=_range(out, "unseen_5y", index),
        chance_new_5y=_range(out, "new_5y", index),
        new_harm_by_place=_new_harm_by_place(
            one.rows, out.shares[first:last], float(out.chances["new_5y"][0][index])
        ),
        unframing=_unframing(one, dates, index, advice),
        look=_look(one, dates, index),
        box_check=_box_check(one, dates, index),
        remat=_remat(one, advice),
        is_unframed_first=bool(dates.is_unframed_first[index]),
        advice=None if advice is None else advice.advice,
        advised_on=None if advice is None else advice.advised_on,
        urgent=one.urgent,
        may_be_opened=may_be_opened(one.urgent),
        first_survey=not case.was_ever_examined,
        drivers=_drivers(one.rows, out.shares[first:last], case.figures),
        weak_layer=weak_layer(out.kept[index].names, dates.leading_at_unframing[index] - first),
        verdict=one.verdict,
        due_on=_on(dates.due_on, index),
        due_kind=DUE_KINDS[dates.due_kind[index]],
        allowed_chance=_allowed(one),
        climate=case.climate,
        kept=out.kept[index],
        rows=one.rows,
    )


def _unframing(one: _Studied, dates: WorkDates, index: int, advice: RematAdvice | None) -> NextDate:
    dated = by_formula(
        _on(dates.unframing_formula_day, index), allowed=_allowed(one), places=SEEN_WHEN_OPENED
    )
    if one.case.last_unframing_day is not None:
        dated = with_clean_years(
            dated,
            on=_on(dates.unframing_after_clean, index),
            floor_day=clean_years_floor(one.case.last_unframing_day, one.clean_years),
            places=one.clean,
            clean_years=one.clean_years,
        )
    dated = with_unframing_limits(
        dated,
        on=_on(dates.unframing_after_limits, index),
        last_day=one.opened_day,
        use=one.case.climate.use,
        soundness=one.soundness,
        left_in_peace_because=one.left_in_peace_because,
        policy=one.case.policy,
        is_mounting=_is_mounting(one, one.opened_day),
        is_assumed=_is_assumed(one, one.opened_day),
    )
    dated = with_urgent_signs(_first_survey(one, dated), one.urgent)
    dated = _put_off(one, DueKind.UNFRAMING, dated)
    steps = dated.steps
    if advice is not None:
        is_instead = not dates.is_unframed_first[index]
        steps += tuple(replace(step, sets_the_day=is_instead) for step in _remat(one, advice).steps)
    return NextDate(_formula_years(dates.unframing_years, index), dated.on, steps)


def _remat(one: _Studied, advice: RematAdvice | None) -> NextDate:
    """Return by when it is rematted, as put off; no day where nothing is advised."""
    if advice is None:
        return NextDate(None, None, ())
    advised = Scheduled(None).then(advice.remat_by, StepKind.REMAT, advice.sentence)
    dated = _put_off(one, DueKind.REMAT, advised)
    return NextDate(None, dated.on, dated.steps)


def _look(one: _Studied, dates: WorkDates, index: int) -> NextDate:
    dated = by_formula(
        _on(dates.look_formula_day, index), allowed=_allowed(one), places=SEEN_FROM_OUTSIDE
    )
    dated = with_look_limits(
        dated,
        on=_on(dates.look_after_limits, index),
        last_day=one.looked_day,
        use=one.case.climate.use,
        policy=one.case.policy,
        is_mounting=_is_mounting(one, one.looked_day),
        is_assumed=_is_assumed(one, one.looked_day),
    )
    dated = with_urgent_signs(_first_survey(one, dated), one.urgent)
    dated = _put_off(one, DueKind.LOOK, dated)
    return NextDate(_formula_years(dates.look_years, index), dated.on, dated.steps)


def _is_mounting(one: _Studied, day: int | None) -> bool:
    """Say whether nobody examined the work on a day but who mounted it."""
    case = one.case
    return day == one.package.mounted_day and day not in (
        case.last_unframing_day,
        case.last_look_day,
    )


def _is_assumed(one: _Studied, day: int | None) -> bool:
    """Say whether a day is a mounting that nobody dated."""
    return one.package.mounted_is_assumed and day == one.package.mounted_day


def _box_check(one: _Studied, dates: WorkDates, index: int) -> NextDate:
    dated = box_check(
        on=_on(dates.box_check_by_rule, index),
        last_day=one.box_checked_day,
        use=one.case.climate.use,
        policy=one.case.policy,
    )
    dated = _put_off(one, DueKind.BOX_CHECK, dated)
    return NextDate(None, dated.on, dated.steps)


def _put_off(one: _Studied, kind: DueKind, dated: Scheduled) -> Scheduled:
    """Return the day that somebody put in place of this one, where there is a day."""
    return dated if dated.on is None else with_put_off(dated, one.case.put_off.get(kind))


def _first_survey(one: _Studied, dated: Scheduled) -> Scheduled:
    if one.case.was_ever_examined:
        return dated
    return dated.then(None, StepKind.FIRST_SURVEY, FIRST_SURVEY)


def _advice(one: _Studied, out: _WorkedOut, index: int) -> RematAdvice | None:
    dates = out.dates
    why = WHYS[dates.why_remat[index]]
    if why is None:
        return None
    return remat_advice(
        leading=one.rows[dates.leading_mendable[index] - out.first_row[index]].mechanism,
        why=why,
        advised_on=int(dates.advised_on[index]),
        remat_by=int(dates.remat_by_rule[index]),
    )


def _soundness(verdict: PackageVerdict, rows: Sequence[ComponentRow]) -> Soundness:
    if verdict.unknown or any(row.grade in UNKNOWN_GRADES for row in rows):
        return Soundness.UNKNOWN
    return Soundness.SOUND if verdict.is_known_and_sound else Soundness.OTHER


def _left_in_peace_because(work: WorkFacts, verdict: PackageVerdict) -> str | None:
    if work.surface is Surface.FRIABLE:
        return "its surface is friable"
    return "it cannot be freed without harm" if verdict.held_for_good else None


def _allowed(one: _Studied) -> float:
    return allowed_chance(one.case.work.replaceability, one.case.policy)


def _on(days: Floats, index: int) -> int | None:
    return None if isnan(days[index]) else int(days[index])


def _formula_years(years: Floats, index: int) -> float | None:
    return None if isinf(years[index]) else max(0.0, float(years[index]))


def _range(out: _WorkedOut, name: str, index: int) -> ChanceRange:
    value, longer, shorter = out.chances[name]
    return ChanceRange(float(value[index]), float(longer[index]), float(shorter[index]))


def _new_harm_by_place(
    rows: Sequence[ComponentRow], shares: Floats, chance_new_5y: float
) -> NewHarmByPlace:
    """Part the chance by the shares of its hazard; the parts are chances of their own."""
    # A chance that a float cannot tell from 1 would be an endless hazard.
    hazard = -log1p(-min(chance_new_5y, 1.0 - 1e-16))
    looks, opened, hidden = 0.0, 0.0, 0.0
    for row, share in zip(rows, shares, strict=True):
        if not row.can_be_seen:
            hidden += float(share)
        elif row.shown in SEEN_FROM_OUTSIDE:
            looks += float(share)
        else:
            opened += float(share)
    return NewHarmByPlace(*(-expm1(-hazard * share) for share in (looks, opened, hidden)))


def _drivers(
    rows: Sequence[ComponentRow], shares: Floats, figures: DefaultFigures
) -> tuple[Driver, ...]:
    leading = [(row, float(share)) for row, share in zip(rows, shares, strict=True) if share > 0]
    leading.sort(key=lambda pair: -pair[1])
    return tuple(_driver(row, share, figures) for row, share in leading)


def _driver(row: ComponentRow, share: float, figures: DefaultFigures) -> Driver:
    return Driver(
        mechanism=row.mechanism,
        grade=row.grade,
        layer=row.name,
        key=row.key,
        place=row.shown,
        median=None if isnan(row.median) else row.median,
        shape=None if isnan(row.shape) else row.shape,
        rate_per_year=row.rate_per_year,
        clock_seen=row.clock_seen,
        clock_now=row.clock_now,
        share_5y=share,
        because=row.because,
        theta=row.theta,
        unit=figures.figure(row.mechanism, row.grade).unit,
    )


def _latest(*days: int | None) -> int | None:
    return max((day for day in days if day is not None), default=None)
