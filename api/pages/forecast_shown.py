"""How is a forecast said on the page of a work?

The next dates, each with its steps; the chances in words and numbers; what leads
to them. A day that is past is due today, and the day stays said. Everything is a
planning figure.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import log1p

from api.template_filters import MONTHS, day
from models.rules.calendar_days import add_years, day_date
from models.rules.chance_words import chance_in_words, percent
from models.rules.inspection_schedule import deciding_step
from models.rules.package_facts import ClimateFacts
from models.rules.urgent_signs import LOCAL_CODES
from models.rules.work_forecast import (
    ChanceRange,
    Driver,
    NewHarmByPlace,
    NextDate,
    WorkForecast,
)

FORECAST_YEARS = 5
# The bar of what leads to harm is so long, in units of its drawing; a part shorter than
# the least is not told from its neighbours and counts among the rest.
BAR_WIDTH = 1000
LEAST_PART = 4
MOST_DRIVERS_SHOWN = 6
NO_DAY = "no day set"
IN_THE_FIRST_SURVEY = "in the first survey"
# A day that is past by more than so many years is said by its year: the work was never seen
# since, and no day of then means anything today. Default of this project.
LONG_PAST_YEARS = 5
DUE_TODAY = "due today"
AT_ITS_REMAT = "at its remat"
PLANNING_FIGURES = "These are planning figures, to decide where to look first; they are no promise."


@dataclass(frozen=True)
class DateShown:
    """One next date: `when` as it is said today, `by` the day itself; empty when none is set.

    `is_due` when its day has come, `was_due` since when. `reason` is the one of
    its steps that put it on its day.
    """

    name: str
    by: str
    when: str
    is_due: bool
    was_due: str
    reason: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class ChanceShown:
    """A chance in words and percent, and its range for typical times twice and half as long.

    The range is empty where both are the same.
    """

    words: str
    percent: str
    range: str

    @property
    def also(self) -> str:
        """Return the percent to stand behind the words, where they do not say it themselves."""
        is_said = self.words == "none" or self.percent in self.words
        return "" if is_said else f" ({self.percent})"


@dataclass(frozen=True)
class DriverShown:
    """What leads to harm: how it harms, by which layer, where it would show, its share.

    `figures` are those it enters the chance with. `begun` and `width` are its part of the bar
    of all of them.
    """

    mechanism: str
    layer: str
    grade: str
    place: str
    share: str
    begun: float
    width: float
    because: str
    is_weak_layer: bool
    figures: "FiguresShown"


@dataclass(frozen=True)
class FiguresShown:
    """With what figures one way to harm enters the chance, fine enough to reckon with."""

    mechanism: str
    layer: str
    place: str
    unit: str
    typical: str
    shape: str
    own_evidence: str
    clock_seen: str
    clock_now: str
    rate: str


@dataclass(frozen=True)
class SignShown:
    """A sign that does not wait, with its first act and what to mind."""

    sign: str
    name: str
    since: str
    act: str
    caution: str


@dataclass(frozen=True)
class ForecastShown:
    """All that a page says of a forecast."""

    verdict: str
    verdict_sentence: str
    freeing: str
    weak_layer: str
    headline: str
    is_pressing: bool
    dates: tuple[DateShown, ...]
    remat: DateShown | None
    by_when: str
    unseen_now: ChanceShown
    new_in_five_years: ChanceShown
    new_harm_where: str
    advice: str
    signs: tuple[SignShown, ...]
    may_be_opened: bool
    drivers: tuple[DriverShown, ...]
    bar_width: int
    figures: tuple[FiguresShown, ...]
    allowed: str
    allowed_hazard: str
    climate: str
    caution: str = LOCAL_CODES
    planning_figures: str = PLANNING_FIGURES

    @property
    def dates_and_remat(self) -> tuple[DateShown, ...]:
        """Return all dates, that of the remat last."""
        return self.dates if self.remat is None else (*self.dates, self.remat)


def forecast_shown(
    forecast: WorkForecast, *, today: int, path_of: Callable[[int], str] | None = None
) -> ForecastShown:
    """Return what a page says of a forecast on a day; `path_of` names the place of a record."""
    dates = _dates(forecast, today)
    verdict = forecast.verdict
    figures = _figures(forecast.drivers)
    return ForecastShown(
        verdict=verdict.verdict,
        verdict_sentence=verdict.sentence,
        freeing=verdict.freeing,
        weak_layer=forecast.weak_layer,
        headline=_headline(forecast, today),
        is_pressing=bool(forecast.urgent) or (forecast.due_on or today + 1) <= today,
        dates=dates,
        remat=_date("Remat", forecast.remat, today) if forecast.advice else None,
        by_when=_month(add_years(today, FORECAST_YEARS)),
        unseen_now=_chance(forecast.chance_unseen_now),
        new_in_five_years=_chance(forecast.chance_new_5y),
        new_harm_where=_new_harm_where(forecast.new_harm_by_place),
        advice=forecast.advice or "",
        signs=_signs(forecast),
        may_be_opened=forecast.may_be_opened,
        drivers=_drivers(forecast, figures),
        bar_width=BAR_WIDTH,
        figures=figures,
        allowed=f"{forecast.allowed_chance * 100:g} %",
        allowed_hazard=f"{-log1p(-forecast.allowed_chance):.4f}",
        climate=_climate(forecast.climate, path_of),
    )


def _dates(forecast: WorkForecast, today: int) -> tuple[DateShown, ...]:
    box, unframing = forecast.box_check, _date("Next unframing", forecast.unframing, today)
    if not forecast.is_unframed_first:
        # Its reason stands beside the date of the remat.
        unframing = replace(
            unframing, by="", when=AT_ITS_REMAT, is_due=False, was_due="", reason=""
        )
    dates = [_date("Next look", forecast.look, today), unframing]
    if forecast.first_survey:
        dates = [date if date.by else replace(date, when=IN_THE_FIRST_SURVEY) for date in dates]
    return tuple([*dates, _date("Next box check", box, today)] if box.steps else dates)


def _date(name: str, found: NextDate, today: int) -> DateShown:
    by = "" if found.on is None else day(found.on)
    is_due = found.on is not None and found.on <= today
    deciding = deciding_step(found.steps)
    return DateShown(
        name=name,
        by=by,
        when=DUE_TODAY if is_due else by or NO_DAY,
        is_due=is_due,
        was_due=_was_due(found.on, today),
        reason="" if deciding is None else deciding.sentence,
        # Two layers with one and the same sign say it once.
        steps=tuple(dict.fromkeys(found.sentences)),
    )


def _was_due(on: int | None, today: int) -> str:
    if on is None or on >= today:
        return ""
    if on < add_years(today, -LONG_PAST_YEARS):
        return f"reckoned back: since {day_date(on).year}"
    return f"was due by {day(on)}"


def _new_harm_where(found: NewHarmByPlace) -> str:
    """Return in a sentence who would notice it: a look has its day, and an unframing another."""
    parts = [
        (chance, where)
        for chance, where in (
            (found.at_a_look, "would show at a look"),
            (found.when_opened, "would show only when it is opened"),
            (found.never_seen, "would show where nobody can see it"),
        )
        if chance > 0
    ]
    if len(parts) == 1:
        return f"all of it {parts[0][1]}"
    return ", ".join(f"{percent(chance)} {where}" for chance, where in parts)


def _headline(forecast: WorkForecast, today: int) -> str:
    """Return the one thing to be done next."""
    if forecast.urgent:
        return f"Does not wait: {forecast.urgent[0].sign}."
    if forecast.due_kind is None:
        return "No day is set."
    if forecast.due_on is None:
        return f"Due: {forecast.due_kind}."
    if forecast.due_on <= today:
        return f"Due today: {forecast.due_kind}."
    return f"Next: {forecast.due_kind} by {day(forecast.due_on)}."


def _signs(forecast: WorkForecast) -> tuple[SignShown, ...]:
    signs = (
        SignShown(
            urgent.sign.capitalize(),
            urgent.name,
            day(urgent.since_day),
            urgent.first_act.act,
            urgent.first_act.caution,
        )
        for urgent in forecast.urgent
    )
    # Two layers with one and the same sign say it once.
    return tuple(dict.fromkeys(signs))


def _drivers(
    forecast: WorkForecast, figures_shown: Sequence[FiguresShown]
) -> tuple[DriverShown, ...]:
    shown: list[DriverShown] = []
    begun = 0.0
    for driver, figures in zip(forecast.drivers, figures_shown, strict=True):
        width = round(min(driver.share_5y * BAR_WIDTH, BAR_WIDTH - begun), 1)
        shown.append(
            DriverShown(
                mechanism=driver.mechanism,
                layer=driver.layer,
                grade=driver.grade,
                place=driver.place,
                share=percent(driver.share_5y),
                begun=round(begun, 1),
                width=width if width >= LEAST_PART else 0.0,
                because=driver.because,
                is_weak_layer=bool(forecast.weak_layer) and driver.layer == forecast.weak_layer,
                figures=figures,
            )
        )
        begun += width
    return tuple(shown[:MOST_DRIVERS_SHOWN])


def _figures(drivers: Sequence[Driver]) -> tuple[FiguresShown, ...]:
    return tuple(
        FiguresShown(
            mechanism=driver.mechanism,
            layer=driver.layer,
            place=driver.place,
            unit=unit_said(driver.unit),
            typical="a mixture" if driver.median is None else f"{driver.median:g}",
            shape="" if driver.shape is None else f"{driver.shape:g}",
            own_evidence=f"{driver.theta:.6f}",
            clock_seen=f"{driver.clock_seen:.6f}",
            clock_now=f"{driver.clock_now:.6f}",
            rate=f"{driver.rate_per_year:.6f}",
        )
        for driver in drivers
    )


def unit_said(unit: str) -> str:
    """Return a unit of the default figures as it is read: `years at 20 °C, 50 %`."""
    return unit.replace(" C/", " °C, ")


def _climate(climate: ClimateFacts, path_of: Callable[[int], str] | None) -> str:
    """Return what the clocks of ageing and damp run by from now on."""
    assumed = f"{climate.temperature_c:g} °C, {climate.rh_percent:g} %"
    measured_in = climate.measured_in
    if measured_in is not None:
        return f"measured in {path_of(measured_in)}" if path_of else "measured"
    if climate.record is not None:
        return f"assumed, {assumed}: less than a year was measured"
    return f"assumed, {assumed}: nothing was measured"


def _chance(found: ChanceRange) -> ChanceShown:
    low, high = percent(found.if_twice_as_long), percent(found.if_half_as_long)
    span = "" if low == high else f"{low} to {high}"
    return ChanceShown(chance_in_words(found.chance), percent(found.chance), span)


def _month(on: int) -> str:
    shown = day_date(on)
    return f"{MONTHS[shown.month - 1]} {shown.year}"
