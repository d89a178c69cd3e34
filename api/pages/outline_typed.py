"""What did the drawing desk write into a form?

The script beside a photograph writes what was drawn as JSON into one field; it means what
`models/rules/visit_as_told.py` calls an outline.
"""

import json

from api.pages.path_ids import LARGEST
from models.errors import BadValue
from models.rules.visit_as_told import OutlineTold
from models.vocabulary import OutlineShape

LONGEST_OUTLINE_TEXT = 40_000


def outline_typed(text: str) -> OutlineTold:
    """Return an outline from the JSON that the script writes. Raises BadValue."""
    try:
        if len(text) > LONGEST_OUTLINE_TEXT:
            raise ValueError
        told = json.loads(text)
        return OutlineTold(
            shape=OutlineShape(told["shape"]),
            photograph=_key(told.get("photograph")),
            points=tuple((float(left), float(top)) for left, top in told.get("points", ())),
            on_photograph=told.get("on_photograph") is True,
            from_mm=_figure(told.get("from_mm")),
            to_mm=_figure(told.get("to_mm")),
        )
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError, RecursionError):
        raise BadValue.at("", "This drawing cannot be read.", "Draw it again.") from None


def _key(given: object) -> int | None:
    if given is None:
        return None
    if isinstance(given, int) and 1 <= given <= LARGEST:
        return given
    raise ValueError(given)


def _figure(given: object) -> float | None:
    return None if given is None else float(str(given))
