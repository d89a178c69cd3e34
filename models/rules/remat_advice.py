"""Should a work be rematted instead of being looked at again, by when, and what is the cure?

When the formula asks for the next unframing within a year of the last one, or
when new harm within five years is more likely than not by what a new package
can mend, looking again only watches the harm come. The work is then to be
rematted by the day on which that chance passes one half, at the earliest 90 days
and at the latest 36 calendar months after the day on which the advice first
held; 12 months for a stain whose source is still there on a unique or high-value
work. That first day is stored, or the date would recede for ever; a new mount
starts it again. The mechanism that leads names the cure.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import isinf

from models.rules.calendar_days import add_months, add_years, day_in_words
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
    Mechanism.INSECTS_AND_DUST: Advice.REMAT,
    Mechanism.TARNISH_OR_OZONE: Advice.REMAT,
    Mechanism.HOLD_FAILURE: Advice.REHINGE,
    Mechanism.STICKING: Advice.GIVE_A_SPACER,
    Mechanism.RESTRAINT: Advice.GIVE_ROOM,
    Mechanism.MOULD: Advice.DRY_OR_MOVE,
    Mechanism.FOXING: Advice.DRY_OR_MOVE,
}

# The mechanisms that stain a sheet as long as their source lies at it.
_STAINS = frozenset({Mechanism.ACID_MIGRATION, Mechanism.ADHESIVE_AGEING})


@dataclass(frozen=True)
class RematAdvice:
    """The cure, the day from which the advice counts, the day by which, and why."""

    advice: Advice
    advised_on: int
    remat_by: int
    sentence: str


def why_remat(
    *, formula_day: int | None, last_unframed_day: int | None, chance_new: float
) -> str | None:
    """Return why the work should be rematted and not looked at again; None if it need not.

    `chance_new` is the chance of new harm within five years by what can be mended.
    """
    if chance_new > LIKELY_CHANCE + 1e-9:
        return "new harm within 5 years is more likely than not"
    if formula_day is None or last_unframed_day is None:
        return None
    if formula_day <= add_months(last_unframed_day, LOOKS_TOO_SOON_MONTHS):
        return "it would have to be unframed again within a year of the last time"
    return None


def advice_counts_from(*, stored: int | None, mounted_day: int | None, today: int) -> int:
    """Return the day on which the advice first held for this mount: as stored, else today."""
    if stored is None or (mounted_day is not None and stored < mounted_day):
        return today
    return stored


def latest_months(policy: Policy, *, is_live_stain: bool) -> int:
    """Return within how many calendar months a remat that is advised must be done."""
    return int(
        policy.remat_latest_live_stain_months if is_live_stain else policy.remat_latest_months
    )


def remat_advice(
    *,
    leading: Mechanism,
    why: str,
    advised_on: int,
    likely_years: float,
    is_live_stain: bool,
    policy: Policy,
) -> RematAdvice:
    """Return the advice. `likely_years` counts from `advised_on`; infinite where never likely."""
    last_day = add_months(advised_on, latest_months(policy, is_live_stain=is_live_stain))
    likely_day = last_day if isinf(likely_years) else add_years(advised_on, likely_years)
    by = min(max(likely_day, advised_on + EARLIEST_DAYS), last_day)
    cure = CURE[leading]
    sentence = (
        f"Instead of looking again: {cure} by {day_in_words(by)}, because {why}"
        f" (advised since {day_in_words(advised_on)}; leading: {leading})."
    )
    return RematAdvice(cure, advised_on, by, sentence)


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
