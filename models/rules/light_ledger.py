"""How much light has a work had, what may it still be shown this year, and until which day?

Light is kept apart from the other mechanisms: no look shows one just-noticeable
fade. So the doses of the places where the work was are added up, and each calendar
year has a budget: the stricter of

- a share of one noticeable fade: 0.05 of it (classes 1 to 3), 0.02 (classes 4 to 8);
- the limit of CIE 157:2004 for its class, in lux hours a year.

A house may choose to go by the share of a fade alone. A cyanotype recovers in part
in the dark: its fades are not added up, and only the yearly limit holds. The work is
to be taken down on the day on which its budget runs out, if it stays where it hangs;
a budget that lasts the whole year begins anew on 1 January and never runs out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import floor, inf

from models.risk.light import cie_group, fade_dose_lux_hours, is_uv_filtered
from models.rules.calendar_days import LAST_DAY, day_date, day_number
from models.rules.climate_record import ClimateRecord
from models.vocabulary import DAYS_PER_YEAR, PlaceUse, ProcessGroup

# A work of which nobody says how it bears light: as "technique not known" in the shipped list.
ASSUMED_LIGHT_CLASS = 2
# Shares of one noticeable fade that a year may take. Defaults of this project (judgement).
FADE_SHARE_A_YEAR_HIGH = 0.05
FADE_SHARE_A_YEAR = 0.02
LAST_HIGH_CLASS = 3

DAYS_A_YEAR = 365
# The months of a year on show, and so the number of works or places that take turns.
TURNS = (1, 2, 3, 4, 6, 12)


@dataclass(frozen=True)
class LightSensitivity:
    """How a work bears light: its blue-wool class; whether it recovers in the dark."""

    light_class: int = ASSUMED_LIGHT_CLASS
    recovers: bool = False
    is_assumed: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class PlaceLight:
    """The light of a place as told, and as a logger read it.

    `lit_days` a year it is lit, for `hours_per_day`. What a logger read stands for what
    was told, and a record of a year or more for what is to come.
    """

    lux: float
    hours_per_day: float
    lit_days: float = DAYS_A_YEAR
    uv_uw_per_lm: float
    is_assumed: bool = False
    record: ClimateRecord | None = None

    @property
    def told_lux_hours_a_day(self) -> float:
        """Return the dose of a day as told; days without light are spread over the year."""
        return self.lux * self.hours_per_day * self.lit_days / DAYS_A_YEAR

    def measured_lux_hours_a_day(self) -> float | None:
        """Return what a day brings as measured; None where no whole year was."""
        a_year = None if self.record is None else self.record.lux_hours_a_year()
        return None if a_year is None else a_year / DAYS_PER_YEAR

    def lux_hours(self, first_day: int, end_day: int) -> tuple[float, int]:
        """Return the dose from one day up to, not including, another, and the days measured."""
        days = end_day - first_day
        span = None if self.record is None else self.record.within(first_day, end_day)
        if self.record is None or span is None:
            return self.told_lux_hours_a_day * days, 0
        measured = span[1] - span[0]
        told = self.told_lux_hours_a_day * (days - measured)
        return told + self.record.lit(*span), measured


DARK = PlaceLight(lux=0.0, hours_per_day=0.0, uv_uw_per_lm=0.0)


@dataclass(frozen=True)
class LightStay:
    """A stay in a place from its first day up to, not including, its end."""

    first_day: int
    end_day: int
    place: PlaceLight


@dataclass(frozen=True)
class GlazedFor:
    """From when to when a work was behind a glazing, and what that blocks; None: not known."""

    first_day: int
    end_day: int
    uv_block_percent: float | None


@dataclass(frozen=True)
class LightDose:
    """A dose in lux hours and in noticeable fades, and how many of its days were measured."""

    lux_hours: float = 0.0
    fades: float = 0.0
    days: int = 0
    days_measured: int = 0

    def __add__(self, other: "LightDose") -> "LightDose":
        return LightDose(
            self.lux_hours + other.lux_hours,
            self.fades + other.fades,
            self.days + other.days,
            self.days_measured + other.days_measured,
        )


@dataclass(frozen=True)
class LightBudget:
    """What a year may take in lux hours. A limit that does not hold here is infinite."""

    by_fade_lux_hours: float
    by_cie_lux_hours: float

    @property
    def lux_hours(self) -> float:
        """Return the stricter of the two."""
        return min(self.by_fade_lux_hours, self.by_cie_lux_hours)


@dataclass(frozen=True)
class Turn:
    """What it would change if so many works or places took turns with this one."""

    turns: int
    days_a_year: float
    lux_hours_a_year: float
    years_to_fade: float | None
    is_within_budget: bool


@dataclass(frozen=True)
class LightLedger:
    """The light of one work up to a day, and what follows.

    Doses in lux hours; `fades` are just-noticeable fades, None where they are not added
    up. `days_per_year` are days with light; they and `take_down_on` are None where the
    budget lasts for good.
    `left_lux_hours` is below 0 where more was shown than the budget. A work that is not
    placed is nowhere on record: no light is counted for it from now on.
    """

    sensitivity: LightSensitivity
    uv_filtered: bool
    budget: LightBudget
    cie_limit_lux: float
    so_far: LightDose
    fades_so_far: float | None
    this_year: LightDose
    left_lux_hours: float
    is_placed: bool
    lux: float
    is_lux_assumed: bool
    is_measured: bool
    lux_hours_a_day: float
    lux_hours_a_year: float
    days_per_year: float | None
    take_down_on: int | None
    years_to_fade: float | None
    counted_from: int | None
    turns: tuple[Turn, ...]


def place_light(
    *,
    use: PlaceUse,
    lux: float,
    hours_per_day: float,
    days_per_year: float,
    uv_uw_per_lm: float,
    is_said: bool,
    is_said_by_itself: bool = False,
    record: ClimateRecord | None = None,
) -> PlaceLight:
    """Return the light of a place from its figures.

    `is_said`: somebody gave its lux, there or around it. In a box it is dark, unless that
    was said or read in the box itself; in storage or on the way, unless anybody did.
    """
    is_dark = (use is PlaceUse.BOX and not is_said_by_itself) or (
        use in (PlaceUse.STORAGE, PlaceUse.TRANSIT) and not is_said and record is None
    )
    return PlaceLight(
        lux=0.0 if is_dark else lux,
        hours_per_day=hours_per_day,
        lit_days=min(days_per_year, DAYS_A_YEAR),
        uv_uw_per_lm=uv_uw_per_lm,
        is_assumed=not is_said,
        record=None if is_dark else record,
    )


def sensitivity_of(light_class: int | None, process_group: str) -> LightSensitivity:
    """Return how a work bears light, by its class and what its image is made of."""
    recovers = process_group == ProcessGroup.CYANOTYPE
    if light_class is None:
        return LightSensitivity(recovers=recovers, is_assumed=True)
    return LightSensitivity(light_class, recovers)


def light_budget(
    sensitivity: LightSensitivity, *, uv_filtered: bool, by_fade_alone: bool = False
) -> LightBudget:
    """Return what a year may take. Raises OutsideKnownRange for a class that there is not."""
    limit = cie_group(sensitivity.light_class).limit_lux_hours_a_year
    if sensitivity.recovers:
        return LightBudget(inf, limit)
    fade = fade_dose_lux_hours(sensitivity.light_class, uv_filtered=uv_filtered)
    share = fade_share_a_year(sensitivity.light_class)
    return LightBudget(share * fade, inf if by_fade_alone else limit)


def fade_share_a_year(light_class: int) -> float:
    """Return the share of one noticeable fade that a year may take."""
    return FADE_SHARE_A_YEAR_HIGH if light_class <= LAST_HIGH_CLASS else FADE_SHARE_A_YEAR


def days_a_year(
    budget: LightBudget, lux_hours_a_lit_day: float, lit_days: float = DAYS_A_YEAR
) -> float | None:
    """Return on how many lit days a year a work may be shown; None where on all of them."""
    if lux_hours_a_lit_day <= 0 or budget.lux_hours >= lux_hours_a_lit_day * lit_days:
        return None
    return budget.lux_hours / lux_hours_a_lit_day


def light_ledger(
    sensitivity: LightSensitivity,
    stays: Sequence[LightStay],
    *,
    glazed: Sequence[GlazedFor] = (),
    today: int,
    by_fade_alone: bool = False,
) -> LightLedger:
    """Return the ledger of a work; the last of its stays that goes on after today is where it is.

    Today itself is not counted yet. A work that is nowhere has no light to come.
    """
    now = [stay.place for stay in stays if stay.first_day <= today < stay.end_day]
    here = now[-1] if now else DARK
    uv_filtered = is_uv_filtered(
        uv_block_percent=_blocked(glazed, today), uv_uw_per_lm=here.uv_uw_per_lm
    )
    budget = light_budget(sensitivity, uv_filtered=uv_filtered, by_fade_alone=by_fade_alone)
    so_far = _dose(sensitivity, stays, glazed, -LAST_DAY, today)
    this_year = _dose(sensitivity, stays, glazed, _new_year(today), today)
    left = _left(sensitivity, budget, this_year, uv_filtered)
    read = here.measured_lux_hours_a_day()
    a_day = here.told_lux_hours_a_day if read is None else read
    days = (
        days_a_year(budget, here.lux * here.hours_per_day, here.lit_days)
        if read is None
        else days_a_year(budget, read)
    )
    fade = fade_dose_lux_hours(sensitivity.light_class, uv_filtered=uv_filtered)
    return LightLedger(
        sensitivity=sensitivity,
        uv_filtered=uv_filtered,
        budget=budget,
        cie_limit_lux=cie_group(sensitivity.light_class).limit_lux,
        so_far=so_far,
        fades_so_far=None if sensitivity.recovers else so_far.fades,
        this_year=this_year,
        left_lux_hours=left,
        is_placed=bool(now),
        lux=here.lux,
        is_lux_assumed=here.is_assumed,
        is_measured=read is not None,
        lux_hours_a_day=a_day,
        lux_hours_a_year=a_day * DAYS_A_YEAR,
        days_per_year=days,
        take_down_on=take_down_on(budget, left, a_day, today),
        years_to_fade=_years_to_fade(sensitivity, fade, a_day * DAYS_A_YEAR),
        counted_from=min((stay.first_day for stay in stays), default=None),
        turns=turns(sensitivity, budget, fade, a_day),
    )


def take_down_on(
    budget: LightBudget, left_lux_hours: float, lux_hours_a_day: float, today: int
) -> int | None:
    """Return the day on which the budget runs out, None where it never does.

    What is left at the end of the year is lost; on 1 January the budget begins anew.
    """
    if left_lux_hours <= 0:
        # Used up already: only a work that gets more light has to go.
        return today if lux_hours_a_day > 0 else None
    if lux_hours_a_day <= 0:
        return None
    next_year = _new_year_after(today)
    on = today + floor(min(left_lux_hours / lux_hours_a_day, LAST_DAY - today))
    if on < next_year:
        return on
    days = days_a_year(budget, lux_hours_a_day)
    return None if days is None else next_year + floor(days)


def turns(
    sensitivity: LightSensitivity, budget: LightBudget, fade: float, lux_hours_a_day: float
) -> tuple[Turn, ...]:
    """Return what taking turns would change, from always on show to one month a year."""
    if lux_hours_a_day <= 0:
        return ()
    whole = lux_hours_a_day * DAYS_A_YEAR
    return tuple(
        Turn(
            turns=number,
            days_a_year=DAYS_A_YEAR / number,
            lux_hours_a_year=whole / number,
            years_to_fade=_years_to_fade(sensitivity, fade, whole / number),
            is_within_budget=whole / number <= budget.lux_hours,
        )
        for number in TURNS
    )


def _dose(
    sensitivity: LightSensitivity,
    stays: Sequence[LightStay],
    glazed: Sequence[GlazedFor],
    first_day: int,
    end_day: int,
) -> LightDose:
    """Return the dose of a span of days, each part by the column of its own glazing."""
    total = LightDose()
    for stay in stays:
        first, end = max(stay.first_day, first_day), min(stay.end_day, end_day)
        edges = {day for span in glazed for day in (span.first_day, span.end_day)}
        cuts = [first, *sorted(day for day in edges if first < day < end), end]
        for low, high in pairwise(cuts):
            total += _part(sensitivity, stay.place, _blocked(glazed, low), low, high)
    return total


def _part(
    sensitivity: LightSensitivity, place: PlaceLight, blocked: float | None, low: int, high: int
) -> LightDose:
    if high <= low:
        return LightDose()
    lux_hours, measured = place.lux_hours(low, high)
    uv_filtered = is_uv_filtered(uv_block_percent=blocked, uv_uw_per_lm=place.uv_uw_per_lm)
    fade = fade_dose_lux_hours(sensitivity.light_class, uv_filtered=uv_filtered)
    return LightDose(lux_hours, lux_hours / fade, high - low, measured)


def _blocked(glazed: Sequence[GlazedFor], day: int) -> float | None:
    return next(
        (span.uv_block_percent for span in glazed if span.first_day <= day < span.end_day), None
    )


def _left(
    sensitivity: LightSensitivity, budget: LightBudget, this_year: LightDose, uv_filtered: bool
) -> float:
    """Return the lux hours left this year, by lux hours and by fades, whichever is less."""
    by_cie = budget.by_cie_lux_hours - this_year.lux_hours
    if budget.by_fade_lux_hours == inf:
        return by_cie
    fade = fade_dose_lux_hours(sensitivity.light_class, uv_filtered=uv_filtered)
    return min(by_cie, budget.by_fade_lux_hours - this_year.fades * fade)


def _years_to_fade(
    sensitivity: LightSensitivity, fade: float, lux_hours_a_year: float
) -> float | None:
    if sensitivity.recovers or lux_hours_a_year <= 0:
        return None
    return fade / lux_hours_a_year


def _new_year(day: int) -> int:
    return day_number(date(day_date(day).year, 1, 1))


def _new_year_after(day: int) -> int:
    year = day_date(day).year
    return LAST_DAY if year == date.max.year else day_number(date(year + 1, 1, 1))
