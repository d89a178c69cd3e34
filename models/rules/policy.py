"""What may a keeper set for the whole house, within what range, and what stands there else?

Each setting has a unit, a range and a basis; together they are the policy by which
every date and rank is worked out. What nobody has set is the default of this
project. The typical times to harm are figures of their own (`default_figures`).
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

from models.errors import BadValue
from models.rules.default_figures import DefaultFigure
from models.rules.record_values import Faults

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

    @property
    def range_said(self) -> str:
        """What would be right, as a sentence."""
        kind = "A whole number from" if self.whole else "From"
        return f"{kind} {self.lowest:g} to {self.highest:g} {self.unit}."


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
    light_by_fade_alone: float = 0


# What holds where nobody has set anything.
AS_SHIPPED = Policy()

_SHARE = "of 1, so 0.05 is 5 %"
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
    # The sign for any currency: which one it is differs from house to house.
    Setting("hourly_rate", "Price of an hour at the bench", "\u00a4 an hour", 0, 10_000),
    Setting(
        "light_by_fade_alone",
        "Light: go by noticeable fade alone, without the yearly limit of CIE 157",
        "(0 no, 1 yes)",
        0,
        1,
        whole=True,
    ),
)


def policy_from(values: Mapping[str, float]) -> Policy:
    """Return the defaults with these settings in their place.

    Raises BadValue, naming each, for one that is not on the list, out of range, or not
    a whole number where months are counted.
    """
    known = {setting.name: setting for setting in SETTINGS}
    faults = Faults()
    for name, value in values.items():
        faults.read(f"/{name}", _checked, (known.get(name), name, value))
    faults.refuse()
    return replace(Policy(), **values)


def _checked(told: tuple[Setting | None, str, float]) -> float:
    setting, name, value = told
    if setting is None:
        names = ", ".join(setting.name for setting in SETTINGS)
        raise BadValue.at("", f"There is no setting {name!r}.", f"One of: {names}.")
    if not setting.lowest <= value <= setting.highest or (setting.whole and value != int(value)):
        raise BadValue.at("", f"{setting.label}: this cannot be.", setting.range_said)
    return value


# A keeper's figures: median in the unit of the shipped one, shape, severity of the harm.
MEDIAN_RANGE = (0.01, 100_000.0)
SHAPE_RANGE = (0.3, 12.0)
SEVERITY_RANGE = (0.0, 1.0)
FIGURE_RANGES = {"median": MEDIAN_RANGE, "shape": SHAPE_RANGE, "severity": SEVERITY_RANGE}


def own_figure(
    shipped: DefaultFigure,
    *,
    median: float | None = None,
    shape: float | None = None,
    severity: float | None = None,
    basis: str = "",
) -> DefaultFigure:
    """Return a shipped figure with a keeper's own in its place; what is None is as shipped.

    Raises BadValue, naming each, for one out of range, and for median or shape of unknown
    board, which is a mixture and has neither.
    """
    told = {"median": median, "shape": shape, "severity": severity}
    given = {name: value for name, value in told.items() if value is not None}
    faults = Faults()
    for name, value in given.items():
        faults.read(f"/{name}", _figure_checked, (shipped, name, value))
    faults.refuse()
    if not given:
        return shipped
    return replace(
        shipped,
        median=shipped.median if median is None else median,
        shape=shipped.shape if shape is None else shape,
        severity=shipped.severity if severity is None else severity,
        basis=basis or shipped.basis,
    )


def _figure_checked(told: tuple[DefaultFigure, str, float]) -> float:
    shipped, name, value = told
    if name != "severity" and shipped.median is None:
        raise BadValue.at(
            "", f"{shipped.grade} is a list of what it may be: it has no {name} of its own."
        )
    lowest, highest = FIGURE_RANGES[name]
    if not lowest <= value <= highest:
        raise BadValue.at("", f"The {name} cannot be this.", f"From {lowest:g} to {highest:g}.")
    return value


assert {field.name for field in fields(Policy)} == {setting.name for setting in SETTINGS}
