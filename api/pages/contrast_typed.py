"""What was read of a stain and of clean paper beside it, in the form of a visit and in words?

The server reads the colours of both places from the picture and hands the whole reading to
the script, which writes it as JSON into one field; it means what
`models/rules/visit_as_told.py` calls a contrast.
"""

import json

from numpy.typing import ArrayLike

from api.pages.path_ids import LARGEST
from models.errors import BadValue, HingebookError
from models.risk.colour_difference import colour_difference
from models.risk.photograph_colour import lab_of_srgb
from models.rules.record_values import between
from models.rules.visit_as_told import ContrastTold, SpotTold

LONGEST_CONTRAST_TEXT = 1_000


def difference_said(stain_lab: ArrayLike, clean_lab: ArrayLike) -> str:
    """Return how far a stain is from clean paper, as a photograph shows them."""
    apart = float(colour_difference(stain_lab, clean_lab))
    return f"ΔE2000 {apart:.1f}, from the photograph, indicative"


def contrast_told_said(told: ContrastTold) -> str:
    """Return what was read from a photograph in words."""
    return difference_said(lab_of_srgb(told.stain.rgb), lab_of_srgb(told.clean.rgb))


def contrast_written(told: ContrastTold) -> str:
    """Return a reading as it stands in the field of a form; `said` is for whoever looks at it."""
    spots = {name: [*spot.place, *spot.rgb] for name, spot in _spots(told)}
    return json.dumps(
        {"photograph": told.photograph, **spots, "said": contrast_told_said(told)},
        ensure_ascii=False,
    )


def contrast_typed(text: str) -> ContrastTold:
    """Return a reading from its field. Raises BadValue."""
    try:
        if len(text) > LONGEST_CONTRAST_TEXT:
            raise ValueError
        told = json.loads(text)
        photograph = told["photograph"]
        if not isinstance(photograph, int) or not 1 <= photograph <= LARGEST:
            raise ValueError
        return ContrastTold(photograph, _spot(told["stain"]), _spot(told["clean"]))
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError, HingebookError):
        raise BadValue.at("", "This reading means nothing.", "Read the colours again.") from None


def _spots(told: ContrastTold) -> tuple[tuple[str, SpotTold], ...]:
    return ("stain", told.stain), ("clean", told.clean)


def _spot(figures: list[float]) -> SpotTold:
    part = between(0, 1, "of the whole")
    x, y, red, green, blue = (part(float(figure)) for figure in figures)
    return SpotTold((x, y), (red, green, blue))
