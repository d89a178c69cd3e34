"""Within what limits is a work looked at again, and how is each step to its date said?

The day by formula is held in check by steps in this order, each with its own
sentence. *Clean years*: a place of known grades that was seen and clear at the
last unframing, in a package and place unchanged since, does not count before
that unframing plus a quarter of its clean years, at least one year; survival is
evidence. *Limits*: not sooner and not later than so many calendar months after
the last examination of that kind; a mounting counts as an unframing, and an
unframing as a look. A friable work, or one that cannot be freed without harm, has
no latest day: it is unframed only for a stated reason. *First survey*: a work
never examined is not overdue, it stands on a list of its own. *Signs that do not
wait* and *remat instead of looking again* have files of their own.

A box is checked as a box every year, and its sheets come out rarely. The days
themselves are worked out for many works at once in `work_dates`; a day that is
past stays where it was, and is due today when shown.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from models.rules.calendar_days import add_months, add_years, day_in_words
from models.rules.policy import Policy
from models.rules.urgent_signs import Urgent
from models.vocabulary import PlaceUse, Shown

# Clean years count a quarter, and never less than this many months (judgement).
CLEAN_SHARE = 0.25
FEWEST_CLEAN_MONTHS = 12


class Soundness(StrEnum):
    """How well the layers of a package are known, and how good they are."""

    SOUND = "every layer is known and sound"
    UNKNOWN = "something in it is unknown"
    OTHER = "not every layer is known and sound"


FIRST_SURVEY = (
    "First survey: nobody has examined this work on record, so it is not overdue;"
    " it stands on the survey list."
)


class StepKind(StrEnum):
    """Which step of the schedule it is."""

    FORMULA = "by formula"
    CLEAN_YEARS = "clean years"
    LIMITS = "limits"
    BOX = "box"
    FIRST_SURVEY = "first survey"
    URGENT = "sign that does not wait"
    PUT_OFF = "put off"
    LEVELLED = "levelled"
    REMAT = "remat instead"


@dataclass(frozen=True)
class Step:
    """One step to a day, in words; `sets_the_day` when the day stands where it does by it."""

    kind: StepKind
    sentence: str
    sets_the_day: bool = True


@dataclass(frozen=True)
class Scheduled:
    """A day (None: no day is set) and the steps that led to it."""

    on: int | None
    steps: tuple[Step, ...] = ()

    def then(
        self, on: int | None, kind: StepKind, sentence: str, *, sets_the_day: bool = True
    ) -> "Scheduled":
        """Return the day after one more step."""
        step = Step(kind, sentence, sets_the_day)
        return replace(self, on=on, steps=(*self.steps, step))

    @property
    def sentences(self) -> tuple[str, ...]:
        """Return the steps in words."""
        return tuple(step.sentence for step in self.steps)


def deciding_step(steps: Iterable[Step]) -> Step | None:
    """Return the step by which a day stands where it does; None where there are no steps.

    A sign that does not wait comes before every other step, else the last that set the day.
    """
    steps = tuple(steps)
    urgent = (step for step in steps if step.kind is StepKind.URGENT)
    setting = (step for step in reversed(steps) if step.sets_the_day)
    return next(iter((*urgent, *setting, *steps)), None)


def look_months(use: PlaceUse, policy: Policy) -> tuple[int, int]:
    """Return the calendar months from one look to the next, earliest and latest."""
    latest = (
        policy.look_latest_storage_months
        if use is PlaceUse.STORAGE
        else policy.look_latest_display_months
    )
    return int(policy.look_earliest_months), int(latest)


def unframing_months(use: PlaceUse, soundness: Soundness, policy: Policy) -> tuple[int, int]:
    """Return the calendar months from one unframing to the next, earliest and latest."""
    framed = {
        Soundness.SOUND: policy.unframing_latest_sound_months,
        Soundness.OTHER: policy.unframing_latest_months,
        Soundness.UNKNOWN: policy.unframing_latest_months,
    }
    in_a_box = {
        Soundness.SOUND: policy.out_of_box_latest_sound_months,
        Soundness.OTHER: policy.out_of_box_latest_months,
        Soundness.UNKNOWN: policy.out_of_box_latest_unknown_months,
    }
    latest = (in_a_box if use is PlaceUse.BOX else framed)[soundness]
    return int(policy.unframing_earliest_months), int(latest)


def by_formula(day: int | None, *, allowed: float, places: Iterable[Shown]) -> Scheduled:
    """Return the day on which the chance unseen at these places reaches what is allowed."""
    where = ", ".join(places)
    chance = f"By the formula the chance of unseen harm ({where})"
    if day is None:
        never = f"{chance} does not reach {allowed * 100:g} %."
        return Scheduled(None).then(None, StepKind.FORMULA, never)
    reached = f"{chance} reaches {allowed * 100:g} % on {day_in_words(day)}."
    return Scheduled(None).then(day, StepKind.FORMULA, reached)


def clean_years_floor(unframed_day: int, clean_years: float) -> int:
    """Return the day before which a place that was clear so long does not count."""
    least = add_months(unframed_day, FEWEST_CLEAN_MONTHS)
    counted = clean_years * CLEAN_SHARE
    return least if counted * 12 <= FEWEST_CLEAN_MONTHS else add_years(unframed_day, counted)


def with_clean_years(
    dated: Scheduled,
    *,
    on: int | None,
    floor_day: int,
    places: Collection[Shown],
    clean_years: float,
) -> Scheduled:
    """Return the day when these places do not count before `floor_day`."""
    if on == dated.on:
        return dated
    where = ", ".join(place for place in Shown if place in places)
    until = day_in_words(floor_day)
    said = f"Clean years: seen and clear after {clean_years:.1f} years ({where})"
    sentence = f"{said}, so that share does not count before {until}.{_moved(dated, on)}"
    return dated.then(on, StepKind.CLEAN_YEARS, sentence)


def with_look_limits(
    dated: Scheduled,
    *,
    on: int | None,
    last_day: int | None,
    use: PlaceUse,
    policy: Policy,
    is_mounting: bool = False,
    is_assumed: bool = False,
) -> Scheduled:
    """Return the day of the next look within its limits; in a box nobody looks through glazing."""
    if use is PlaceUse.BOX:
        sentence = "In a box nothing is looked at through glazing: the box is checked."
        return dated.then(None, StepKind.BOX, sentence)
    months = look_months(use, policy)
    last = "the mounting" if is_mounting else "the last look"
    return _within(dated, on, last_day, "look", months, last=last, is_assumed=is_assumed)


def with_unframing_limits(
    dated: Scheduled,
    *,
    on: int | None,
    last_day: int | None,
    use: PlaceUse,
    soundness: Soundness,
    left_in_peace_because: str | None,
    policy: Policy,
    is_mounting: bool = False,
    is_assumed: bool = False,
) -> Scheduled:
    """Return the day of the next unframing within its limits.

    `is_mounting` when the last one was the mounting, which counts as one.
    """
    if left_in_peace_because is not None:
        sentence = (
            f"Limits: no latest day by calendar, because {left_in_peace_because};"
            " it is unframed only for a stated reason."
        )
        return dated.then(dated.on, StepKind.LIMITS, sentence, sets_the_day=dated.on is None)
    return _within(
        dated,
        on,
        last_day,
        "unframing",
        unframing_months(use, soundness, policy),
        last="the mounting" if is_mounting else "the last unframing",
        because=f" ({soundness})",
        is_assumed=is_assumed,
    )


def box_check(*, on: int | None, last_day: int | None, use: PlaceUse, policy: Policy) -> Scheduled:
    """Return the day of the next check of a box as a box; none for a work that is in no box."""
    if use is not PlaceUse.BOX:
        return Scheduled(None)
    if last_day is None:
        never = "The box was never checked on record."
        return Scheduled(None).then(None, StepKind.BOX, never)
    months = int(policy.box_check_months)
    often = "year" if months == 12 else _span(months)
    said = f"The box is checked every {often}, last on {day_in_words(last_day)}."
    return Scheduled(None).then(on, StepKind.BOX, said)


def with_urgent_signs(dated: Scheduled, urgent: Iterable[Urgent]) -> Scheduled:
    """Return the same day with the signs that come before it."""
    for sign in urgent:
        closed = " The package stays closed." if sign.first_act.closes_unframing else ""
        sentence = f"Does not wait: {sign.sentence}{closed}"
        dated = dated.then(dated.on, StepKind.URGENT, sentence)
    return dated


def shown_day(day: int | None, today: int) -> int | None:
    """Return the day as it is shown: a day that is past is due today."""
    return None if day is None else max(day, today)


def _within(
    dated: Scheduled,
    on: int | None,
    last_day: int | None,
    what: str,
    months: tuple[int, int],
    *,
    last: str,
    because: str = "",
    is_assumed: bool = False,
) -> Scheduled:
    if last_day is None:
        sentence = f"Limits: no {what} is on record from which they could count."
        return dated.then(dated.on, StepKind.LIMITS, sentence, sets_the_day=False)
    earliest, latest = months
    sentence = (
        f"Limits: between {_span(earliest)} and {_span(latest)} after {last}"
        f" on {day_in_words(last_day)}{' (assumed)' if is_assumed else ''}{because}."
        f"{_moved(dated, on)}"
    )
    return dated.then(on, StepKind.LIMITS, sentence, sets_the_day=on != dated.on)


def _moved(dated: Scheduled, on: int | None) -> str:
    if on is None or on == dated.on:
        return ""
    return f" That makes it {day_in_words(on)}."


def _span(months: int) -> str:
    years, rest = divmod(months, 12)
    if rest:
        return "1 month" if months == 1 else f"{months} months"
    return "1 year" if years == 1 else f"{years} years"
