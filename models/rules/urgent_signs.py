"""Which signs do not wait, what is done first, and may the package be opened at all?

A sign comes before every date. Each has a first act of its own, a caution, and
a number of days within which it must be acted upon; the days count from the
first sighting. As long as such a sign stands the package stays closed: opening
it would spread the mould, pull off the pastel or drop the glass. Two signs are
about what lies inside and can only be met by opening: a recalled layer that
touches the work, and tape that has begun to ooze, which now still can be got off.

Before any unframing four questions are asked. One yes is a stop, and the stop
has the first act of its sign; a question that nobody answered is not a no.

First acts and days are common practice, no source, where trade manuals do not
say them. Treatment of anything rare or fragile is for a trained conservator.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from models.rules.calendar_days import day_in_words
from models.rules.distance_from_work import place_layers
from models.rules.package_facts import FindingFacts, PackageFacts
from models.vocabulary import Distance, StopQuestion, UrgentSign

# Printed once beside every first act.
LOCAL_CODES = (
    "Follow local codes; treatment of anything rare or fragile is for a trained conservator."
)


@dataclass(frozen=True)
class FirstAct:
    """What is done first, what to mind, and within how many days; 0 is at once."""

    act: str
    caution: str
    within_days: int = 0
    closes_unframing: bool = True


_LEAVE_FLAT = "Lay it flat, face up, leave it closed; a conservator next."

FIRST_ACTS: dict[UrgentSign, FirstAct] = {
    UrgentSign.ACTIVE_MOULD: FirstAct(
        "Leave it closed, bag it, isolate it; a conservator next.",
        "Wear a respirator and gloves; no eating nearby.",
    ),
    UrgentSign.INSECTS: FirstAct(
        "Leave it closed, bag it, isolate it; a conservator next.",
        "No poison on or near a work.",
    ),
    UrgentSign.FRIABLE_ON_GLAZING: FirstAct(_LEAVE_FLAT, "Do not lift the glazing; do not tilt."),
    UrgentSign.GELATIN_ON_GLAZING: FirstAct(_LEAVE_FLAT, "Never pull glass and print apart."),
    UrgentSign.SLIPPED_SHEET: FirstAct(_LEAVE_FLAT, "Do not shake it back into place."),
    UrgentSign.FLAKING: FirstAct(
        "Lay it flat, face up; it does not travel. A conservator next.",
        "No plastic near the surface: static lifts what is loose.",
    ),
    UrgentSign.BROKEN_GLASS: FirstAct(
        "Lay it flat, do not tilt it; tape the cracks only if nothing friable lies under.",
        "Wear gloves and eye protection.",
    ),
    UrgentSign.WATER: FirstAct(
        "Take it off the wall, lay it flat; a conservator within 48 hours.",
        "Mind live wires; wet paper tears by its own weight.",
        within_days=2,
    ),
    UrgentSign.NITRATE: FirstAct(
        "No heat; ventilate, keep it apart, tell the authority.",
        "It burns without air and by itself; specialists only.",
    ),
    UrgentSign.RECALLED_LAYER: FirstAct(
        "Plan to take the recalled layer away from the work.",
        "A conservator decides how it comes off if it does not lift.",
        closes_unframing=False,
    ),
    UrgentSign.TACKY_TAPE: FirstAct(
        "Have the tape taken off within 30 days: now it still can be got off.",
        "Solvents are flammable and harm the lungs: none by default.",
        within_days=30,
        closes_unframing=False,
    ),
}

# The sign that a yes stands for; mould and insects have the same first act.
SIGN_OF_QUESTION: dict[StopQuestion, UrgentSign] = {
    StopQuestion.TOUCHES_GLASS: UrgentSign.FRIABLE_ON_GLAZING,
    StopQuestion.LOOSE_OR_FLAKING: UrgentSign.FLAKING,
    StopQuestion.GLASS_CRACKED: UrgentSign.BROKEN_GLASS,
    StopQuestion.MOULD_OR_INSECTS: UrgentSign.ACTIVE_MOULD,
}


@dataclass(frozen=True)
class Urgent:
    """A sign that stands: what shows it, since when, and by which day it must be acted upon."""

    sign: UrgentSign
    name: str
    since_day: int
    due_day: int
    first_act: FirstAct

    @property
    def sentence(self) -> str:
        """Return the sign, its day and the first act in words."""
        since = f"{self.sign[:1].upper()}{self.sign[1:]} since {day_in_words(self.since_day)}"
        return f"{since} ({self.name}). {self.first_act.act} {self.first_act.caution}"


@dataclass(frozen=True)
class Stop:
    """One of the four questions that was answered with yes, and what is done instead."""

    question: StopQuestion
    first_act: FirstAct


def urgent_signs(
    findings: Iterable[FindingFacts], package: PackageFacts | None, *, today: int
) -> tuple[Urgent, ...]:
    """Return the signs that stand, most pressing first.

    A sign whose first day nobody recorded counts from the mount, or from today.
    """
    seen = [
        _urgent(finding.urgent_sign, finding.term, finding.first_seen_day, package, today)
        for finding in findings
        if finding.urgent_sign is not None and finding.is_still_there
    ]
    recalled = [
        _urgent(UrgentSign.RECALLED_LAYER, name, day, package, today)
        for name, day in ([] if package is None else _recalled_touching(package))
    ]
    order = list(UrgentSign)
    return tuple(sorted(seen + recalled, key=lambda u: (u.due_day, order.index(u.sign))))


def may_be_opened(urgent: Iterable[Urgent]) -> bool:
    """Say whether no standing sign keeps the package closed."""
    return not any(sign.first_act.closes_unframing for sign in urgent)


def stops(answers: Mapping[StopQuestion, bool]) -> tuple[Stop, ...]:
    """Return what forbids this unframing: every question answered with yes."""
    return tuple(
        Stop(question, FIRST_ACTS[SIGN_OF_QUESTION[question]])
        for question in StopQuestion
        if answers.get(question)
    )


def still_to_ask(answers: Mapping[StopQuestion, bool]) -> tuple[StopQuestion, ...]:
    """Return the questions that must be answered before the package is opened."""
    return tuple(question for question in StopQuestion if question not in answers)


def _recalled_touching(package: PackageFacts) -> list[tuple[str, int | None]]:
    layers = [
        (placed.layer.material or placed.layer.role.value, placed.layer.recalled_day)
        for placed in place_layers(package)
        if placed.layer.recalled and placed.distance is Distance.TOUCHES
    ]
    holds = [(h.material or h.grade, h.recalled_day) for h in package.holds if h.recalled]
    return layers + holds


def _urgent(
    sign: UrgentSign, name: str, day: int | None, package: PackageFacts | None, today: int
) -> Urgent:
    mounted = None if package is None else package.mounted_day
    since = next(d for d in (day, mounted, today) if d is not None)
    act = FIRST_ACTS[sign]
    return Urgent(sign, name, since, since + act.within_days, act)
