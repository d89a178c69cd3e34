"""How is the light of a work said on its page?

The day on which it must come down, or that it may stay; what it was shown this year of
what it may have; what it had so far in noticeable fades; and what taking turns would
change. Light is told in lux hours; whether they were measured, said or assumed is said.
"""

from dataclasses import dataclass
from math import isinf

from api.template_filters import day
from models.risk.light import cie_group
from models.rules.light_ledger import LightLedger, Turn, fade_share_a_year

# The bar of this year, in units of its drawing.
BAR_WIDTH = 400
YEARS_IN_WORDS_BELOW = 10


@dataclass(frozen=True)
class TurnShown:
    """A line of what taking turns would change."""

    turns: int
    days: str
    lux_hours: str
    years: str
    within: str


@dataclass(frozen=True)
class LightShown:
    """All that a page says of light; `bar_shown` and `bar_over` are parts of its drawing."""

    headline: str
    is_pressing: bool
    light_class: str
    is_assumed: bool
    so_far: str
    this_year: str
    share_of_year: str
    bar_width: int
    bar_shown: float
    is_over: bool
    limits: str
    here: str
    rests_on: str
    uv: str
    years_to_fade: str
    days_per_year: str
    turns: tuple[TurnShown, ...]


def light_shown(ledger: LightLedger, *, today: int) -> LightShown:
    """Return what a page says of the light of a work on a day."""
    group = cie_group(ledger.sensitivity.light_class)
    budget = ledger.budget.lux_hours
    share = (budget - ledger.left_lux_hours) / budget
    return LightShown(
        headline=_headline(ledger, today),
        is_pressing=ledger.take_down_on is not None and ledger.take_down_on <= today,
        light_class=f"{ledger.sensitivity.light_class} of 8, {group.name}",
        is_assumed=ledger.sensitivity.is_assumed,
        so_far=_so_far(ledger),
        this_year=f"{lux_hours(budget - ledger.left_lux_hours)} of {lux_hours(budget)} lux hours",
        share_of_year=f"{share:.0%}",
        bar_width=BAR_WIDTH,
        bar_shown=round(BAR_WIDTH * min(1.0, max(0.0, share)), 1),
        is_over=share > 1,
        limits=_limits(ledger),
        here=_here(ledger),
        rests_on=_rests_on(ledger),
        uv="filtered away" if ledger.uv_filtered else "present",
        years_to_fade="" if ledger.years_to_fade is None else years_said(ledger.years_to_fade),
        days_per_year="" if ledger.days_per_year is None else f"{ledger.days_per_year:.1f}",
        turns=tuple(_turn(turn) for turn in ledger.turns),
    )


def lux_hours(value: float) -> str:
    """Return lux hours with their thousands apart."""
    return f"{value:,.0f}".replace(",", "\N{NO-BREAK SPACE}")


def years_said(years: float) -> str:
    """Return years as planning needs them: one digit behind the point where they are few."""
    shown = f"{years:.1f}" if years < YEARS_IN_WORDS_BELOW else lux_hours(years)
    return f"{shown} years"


def _headline(ledger: LightLedger, today: int) -> str:
    if not ledger.is_placed:
        return "Nobody recorded where it is: what light it gets there is not counted."
    if ledger.lux_hours_a_day <= 0:
        return "It is in the dark: nothing is added."
    if ledger.take_down_on is None:
        return "It may stay where it hangs: the light there stays within what a year may bring."
    if ledger.left_lux_hours <= 0:
        return "Take it down: what this year may bring is used up."
    if ledger.take_down_on <= today:
        return "Take it down today: what is left of this year does not last for the day."
    return f"Take down by {day(ledger.take_down_on)}: by then the year's light is used up."


def _so_far(ledger: LightLedger) -> str:
    if ledger.counted_from is None:
        return "no place is on record"
    since = f"since {day(ledger.counted_from)}, the first day on record"
    dose = f"{lux_hours(ledger.so_far.lux_hours)} lux hours {since}"
    if ledger.fades_so_far is None:
        return f"{dose}; it recovers in part in the dark, so fades are not added up"
    return f"{fades_said(ledger.fades_so_far)} ({dose})"


def fades_said(fades: float) -> str:
    """Return a dose as a part of one noticeable fade, or as so many."""
    if fades == 0:
        return "none of a noticeable fade"
    if fades < 0.01:
        return "less than a hundredth of one noticeable fade"
    return f"{fades:.2f} of one noticeable fade" if fades < 1 else f"{fades:.1f} noticeable fades"


def _limits(ledger: LightLedger) -> str:
    share = fade_share_a_year(ledger.sensitivity.light_class)
    by_fade = ledger.budget.by_fade_lux_hours
    by_cie = ledger.budget.by_cie_lux_hours
    said = []
    if not isinf(by_fade):
        said.append(f"{lux_hours(by_fade)} by {share:g} of a noticeable fade a year")
    if not isinf(by_cie):
        said.append(f"{lux_hours(by_cie)} by CIE 157:2004")
    which = "the stricter counts" if len(said) > 1 else "the only limit that is kept here"
    return f"{', '.join(said)}; {which}"


def _here(ledger: LightLedger) -> str:
    if not ledger.is_placed:
        return ""
    bright = f"; more than the {ledger.cie_limit_lux:g} lux of CIE 157:2004"
    over = bright if ledger.lux > ledger.cie_limit_lux else ""
    return f"{ledger.lux:g} lux, {lux_hours(ledger.lux_hours_a_year)} lux hours a year{over}"


def _rests_on(ledger: LightLedger) -> str:
    if ledger.is_measured:
        now = "as a logger read it"
    elif ledger.is_lux_assumed:
        now = "assumed: nobody has said how bright it is there"
    else:
        now = "as somebody said of the place"
    read = ledger.so_far.days_measured
    return f"{now}; {read} of {ledger.so_far.days} days so far were measured" if read else now


def _turn(turn: Turn) -> TurnShown:
    return TurnShown(
        turns=turn.turns,
        days=f"{turn.days_a_year:.0f}",
        lux_hours=lux_hours(turn.lux_hours_a_year),
        years="not counted" if turn.years_to_fade is None else years_said(turn.years_to_fade),
        within="within the limit" if turn.is_within_budget else "over the limit",
    )
