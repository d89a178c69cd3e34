"""Does a date that somebody put off still count, and how is it said?

Looks, unframings, box checks and remats can be put off to a stated day for a
stated reason, or moved earlier to level the load. That day then stands in place
of the one by the rules, until what was to be done has been done. A sign that does
not wait, and a look after an incident, cannot be put off.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from models.errors import BadValue
from models.rules.calendar_days import add_months, day_in_words
from models.rules.inspection_schedule import Scheduled, StepKind
from models.vocabulary import DueKind

MAY_BE_PUT_OFF = (DueKind.LOOK, DueKind.UNFRAMING, DueKind.BOX_CHECK, DueKind.REMAT)
# Whoever means a longer time means never. Default of this project.
LONGEST_MONTHS = 120


@dataclass(frozen=True, kw_only=True)
class PutOff:
    """The day that stands in place of the one by the rules, since when, and why."""

    until_day: int
    made_day: int
    reason: str
    is_levelled: bool = False


PutOffs = Mapping[DueKind, PutOff]


def with_put_off(dated: Scheduled, put_off: PutOff | None) -> Scheduled:
    """Return the day that was put in place of this one, with its reason as one more step."""
    if put_off is None:
        return dated
    until, made = day_in_words(put_off.until_day), day_in_words(put_off.made_day)
    if put_off.is_levelled:
        levelled = f"Levelled on {made}: moved to {until}."
        return dated.then(put_off.until_day, StepKind.LEVELLED, levelled)
    sentence = f"Put off on {made} until {until}: {put_off.reason}"
    return dated.then(put_off.until_day, StepKind.PUT_OFF, sentence)


def refuse_put_off(kind: DueKind, until_day: int, *, today: int) -> None:
    """Raise BadValue for a kind that cannot wait, or a day that is no day to put off to."""
    if kind not in MAY_BE_PUT_OFF:
        kinds = ", ".join(MAY_BE_PUT_OFF)
        raise BadValue.at("/kind", f"{kind.capitalize()}: this cannot be put off.", f"{kinds}.")
    last = add_months(today, LONGEST_MONTHS)
    if not today < until_day <= last:
        right = f"A day after {day_in_words(today)}, until {day_in_words(last)}."
        raise BadValue.at("/until", f"{day_in_words(until_day)} is no day to put off to.", right)
