"""Should a work be rematted instead of being looked at again, by when, and what is the cure?

When the formula asks for the next unframing within a year of the last one, or
when new harm within five years is more likely than not by what a new package
can mend, looking again only watches the harm come. The work is then to be
rematted by the day on which that chance passes one half, at the earliest 90 days
and at the latest 36 calendar months after the day on which the advice first
held; 12 months for a stain whose source is still there on a unique or high-value
work. That first day is stored, or the date would recede for ever; a new mount
starts it again. The mechanism that leads names the cure. The days are worked out
for many works at once in `work_dates`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from models.rules.calendar_days import day_in_words
from models.rules.package_components import ComponentRow
from models.rules.package_facts import FindingFacts, WorkFacts
from models.rules.policy import Policy
from models.vocabulary import Advice, Mechanism, Replaceability, ValueBand

# Policy of this project (judgement).
LOOKS_TOO_SOON_MONTHS = 12
LIKELY_CHANCE = 0.5
WINDOW_YEARS = 5.0
EARLIEST_DAYS = 90

# What mends what; every mechanism that a new package, hold or place can mend has a cure.
CURE: dict[Mechanism, Advice] = {
    Mechanism.ACID_MIGRATION: Advice.REMAT,
    Mechanism.ADHESIVE_AGEING: Advice.REMAT,
    Mechanism.PHOTO_ACTIVITY: Advice.REMAT,
    Mechanism.ALKALI_CONTACT: Advice.REMAT,
    Mechanism.FOGGING: Advice.REMAT,
    Mechanism.INSECTS_AND_DUST: Advice.RESEAL,
    Mechanism.TARNISH_OR_OZONE: Advice.REMAT,
    Mechanism.HOLD_FAILURE: Advice.REHINGE,
    Mechanism.STICKING: Advice.GIVE_A_SPACER,
    Mechanism.RESTRAINT: Advice.GIVE_ROOM,
    Mechanism.MOULD: Advice.DRY_OR_MOVE,
    Mechanism.FOXING: Advice.DRY_OR_MOVE,
}

# What whoever does it must mind; common practice, no source.
MIND_AT: dict[Advice, str] = {
    Advice.GIVE_A_SPACER: (
        "If it sticks to the glazing already, do not part them, and no water near it: lay it flat;"
        " a conservator parts them."
    ),
    Advice.DRY_OR_MOVE: (
        "Where there is mould: respirator and gloves, bag it, and ask a conservator; follow local"
        " codes."
    ),
}

# The mechanisms that stain a sheet as long as their source lies at it.
_STAINS = frozenset({Mechanism.ACID_MIGRATION, Mechanism.ADHESIVE_AGEING})


class WhyRemat(StrEnum):
    """Why a work should be rematted and not looked at again."""

    LIKELY = "new harm within 5 years is more likely than not"
    TOO_SOON = "it would have to be unframed again within a year of the last time"


@dataclass(frozen=True)
class RematAdvice:
    """The cure, the day from which the advice counts, the day by which, and why."""

    advice: Advice
    advised_on: int
    remat_by: int
    sentence: str


def latest_months(policy: Policy, *, is_live_stain: bool) -> int:
    """Return within how many calendar months a remat that is advised must be done."""
    return int(
        policy.remat_latest_live_stain_months if is_live_stain else policy.remat_latest_months
    )


def remat_advice(
    *, leading: Mechanism, why: WhyRemat, advised_on: int, remat_by: int
) -> RematAdvice:
    """Return the advice with its sentence."""
    cure = CURE[leading]
    sentence = (
        f"Instead of looking again: {cure} by {day_in_words(remat_by)}, because {why}"
        f" (advised since {day_in_words(advised_on)}; leading: {leading})."
    )
    return RematAdvice(cure, advised_on, remat_by, sentence)


def is_live_stain(
    findings: Iterable[FindingFacts], rows: Iterable[ComponentRow], work: WorkFacts
) -> bool:
    """Say whether a mat burn or stain has its source still at it, on a work that is worth haste."""
    if work.replaceability is not Replaceability.UNIQUE and work.value_band is not ValueBand.HIGH:
        return False
    sources = [(row.mechanism, row.shown, row.grade) for row in rows]
    return any(
        mechanism is finding.mechanism
        and shown is finding.shows_at
        and finding.grade in (None, grade)
        for finding in findings
        if finding.mechanism in _STAINS and finding.is_of_this_mount and finding.is_still_there
        for mechanism, shown, grade in sources
    )
