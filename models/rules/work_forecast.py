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
from dataclasses import dataclass, field
from math import isinf, isnan

import numpy as np
from numpy.typing import NDArray

from models.risk.hazard import (
    Components,
    Floats,
    at_years,
    chance,
    hazard_ahead,
    hazard_shares,
    hazard_unseen,
    only_rows,
    side_by_side,
    unseen_shares,
    with_medians,
    years_to_chance_from,
    years_to_likely_harm,
)
from models.rules.allowed_chance import allowed_chance
from models.rules.calendar_days import add_months, add_years, years_between
from models.rules.default_figures import DefaultFigures
from models.rules.inspection_schedule import (
    FIRST_SURVEY,
    Scheduled,
    Soundness,
    box_check,
    by_formula,
    clean_years_floor,
    with_clean_years,
    with_look_limits,
    with_unframing_limits,
    with_urgent_signs,
)
from models.rules.package_components import (
    MENDABLE,
    Circumstances,
    ComponentRow,
    Experience,
    as_arrays,
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
from models.rules.policy import Policy
from models.rules.remat_advice import (
    WINDOW_YEARS,
    RematAdvice,
    advice_counts_from,
    is_live_stain,
    remat_advice,
    why_remat,
)
from models.rules.urgent_signs import Urgent, may_be_opened, urgent_signs
from models.vocabulary import (
    DAYS_PER_YEAR,
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


@dataclass(frozen=True)
class ChanceRange:
    """A chance between 0 and 1, and what it were if typical times were twice or half as long."""

    chance: float
    if_twice_as_long: float
    if_half_as_long: float


@dataclass(frozen=True)
class NextDate:
    """A date: years by formula (0 when reached, None when never), the day, the steps in words."""

    formula_years: float | None
    on: int | None
    steps: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Driver:
    """One row that leads its mechanism at its place, with its share of the next five years.

    Median and shape are None for an unknown board, which is a mixture.
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


@dataclass(frozen=True, kw_only=True)
class WorkForecast:
    """What is to be expected of one work; days are absolute and never clamped to today."""

    chance_unseen_now: ChanceRange
    chance_unseen_1y: ChanceRange
    chance_unseen_5y: ChanceRange
    chance_new_5y: ChanceRange
    unframing: NextDate
    look: NextDate
    box_check: NextDate
    advice: Advice | None
    advised_on: int | None
    remat_by: int | None
    urgent: tuple[Urgent, ...]
    may_be_opened: bool
    first_survey: bool
    drivers: tuple[Driver, ...]
    weak_layer: str
    verdict: PackageVerdict
    due_on: int | None
    due_kind: DueKind | None


def forecasts(cases: Sequence[WorkCase]) -> list[WorkForecast]:
    """Return the forecast of each work, all worked out in one pass."""
    studied = [_study(case) for case in cases]
    worked_out = _work_out(studied)
    return [_forecast(one, worked_out, index) for index, one in enumerate(studied)]


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
    clean: frozenset[Shown]
    clean_years: float
    # The last unframing or mounting, and the last that is more than an assumption.
    opened_day: int | None
    opened_for_certain_day: int | None


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
    certain = None if package.mounted_is_assumed else package.mounted_day
    clean = _clean_places(case, rows)
    return _Studied(
        case=case,
        package=package,
        rows=rows,
        verdict=package_verdict(package, case.work, case.figures, case.today),
        clean=clean,
        clean_years=_clean_years(case, package, [row for row in rows if row.shown in clean]),
        opened_day=_latest(case.last_unframing_day, package.mounted_day),
        opened_for_certain_day=_latest(case.last_unframing_day, certain),
    )


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


@dataclass(frozen=True, kw_only=True)
class _WorkedOut:
    """What was worked out of all works at once: one value per work, shares per row."""

    first_row: NDArray[np.int64]
    chances: dict[str, tuple[Floats, Floats, Floats]]
    unframing_years: Floats
    unframing_years_of_others: Floats
    look_years: Floats
    advised_on: NDArray[np.int64]
    why_remat: list[str | None]
    likely_years: Floats
    shares: Floats
    shares_mendable: Floats
    shares_at_unframing: Floats


Chosen = Callable[[_Studied, ComponentRow], bool]


def _work_out(studied: Sequence[_Studied]) -> _WorkedOut:
    rows = as_arrays([one.rows for one in studied])
    in_chance = _mask(studied, lambda _, row: row.is_in_chance)
    opened = _mask(studied, lambda _, row: not row.from_outside and row.can_be_seen)
    others = _mask(studied, lambda one, row: row.shown not in one.clean) & opened
    outside = _mask(studied, lambda _, row: row.from_outside and row.can_be_seen)
    mendable = _mask(studied, lambda _, row: row.mechanism in MENDABLE and row.is_of_package)
    allowed = np.array([_allowed(one) for one in studied])
    back = np.array([_years_back(one) for one in studied])

    of_package = _mask(studied, lambda _, row: row.is_of_package) & opened
    # Sets that are the same need one search.
    sets = {chosen.tobytes(): chosen for chosen in (opened, others, outside, of_package)}
    years = _years_to([only_rows(rows, chosen) for chosen in sets.values()], allowed, back)
    found = dict(zip(sets, years, strict=True))
    unframing_years, unframing_years_of_others, look_years, package_years = (
        found[chosen.tobytes()] for chosen in (opened, others, outside, of_package)
    )
    mending = only_rows(rows, mendable)
    likely_new = chance(hazard_ahead(mending, WINDOW_YEARS))
    why = [
        _why_remat(one, years, float(likely_new[index]))
        for index, (one, years) in enumerate(zip(studied, package_years, strict=True))
    ]
    today = np.array([one.case.today for one in studied], dtype=np.int64)
    advised_on = _advised_days(studied, why, mending, today)
    when_advised = at_years(mending, (advised_on - today) / DAYS_PER_YEAR)
    at_unframing = np.where(np.isinf(unframing_years), WINDOW_YEARS, unframing_years)
    return _WorkedOut(
        first_row=np.concatenate([[0], np.cumsum([len(one.rows) for one in studied])]),
        chances=_chances(only_rows(rows, in_chance)),
        unframing_years=unframing_years,
        unframing_years_of_others=unframing_years_of_others,
        look_years=look_years,
        advised_on=advised_on,
        why_remat=why,
        likely_years=years_to_likely_harm(when_advised, WINDOW_YEARS, _longest_wait_years(studied))
        if any(why)
        else np.full(len(studied), np.inf),
        shares=_of_all(in_chance, lambda: hazard_shares(only_rows(rows, in_chance), WINDOW_YEARS)),
        shares_mendable=_of_all(mendable, lambda: hazard_shares(mending, WINDOW_YEARS)),
        shares_at_unframing=_of_all(
            opened,
            lambda: unseen_shares(only_rows(rows, opened), np.maximum(at_unframing, 0.0)),
        ),
    )


def _allowed(one: _Studied) -> float:
    return allowed_chance(one.case.work.replaceability, one.case.policy)


def _longest_wait_years(studied: Sequence[_Studied]) -> float:
    return max(one.case.policy.remat_latest_months for one in studied) / 12 + 0.1


def _years_to(sets: Sequence[Components], allowed: Floats, back: Floats) -> list[Floats]:
    """Return for each set of rows, per work, the years to the chance allowed."""
    often = len(sets)
    years = years_to_chance_from(
        side_by_side(sets), np.tile(allowed, often), back_years=np.tile(back, often)
    )
    return np.split(years, often)


def _mask(studied: Sequence[_Studied], chosen: Chosen) -> NDArray[np.bool_]:
    return np.array([chosen(one, row) for one in studied for row in one.rows], dtype=np.bool_)


def _of_all(chosen: NDArray[np.bool_], shares: Callable[[], Floats]) -> Floats:
    """Return the shares of the chosen rows among all rows, 0 for the others."""
    among_all = np.zeros(len(chosen))
    among_all[chosen] = shares()
    return among_all


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


def _years_back(one: _Studied) -> float:
    """Return the years since the first clock started or its place was seen."""
    since = [_counts_from(row, one.case.seen.day(row.shown)) for row in one.rows]
    return max(0.0, years_between(min(since, default=one.case.today), one.case.today))


def _counts_from(row: ComponentRow, seen_day: int | None) -> int:
    return row.begun_day if seen_day is None else max(row.begun_day, seen_day)


def _why_remat(one: _Studied, formula_years: float, chance_new: float) -> str | None:
    if not one.case.was_ever_examined:
        return None
    return why_remat(
        formula_day=_day(one, formula_years),
        last_unframed_day=one.opened_for_certain_day,
        chance_new=chance_new,
    )


def _advised_days(
    studied: Sequence[_Studied],
    why: Sequence[str | None],
    mending: Components,
    today: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Return, per work, the day from which its advice counts.

    Advice that nobody recorded anything for began on some day since it was last
    worked out that there was none: on the day on which harm became likely.
    """
    days = np.array([_advised_on(one) for one in studied], dtype=np.int64)
    began = [
        one.case.not_advised_on
        if reason is not None and one.case.not_advised_on is not None and day == one.case.today
        else None
        for one, reason, day in zip(studied, why, days, strict=True)
    ]
    if all(day is None for day in began):
        return days
    since = np.array([now if day is None else day for day, now in zip(began, today, strict=True)])
    waits = (today - since) / DAYS_PER_YEAR
    likely = years_to_likely_harm(at_years(mending, -waits), WINDOW_YEARS, float(waits.max()))
    first = since + np.ceil(np.where(np.isinf(likely), waits, likely) * DAYS_PER_YEAR)
    return np.minimum(days, first.astype(np.int64))


def _advised_on(one: _Studied) -> int:
    mounted = None if one.package.mounted_is_assumed else one.package.mounted_day
    return advice_counts_from(stored=one.case.advised_on, mounted_day=mounted, today=one.case.today)


def _forecast(one: _Studied, out: _WorkedOut, index: int) -> WorkForecast:
    case = one.case
    urgent = urgent_signs(case.findings, one.package, today=case.today)
    advice = _advice(one, out, index)
    unframing = _unframing(one, out, index, urgent, advice)
    look = _look(one, out, index, urgent)
    box = _box_check(one)
    due_on, due_kind = _due(one, urgent, advice, unframing.on, look.on, box.on)
    first, last = out.first_row[index], out.first_row[index + 1]
    leading = _leading(one.rows, out.shares_at_unframing[first:last])
    return WorkForecast(
        chance_unseen_now=_range(out, "unseen_now", index),
        chance_unseen_1y=_range(out, "unseen_1y", index),
        chance_unseen_5y=_range(out, "unseen_5y", index),
        chance_new_5y=_range(out, "new_5y", index),
        unframing=unframing,
        look=look,
        box_check=box,
        advice=None if advice is None else advice.advice,
        advised_on=None if advice is None else advice.advised_on,
        remat_by=None if advice is None else advice.remat_by,
        urgent=urgent,
        may_be_opened=may_be_opened(urgent),
        first_survey=not case.was_ever_examined,
        drivers=_drivers(one.rows, out.shares[first:last]),
        weak_layer=one.verdict.weak_layer if leading is None else leading.name,
        verdict=one.verdict,
        due_on=due_on,
        due_kind=due_kind,
    )


def _unframing(
    one: _Studied,
    out: _WorkedOut,
    index: int,
    urgent: tuple[Urgent, ...],
    advice: RematAdvice | None,
) -> NextDate:
    years = float(out.unframing_years[index])
    dated = by_formula(
        _day(one, years),
        allowed=_allowed(one),
        places=SEEN_WHEN_OPENED,
    )
    if one.case.last_unframing_day is not None:
        dated = with_clean_years(
            dated,
            others_day=_day(one, float(out.unframing_years_of_others[index])),
            floor_day=clean_years_floor(one.case.last_unframing_day, one.clean_years),
            places=one.clean,
            clean_years=one.clean_years,
        )
    dated = with_unframing_limits(
        dated,
        last_day=one.opened_day,
        use=one.case.climate.use,
        soundness=_soundness(one),
        left_in_peace_because=_left_in_peace_because(one),
        policy=one.case.policy,
        is_assumed=_is_assumed(one, one.opened_day),
    )
    dated = with_urgent_signs(_first_survey(one, dated), urgent)
    if advice is not None:
        dated = dated.then(dated.on, advice.sentence)
    return NextDate(_formula_years(years), dated.on, dated.steps)


def _look(one: _Studied, out: _WorkedOut, index: int, urgent: tuple[Urgent, ...]) -> NextDate:
    years = float(out.look_years[index])
    dated = by_formula(
        _day(one, years),
        allowed=_allowed(one),
        places=SEEN_FROM_OUTSIDE,
    )
    last = _latest(one.case.last_look_day, one.opened_day)
    dated = with_look_limits(
        dated,
        last_day=last,
        use=one.case.climate.use,
        policy=one.case.policy,
        is_assumed=_is_assumed(one, last),
    )
    dated = with_urgent_signs(_first_survey(one, dated), urgent)
    return NextDate(_formula_years(years), dated.on, dated.steps)


def _is_assumed(one: _Studied, day: int | None) -> bool:
    """Say whether a day is a mounting that nobody dated."""
    return one.package.mounted_is_assumed and day == one.package.mounted_day


def _box_check(one: _Studied) -> NextDate:
    last = _latest(one.case.last_box_check_day, one.opened_day)
    dated = box_check(last_day=last, use=one.case.climate.use, policy=one.case.policy)
    return NextDate(None, dated.on, dated.steps)


def _first_survey(one: _Studied, dated: Scheduled) -> Scheduled:
    return dated if one.case.was_ever_examined else dated.then(None, FIRST_SURVEY)


def _advice(one: _Studied, out: _WorkedOut, index: int) -> RematAdvice | None:
    why = out.why_remat[index]
    shares = out.shares_mendable[out.first_row[index] : out.first_row[index + 1]]
    leading = _leading(one.rows, shares)
    if why is None or leading is None:
        return None
    return remat_advice(
        leading=leading.mechanism,
        why=why,
        advised_on=int(out.advised_on[index]),
        likely_years=float(out.likely_years[index]),
        is_live_stain=is_live_stain(one.case.findings, one.rows, one.case.work),
        policy=one.case.policy,
    )


def _due(
    one: _Studied,
    urgent: tuple[Urgent, ...],
    advice: RematAdvice | None,
    unframing_on: int | None,
    look_on: int | None,
    box_check_on: int | None,
) -> tuple[int | None, DueKind | None]:
    """Return what is due first; a work to be rematted is not unframed to be looked at before."""
    if urgent:
        return urgent[0].due_day, DueKind.URGENT
    days = {DueKind.LOOK: look_on, DueKind.BOX_CHECK: box_check_on}
    # What is unknown must be opened to be known, whatever is advised.
    if advice is None or _soundness(one) is Soundness.UNKNOWN:
        days[DueKind.UNFRAMING] = unframing_on
    if advice is not None:
        days[DueKind.REMAT] = advice.remat_by
    found = [(day, kind) for kind, day in days.items() if day is not None]
    if found:
        return min(found, key=lambda due: due[0])
    return None, None if one.case.was_ever_examined else DueKind.FIRST_SURVEY


def _soundness(one: _Studied) -> Soundness:
    if one.verdict.unknown or any(row.grade in UNKNOWN_GRADES for row in one.rows):
        return Soundness.UNKNOWN
    return Soundness.SOUND if one.verdict.is_known_and_sound else Soundness.OTHER


def _left_in_peace_because(one: _Studied) -> str | None:
    if one.case.work.surface is Surface.FRIABLE:
        return "its surface is friable"
    return "it cannot be freed without harm" if one.verdict.held_for_good else None


def _day(one: _Studied, years: float) -> int | None:
    return None if isinf(years) else add_years(one.case.today, years)


def _formula_years(years: float) -> float | None:
    return None if isinf(years) else max(0.0, years)


def _range(out: _WorkedOut, name: str, index: int) -> ChanceRange:
    value, longer, shorter = out.chances[name]
    return ChanceRange(float(value[index]), float(longer[index]), float(shorter[index]))


def _leading(rows: Sequence[ComponentRow], shares: Floats) -> ComponentRow | None:
    if not len(shares) or shares.max() <= 0:
        return None
    return rows[int(shares.argmax())]


def _drivers(rows: Sequence[ComponentRow], shares: Floats) -> tuple[Driver, ...]:
    leading = [(row, float(share)) for row, share in zip(rows, shares, strict=True) if share > 0]
    leading.sort(key=lambda pair: -pair[1])
    return tuple(_driver(row, share) for row, share in leading)


def _driver(row: ComponentRow, share: float) -> Driver:
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
    )


def _latest(*days: int | None) -> int | None:
    return max((day for day in days if day is not None), default=None)
