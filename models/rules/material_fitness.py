"""Is a material fit for this work, whatever its grade?

A layer or tape that failed the Photographic Activity Test (ISO 18916) is a
fault against a silver or dye photograph when it touches or faces it. One that
was never tested is advice where it touches. A test older than a year is said:
results belong to a batch, and makers change them.

Buffered board against a cyanotype, or against one of the processes for which
alkali is contested, is advice with its reason and no fault. No board is said to
meet the standard for permanent paper: that standard covers unprinted paper.
"""

from dataclasses import dataclass
from enum import StrEnum

from models.rules.calendar_days import add_months, day_in_words
from models.rules.distance_from_work import PlacedLayer
from models.rules.package_facts import HoldFacts, Key
from models.vocabulary import Distance, PatResult, ProcessGroup


class Weight(StrEnum):
    """How much a remark weighs."""

    FAULT = "fault"
    ADVICE = "advice"
    NOTE = "note"


@dataclass(frozen=True)
class Remark:
    """One sentence on one layer or hold."""

    weight: Weight
    key: Key
    sentence: str


# Processes whose image is silver or dye: what the Photographic Activity Test is about.
PHOTOGRAPHS = frozenset(
    {
        ProcessGroup.SILVER_PHOTOGRAPH,
        ProcessGroup.DYE_PHOTOGRAPH,
        ProcessGroup.DYE_TRANSFER,
        ProcessGroup.ALBUMEN,
        ProcessGroup.SALTED_PAPER,
        ProcessGroup.COLLODION,
    }
)

# Why a buffered board is advised against, by process. The advice rests on practice
# manuals and on what the standard for photographic enclosures leaves out.
ALKALI_ADVICE: dict[ProcessGroup, str] = {
    ProcessGroup.CYANOTYPE: (
        "alkali faded cyanotypes under test conditions; how real the danger is at low humidity"
        " is contested"
    ),
    ProcessGroup.DYE_TRANSFER: "the standard for enclosures leaves this process out; no consensus",
    ProcessGroup.SALTED_PAPER: "the standard for enclosures leaves this process out; no consensus",
    ProcessGroup.ALBUMEN: (
        "an early warning was withdrawn by its author; there is no evidence against a buffer,"
        " and no consensus"
    ),
    ProcessGroup.COLLODION: "the standard for enclosures leaves this process out; no consensus",
    ProcessGroup.PLATINUM: "the standard for enclosures leaves this process out; no consensus",
    ProcessGroup.DIAZOTYPE: "the standard for enclosures leaves this process out; no consensus",
    ProcessGroup.DYE_PHOTOGRAPH: (
        "one practice manual prefers unbuffered board, the standard accepts buffered"
    ),
}

# ISO 18916: each batch and colour, again every year or when the make changes.
PAT_VALID_MONTHS = 12


def is_photograph(process_group: str) -> bool:
    """Say whether the image is silver or dye."""
    return process_group in PHOTOGRAPHS


def remarks_on_layer(placed: PlacedLayer, process_group: str, *, today: int) -> list[Remark]:
    """Return what is to be said of one layer against this work, worst first."""
    layer = placed.layer
    pat = _pat_remark(layer.pat, layer.pat_day, placed.distance, process_group, today)
    alkali = _alkali_reason(placed, process_group)
    name = layer.material or layer.role.value
    said = [(weight, f"{name}: {what}.") for weight, what in pat + alkali]
    return [Remark(weight, layer.key, _begun_large(sentence)) for weight, sentence in said]


def remarks_on_hold(hold: HoldFacts, process_group: str, *, today: int) -> list[Remark]:
    """Return what is to be said of one hold, which always touches the work."""
    pat = _pat_remark(hold.pat, hold.pat_day, Distance.TOUCHES, process_group, today)
    name = hold.material or hold.grade
    return [Remark(weight, hold.key, _begun_large(f"{name}: {what}.")) for weight, what in pat]


def _pat_remark(
    pat: PatResult, tested_day: int | None, distance: Distance, process_group: str, today: int
) -> list[tuple[Weight, str]]:
    if not is_photograph(process_group) or distance is Distance.APART:
        return []
    if pat is PatResult.FAILED:
        return [
            (Weight.FAULT, f"failed the Photographic Activity Test and {distance} a photograph")
        ]
    if pat is PatResult.PASSED:
        return _age_of_test(tested_day, today)
    if distance is Distance.TOUCHES:
        return [(Weight.ADVICE, "touches a photograph without a Photographic Activity Test")]
    return []


def _age_of_test(tested_day: int | None, today: int) -> list[tuple[Weight, str]]:
    if tested_day is None:
        return [(Weight.NOTE, "passed the Photographic Activity Test on a day not recorded")]
    if add_months(tested_day, PAT_VALID_MONTHS) >= today:
        return []
    when = day_in_words(tested_day)
    return [(Weight.NOTE, f"passed the Photographic Activity Test on {when}, more than a year ago")]


def _alkali_reason(placed: PlacedLayer, process_group: str) -> list[tuple[Weight, str]]:
    touches = placed.distance is Distance.TOUCHES
    if not (touches and placed.layer.buffered and process_group in ALKALI_ADVICE):
        return []
    process = ProcessGroup(process_group)
    what = f"buffered board touches a work of the group {process}"
    return [
        (Weight.ADVICE, f"{what}; unbuffered is the cautious choice ({ALKALI_ADVICE[process]})")
    ]


def _begun_large(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
