"""On which days is something due, for many works at once?

The one place where dates are worked out: of one work while somebody records a
visit, and of a whole collection over night. The day by formula comes first: the
day on which the chance of harm unseen reaches what this work may be exposed to.
Then the steps in their order: clean years, limits, first survey, remat instead of
one more look, what somebody put off, and what is due first; signs that do not wait come before all.

Days are whole days since 1970-01-01 as floats, NaN for no day; years count from
the day of the clocks (`as_of` of the frame). `inspection_schedule` and
`remat_advice` say the same steps in words.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from models.risk.hazard import (
    Components,
    Floats,
    Indexes,
    at_years,
    chance,
    hazard_of_rows_unseen,
    hazard_of_works,
    leading_rows,
    leading_rows_of_kinds,
    only_rows,
    only_works,
    side_by_side,
    summed_hazard,
    years_to_chance_from,
    years_to_likely_harm,
)
from models.rules.allowed_chance import allowed_chance
from models.rules.calendar_days import months_later, years_later
from models.rules.inspection_schedule import Soundness, look_months, unframing_months
from models.rules.package_components import MENDABLE
from models.rules.packed_rows import MECHANISMS, Flags, HarmRows, Packed
from models.rules.policy import Policy
from models.rules.remat_advice import (
    EARLIEST_DAYS,
    LIKELY_CHANCE,
    LOOKS_TOO_SOON_MONTHS,
    WINDOW_YEARS,
    WhyRemat,
    latest_months,
)
from models.vocabulary import DAYS_PER_YEAR, DueKind, PlaceUse, Replaceability

USES, SOUNDNESSES, REPLACEABILITIES = tuple(PlaceUse), tuple(Soundness), tuple(Replaceability)
# In this order the first of those that fall on one day is named.
_DUE_KINDS = (DueKind.LOOK, DueKind.BOX_CHECK, DueKind.UNFRAMING, DueKind.REMAT)
DUE_KINDS: tuple[DueKind | None, ...] = (
    *_DUE_KINDS,
    DueKind.URGENT,
    DueKind.FIRST_SURVEY,
    None,
)
WHYS: tuple[WhyRemat | None, ...] = (None, WhyRemat.LIKELY, WhyRemat.TOO_SOON)
_IS_MENDABLE = np.array([mechanism in MENDABLE for mechanism in MECHANISMS])
_UNKNOWN, _BOX = SOUNDNESSES.index(Soundness.UNKNOWN), USES.index(PlaceUse.BOX)


@dataclass(frozen=True)
class Searched:
    """Years from the day of the clocks to the allowed chance of each work.

    Of what is seen when it is opened, of that but for clean places, of that of the package
    alone, and of what a look sees. Infinite where it is not reached within 10,000 years.
    """

    opened: Floats
    others: Floats
    package: Floats
    look: Floats


@dataclass(frozen=True)
class Asked:
    """The works: rows and frames, the day of the question, and what was advised before.

    `searched` is what `search` found of these same rows; without it they are searched.
    """

    rows: HarmRows
    frames: Packed
    policy: Policy
    today: Floats
    advised_on: Floats
    not_advised_on: Floats
    searched: Searched | None = None


@dataclass(frozen=True)
class WorkDates:
    """One value per work.

    Leading rows are counted among all rows of all works, mechanisms as in MECHANISMS, -1
    for none; kinds and whys as in DUE_KINDS and WHYS.
    """

    unframing_years: Floats
    unframing_formula_day: Floats
    unframing_others_day: Floats
    unframing_after_clean: Floats
    unframing_after_limits: Floats
    unframing_on: Floats
    look_years: Floats
    look_formula_day: Floats
    look_after_limits: Floats
    look_on: Floats
    box_check_by_rule: Floats
    box_check_on: Floats
    chance_unseen: Floats
    chance_new_5y: Floats
    why_remat: Indexes
    advised_on: Floats
    remat_by_rule: Floats
    remat_by: Floats
    leading_mendable: Indexes
    leading_mechanism: Indexes
    leading_at_unframing: Indexes
    is_unframed_first: Flags
    due_on: Floats
    due_kind: Indexes


@dataclass(frozen=True)
class _Chosen:
    """Which rows count for what."""

    in_chance: Flags
    opened: Flags
    opened_of_package: Flags
    opened_of_others: Flags
    outside: Flags
    mendable: Flags


def work_dates(asked: Asked) -> WorkDates:
    """Return the dates of all these works."""
    chosen, frames = _chosen(asked.rows, asked.frames), asked.frames
    as_of, ahead = frames["as_of"], (asked.today - frames["as_of"]) / DAYS_PER_YEAR
    hazards = _hazards(asked.rows.components, ahead)
    found = asked.searched or _search(asked.rows, chosen, frames, asked.policy)
    day, others = years_later(as_of, found.opened), years_later(as_of, found.others)
    clean = after_clean_years(frames, day, others)
    limited = _unframing_limits(asked, clean)
    examined = frames["was_ever_examined"]
    unframing_on = _put_off(frames, "unframing", np.where(examined, limited, np.nan))
    look_day = years_later(as_of, found.look)
    look_limited = _look_limits(asked, look_day)
    look_on = _put_off(frames, "look", np.where(examined, look_limited, np.nan))
    box_by_rule = _box_checks(asked)
    box_on = _put_off(frames, "box_check", box_by_rule)
    remat = _remat(asked, chosen, hazards, years_later(as_of, found.package))
    remat_by = _put_off(frames, "remat", remat.by)
    # A work to be rematted is not unframed to be looked at before; what is unknown must be
    # opened to be known, whatever is advised.
    unframed_first = (remat.why == 0) | (frames["soundness"] == _UNKNOWN)
    opened_on = np.where(unframed_first, unframing_on, np.nan)
    due_on, due_kind = _due(asked, look_on, box_on, opened_on, replace(remat, by=remat_by))
    return WorkDates(
        unframing_years=found.opened,
        unframing_formula_day=day,
        unframing_others_day=others,
        unframing_after_clean=clean,
        unframing_after_limits=limited,
        unframing_on=unframing_on,
        look_years=found.look,
        look_formula_day=look_day,
        look_after_limits=look_limited,
        look_on=look_on,
        box_check_by_rule=box_by_rule,
        box_check_on=box_on,
        chance_unseen=_chance_of(asked.rows, hazards.unseen, chosen.in_chance),
        chance_new_5y=_chance_of(asked.rows, hazards.ahead, chosen.in_chance),
        why_remat=remat.why,
        advised_on=remat.advised_on,
        remat_by_rule=remat.by,
        remat_by=remat_by,
        leading_mendable=remat.leading,
        leading_mechanism=_mechanism_of(asked.rows, remat.leading),
        leading_at_unframing=_leading_at(asked, chosen.opened, found.opened, ahead),
        is_unframed_first=unframed_first,
        due_on=due_on,
        due_kind=due_kind,
    )


def _put_off(frames: Packed, what: str, by_rule: Floats) -> Floats:
    """Return the days that somebody put in place of those by the rules, where there are such."""
    told = frames[f"put_off_{what}"]
    return np.where(np.isnan(told) | np.isnan(by_rule), by_rule, told)


def _mechanism_of(rows: HarmRows, leading: Indexes) -> Indexes:
    """Return the number of the mechanism of each row, -1 for none."""
    if not len(rows.mechanism):
        return leading
    return np.where(leading >= 0, rows.mechanism[leading], -1)


@dataclass(frozen=True)
class _Hazards:
    """Of each row: the hazard unseen today, and that of the next five years."""

    now: Components
    unseen: Floats
    ahead: Floats


def _hazards(rows: Components, ahead: Floats) -> _Hazards:
    now = at_years(rows, ahead)
    today = summed_hazard(now, now.clock_now)
    later = summed_hazard(now, now.clock_now + now.rate_per_year * WINDOW_YEARS)
    return _Hazards(now, np.maximum(today - rows.hazard_seen, 0.0), later - today)


def _chance_of(rows: HarmRows, hazards: Floats, chosen: Flags) -> Floats:
    return chance(hazard_of_works(rows.components, np.where(chosen, hazards, 0.0)))


def _chosen(rows: HarmRows, frames: Packed) -> _Chosen:
    opened = ~rows.is_outside & rows.can_be_seen
    is_clean = (frames["clean"][rows.components.work] >> rows.shown) & 1
    return _Chosen(
        in_chance=rows.is_in_chance,
        opened=opened,
        opened_of_package=opened & rows.is_of_package,
        opened_of_others=opened & (is_clean == 0),
        outside=rows.is_outside & rows.can_be_seen,
        mendable=_IS_MENDABLE[rows.mechanism] & rows.is_of_package,
    )


def search(rows: HarmRows, frames: Packed, policy: Policy) -> Searched:
    """Return the years to the allowed chance of these works: the dear part of their dates."""
    return _search(rows, _chosen(rows, frames), frames, policy)


def _search(harm: HarmRows, chosen: _Chosen, frames: Packed, policy: Policy) -> Searched:
    """Search all sets of rows at once.

    Sets of rows that are the same need one search: most works have no clean place, and
    nothing on them that an old mount left.
    """
    rows = harm.components
    allowed = np.array([allowed_chance(of, policy) for of in REPLACEABILITIES])
    allowed = allowed[frames["replaceability"]]
    back = np.maximum(frames["as_of"] - frames["since"], 0.0) / DAYS_PER_YEAR
    every = np.arange(rows.works)
    others = np.unique(rows.work[chosen.opened & ~chosen.opened_of_others])
    package = np.unique(rows.work[chosen.opened & ~chosen.opened_of_package])
    sets = (
        (chosen.opened, every),
        (chosen.outside, every),
        (chosen.opened_of_others, others),
        (chosen.opened_of_package, package),
    )
    parts = [_part(rows, mask, works) for mask, works in sets if len(works)]
    works = np.concatenate([its for _, its in sets if len(its)] or [every])
    if not len(works):
        return Searched(*(np.zeros(0),) * 4)
    found = years_to_chance_from(side_by_side(parts), allowed[works], back_years=back[works])
    opened, outside, of_others, of_package = np.split(
        found, np.cumsum([len(its) for _, its in sets])[:-1]
    )
    return Searched(
        opened=opened,
        others=_but(opened, others, of_others),
        package=_but(opened, package, of_package),
        look=outside,
    )


def _part(rows: Components, mask: Flags, works: Indexes) -> Components:
    chosen = only_rows(rows, mask)
    return chosen if len(works) == rows.works else only_works(chosen, works)


def _but(values: Floats, works: Indexes, theirs: Floats) -> Floats:
    if not len(works):
        return values
    values = values.copy()
    values[works] = theirs
    return values


def after_clean_years(frames: Packed, day: Floats, others: Floats) -> Floats:
    """Return the days when clean places do not count before their floor."""
    held_back = np.fmin(np.maximum(day, frames["clean_floor"]), others)
    return np.where((frames["clean"] != 0) & ~np.isnan(frames["unframed"]), held_back, day)


def within_months(
    day: Floats, last_day: Floats, earliest: Indexes, latest: Indexes, *, where: Flags
) -> Floats:
    """Return the days held between so many months after the last one; no day: the latest.

    Without a last day there is nothing from which limits could count.
    """
    first, last = months_later(last_day, earliest), months_later(last_day, latest)
    within = np.fmin(np.maximum(day, first), last)
    return np.where(where & ~np.isnan(last_day), within, day)


@lru_cache(maxsize=8)
def _unframing_table(policy: Policy) -> Indexes:
    """Return the earliest and latest months by use and soundness."""
    return np.array([[unframing_months(use, of, policy) for of in SOUNDNESSES] for use in USES])


@lru_cache(maxsize=8)
def _look_table(policy: Policy) -> Indexes:
    """Return the earliest and latest months by use."""
    return np.array([look_months(use, policy) for use in USES])


def _unframing_limits(asked: Asked, day: Floats) -> Floats:
    frames = asked.frames
    months = _unframing_table(asked.policy)[frames["use"], frames["soundness"]]
    may = ~frames["left_in_peace"]
    return within_months(day, frames["opened"], months[:, 0], months[:, 1], where=may)


def _look_limits(asked: Asked, day: Floats) -> Floats:
    frames = asked.frames
    months = _look_table(asked.policy)[frames["use"]]
    last = np.fmax(frames["looked"], frames["opened"])
    framed = frames["use"] != _BOX
    within = within_months(day, last, months[:, 0], months[:, 1], where=framed)
    return np.where(framed, within, np.nan)


def _box_checks(asked: Asked) -> Floats:
    frames = asked.frames
    last = np.fmax(frames["box_checked"], frames["opened"])
    on = months_later(last, int(asked.policy.box_check_months))
    return np.where(frames["use"] == _BOX, on, np.nan)


@dataclass(frozen=True)
class _Remat:
    why: Indexes
    leading: Indexes
    advised_on: Floats
    by: Floats


def _remat(asked: Asked, chosen: _Chosen, hazards: _Hazards, package_day: Floats) -> _Remat:
    frames, rows = asked.frames, hazards.now
    mendable = np.where(chosen.mendable, hazards.ahead, 0.0)
    likely = chance(hazard_of_works(rows, mendable)) > LIKELY_CHANCE + 1e-9
    soon = package_day <= months_later(frames["opened_for_certain"], LOOKS_TOO_SOON_MONTHS)
    # A mechanism leads by all its places together, and of its rows the worst.
    leading = leading_rows_of_kinds(rows, mendable, asked.rows.mechanism)
    why = np.where(likely, 1, np.where(soon, 2, 0))
    why[~frames["was_ever_examined"] | (leading < 0)] = 0
    of = np.flatnonzero(why)
    advised_on, by = np.full(rows.works, np.nan), np.full(rows.works, np.nan)
    if len(of):
        mending = only_works(only_rows(rows, chosen.mendable), of)
        advised_on[of] = _advised_days(asked, of, mending)
        by[of] = _remat_by(asked, of, mending, advised_on[of])
    return _Remat(why, np.where(why > 0, leading, -1), advised_on, by)


def _advised_days(asked: Asked, of: Indexes, mending: Components) -> Floats:
    """Return the day from which each advice counts.

    As stored, unless the work was mounted since. Advice that nobody recorded anything
    for began on some day since it was last worked out that there was none: on the day
    on which harm became likely.
    """
    today, stored = asked.today[of], asked.advised_on[of]
    counts = ~np.isnan(stored) & ~(stored < asked.frames["mounted"][of])
    days = np.where(counts, stored, today)
    since = asked.not_advised_on[of]
    began = np.flatnonzero((days == today) & ~np.isnan(since))
    if not len(began):
        return days
    waits = (today - since)[began] / DAYS_PER_YEAR
    before = at_years(only_works(mending, began), -waits)
    likely = years_to_likely_harm(before, WINDOW_YEARS, float(max(waits.max(), 0.0)))
    first = since[began] + np.ceil(np.where(np.isinf(likely), waits, likely) * DAYS_PER_YEAR)
    days[began] = np.minimum(days[began], first)
    return days


def _remat_by(asked: Asked, of: Indexes, mending: Components, advised_on: Floats) -> Floats:
    policy = asked.policy
    months = np.array([latest_months(policy, is_live_stain=is_it) for is_it in (False, True)])
    last = months_later(advised_on, months[asked.frames["is_live_stain"][of].astype(np.int64)])
    when_advised = at_years(mending, (advised_on - asked.today[of]) / DAYS_PER_YEAR)
    longest = policy.remat_latest_months / 12 + 0.1
    likely = years_later(advised_on, years_to_likely_harm(when_advised, WINDOW_YEARS, longest))
    likely = np.where(np.isnan(likely), last, likely)
    return np.minimum(np.maximum(likely, advised_on + EARLIEST_DAYS), last)


def _leading_at(asked: Asked, opened: Flags, years: Floats, ahead: Floats) -> Indexes:
    """Return the row that leads at the date of the next unframing, or in five years where none."""
    rows = asked.rows.components
    at = np.where(np.isinf(years), ahead + WINDOW_YEARS, np.maximum(years, ahead))
    return leading_rows(rows, np.where(opened, hazard_of_rows_unseen(rows, at), 0.0))


def _due(
    asked: Asked, look: Floats, box: Floats, unframing: Floats, remat: _Remat
) -> tuple[Floats, Indexes]:
    """Return what is due first."""
    frames = asked.frames
    days = np.stack([look, box, unframing, remat.by])
    days = np.where(np.isnan(days), np.inf, days)
    kind, on = days.argmin(axis=0), days.min(axis=0)
    none = DUE_KINDS.index(None)
    survey = DUE_KINDS.index(DueKind.FIRST_SURVEY)
    kind = np.where(np.isinf(on), np.where(frames["was_ever_examined"], none, survey), kind)
    is_urgent = ~np.isnan(frames["urgent"])
    on = np.where(np.isinf(on), np.nan, on)
    return (
        np.where(is_urgent, frames["urgent"], on),
        np.where(is_urgent, DUE_KINDS.index(DueKind.URGENT), kind),
    )
