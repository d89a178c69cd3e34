"""What may a keeper set for the whole house, within what range, and what stands there else?

Each setting has a unit, a range and a basis; together they are the policy by which
every date and rank is worked out. What nobody has set is the default of this
project. The typical times to harm are figures of their own (`default_figures`).
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from models.errors import BadValue

_JUDGEMENT = "default of this project (judgement)"


@dataclass(frozen=True)
class Setting:
    """How one setting of the policy is named, measured, bounded and founded."""

    name: str
    label: str
    unit: str
    lowest: float
    highest: float
    basis: str = _JUDGEMENT
    whole: bool = False


@dataclass(frozen=True, kw_only=True)
class Policy:
    """The settings in force. Chances are shares of 1, limits calendar months."""

    allowed_unique: float = 0.05
    allowed_small_edition: float = 0.10
    allowed_replaceable: float = 0.25
    look_earliest_months: float = 1
    look_latest_display_months: float = 12
    look_latest_storage_months: float = 36
    unframing_earliest_months: float = 12
    unframing_latest_months: float = 120
    unframing_latest_sound_months: float = 240
    out_of_box_latest_sound_months: float = 240
    out_of_box_latest_months: float = 120
    out_of_box_latest_unknown_months: float = 60
    box_check_months: float = 12
    assumed_mounted_months: float = 240
    remat_latest_months: float = 36
    remat_latest_live_stain_months: float = 12
    prior_mounts: float = 4
    unframings_a_week: float = 4
    hourly_rate: float = 45


# What holds where nobody has set anything.
AS_SHIPPED = Policy()

_SHARE = "share of 1"
_MONTHS = "calendar months"
SETTINGS: tuple[Setting, ...] = (
    Setting("allowed_unique", "Allowed chance, unique works", _SHARE, 0.001, 0.9),
    Setting("allowed_small_edition", "Allowed chance, small editions", _SHARE, 0.001, 0.9),
    Setting("allowed_replaceable", "Allowed chance, replaceable works", _SHARE, 0.001, 0.9),
    Setting("look_earliest_months", "Look: not before", _MONTHS, 0, 120, whole=True),
    Setting(
        "look_latest_display_months", "Look on display: not later than", _MONTHS, 1, 240, whole=True
    ),
    Setting(
        "look_latest_storage_months", "Look in storage: not later than", _MONTHS, 1, 600, whole=True
    ),
    Setting("unframing_earliest_months", "Unframing: not before", _MONTHS, 0, 240, whole=True),
    Setting("unframing_latest_months", "Unframing: not later than", _MONTHS, 1, 1200, whole=True),
    Setting(
        "unframing_latest_sound_months",
        "Unframing, every layer known and sound: not later than",
        _MONTHS,
        1,
        1200,
        whole=True,
    ),
    Setting(
        "out_of_box_latest_sound_months",
        "Out of a box, sound: not later than",
        _MONTHS,
        1,
        1200,
        whole=True,
    ),
    Setting(
        "out_of_box_latest_months", "Out of a box: not later than", _MONTHS, 1, 1200, whole=True
    ),
    Setting(
        "out_of_box_latest_unknown_months",
        "Out of a box, something unknown: not later than",
        _MONTHS,
        1,
        1200,
        whole=True,
    ),
    Setting("box_check_months", "Box check: every", _MONTHS, 1, 120, whole=True),
    Setting(
        "assumed_mounted_months",
        "Mounting that nobody dated: assumed so long before the first record",
        _MONTHS,
        0,
        1200,
        whole=True,
    ),
    Setting("remat_latest_months", "Remat: at the latest after", _MONTHS, 3, 240, whole=True),
    Setting(
        "remat_latest_live_stain_months",
        "Remat of a stain whose source is still there: at the latest after",
        _MONTHS,
        3,
        240,
        whole=True,
    ),
    Setting(
        "prior_mounts", "Weight of the default figure against own mounts (kappa)", "mounts", 1, 1000
    ),
    Setting("unframings_a_week", "What the house can unframe", "unframings a week", 0.1, 1000),
    Setting("hourly_rate", "Price of an hour at the bench", "money an hour", 0, 10_000),
)


def policy_from(values: Mapping[str, float]) -> Policy:
    """Return the defaults with these settings in their place.

    Raises BadValue, naming each, for one that is not on the list, out of range, or not
    a whole number where months are counted.
    """
    known = {setting.name: setting for setting in SETTINGS}
    for name, value in values.items():
        setting = known.get(name)
        if setting is None:
            raise BadValue.at(
                f"/{name}", f"There is no setting {name!r}.", f"One of: {', '.join(known)}."
            )
        if not setting.lowest <= value <= setting.highest or (
            setting.whole and value != int(value)
        ):
            kind = "A whole number from" if setting.whole else "From"
            raise BadValue.at(
                f"/{name}",
                f"{setting.label}: this cannot be.",
                f"{kind} {setting.lowest:g} to {setting.highest:g} {setting.unit}.",
            )
    return replace(Policy(), **values)


assert {field.name for field in fields(Policy)} == {setting.name for setting in SETTINGS}
