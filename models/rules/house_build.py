"""How is a usual build of the house kept, so that it reads back as it was told?

As JSON text in the words of a mount as told. Only what differs from saying
nothing is written, so that a later edition of this program can add to the words.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict, fields
from enum import StrEnum
from typing import Any, TypeVar

from models.errors import BadValue
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold
from models.vocabulary import Answer, Distance, KnownBy, LayerRole, LayerSide

_Told = TypeVar("_Told", LayerTold, HoldTold, MountTold)
_WORDS: Mapping[str, type[StrEnum]] = {
    "role": LayerRole,
    "side": LayerSide,
    "distance": Distance,
    "known_by": KnownBy,
    "in_front": Answer,
    "behind": Answer,
    "held": Answer,
}


def build_text(build: MountTold) -> str:
    """Return the build as JSON text. Raises BadValue for what belongs to one mount alone."""
    if build.package is not None or build.mounted_on or build.dismounted_on or build.inferred:
        raise BadValue("A house package names no other package, no dates and no traces of its own.")
    if any(layer.windows for layer in build.layers):
        raise BadValue("A house package has no windows of its own: they are cut for one work.")
    if build.house_package is not None:
        raise BadValue("A usual build is told layer by layer, not by another usual build.")
    if not build.layers and not build.holds:
        raise BadValue("A usual build has at least one layer or one hold.")
    kept = _kept(asdict(build), build)
    kept["layers"] = [_kept(asdict(layer), layer) for layer in build.layers]
    kept["holds"] = [_kept(asdict(hold), hold) for hold in build.holds]
    return json.dumps(kept, ensure_ascii=False, sort_keys=True)


def read_build(text: str) -> MountTold:
    """Return the build that `build_text` wrote."""
    kept: dict[str, Any] = json.loads(text)
    layers = tuple(LayerTold(**_in_words(layer)) for layer in kept.pop("layers"))
    holds = tuple(HoldTold(**_in_words(hold)) for hold in kept.pop("holds"))
    return MountTold(layers=layers, holds=holds, **_in_words(kept))


def _kept(values: dict[str, Any], told: _Told) -> dict[str, Any]:
    defaults = {field.name: field.default for field in fields(told)}
    return {name: value for name, value in values.items() if value != defaults[name]}


def _in_words(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: _WORDS[name](value) if name in _WORDS and value is not None else value
        for name, value in values.items()
    }
