"""Where in the tree is a place, and what does it take from the places around it?

A house holds rooms, a room walls and cabinets, a cabinet boxes. Use, climate and
light are said once, where they hold, and go down the tree figure by figure; what
nobody said is a default of this project. Each figure can be asked who said it.
A place is written with all that is around it: "House / Stair / North wall".
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields

from models.errors import BadValue, NotFound, RuleBroken
from models.vocabulary import PlaceUse

BETWEEN = " / "


@dataclass(frozen=True, kw_only=True)
class PlaceFigures:
    """What a place says of itself; None where it says nothing. UV in microwatts per lumen."""

    use: PlaceUse | None = None
    temperature_c: float | None = None
    rh_percent: float | None = None
    lux: float | None = None
    hours_per_day: float | None = None
    days_per_year: float | None = None
    uv_uw_per_lm: float | None = None


FIGURES = tuple(field.name for field in fields(PlaceFigures))
NUMBERS = tuple(name for name in FIGURES if name != "use")


@dataclass(frozen=True, kw_only=True)
class PlaceNode:
    """One place of the tree."""

    key: int
    parent: int | None
    name: str
    says: PlaceFigures = PlaceFigures()


@dataclass(frozen=True, kw_only=True)
class EffectivePlace:
    """What holds in a place. `said_by` names the place that said a figure; None: a default."""

    use: PlaceUse
    temperature_c: float
    rh_percent: float
    lux: float
    hours_per_day: float
    days_per_year: float
    uv_uw_per_lm: float
    said_by: Mapping[str, int | None]


# Defaults of this project where nobody says otherwise: a lived-in room, lit for eight hours a day.
DEFAULTS = EffectivePlace(
    use=PlaceUse.DISPLAY,
    temperature_c=20.0,
    rh_percent=50.0,
    lux=50.0,
    hours_per_day=8.0,
    days_per_year=365.0,
    uv_uw_per_lm=10.0,
    said_by=dict.fromkeys(FIGURES),
)


def names_in_path(path: str) -> tuple[str, ...]:
    """Return the names of a path from the outermost in. Raises BadValue for an empty one."""
    names = tuple(name.strip() for name in f" {path} ".split(BETWEEN))
    if not all(names):
        raise BadValue(f"{path!r} is not a place; write House{BETWEEN}Stair{BETWEEN}North wall.")
    return names


class PlaceTree:
    """All places, found by key or by path."""

    def __init__(self, places: Iterable[PlaceNode]) -> None:
        self._places = {place.key: place for place in places}
        self._within: dict[int | None, list[PlaceNode]] = {}
        for place in self._places.values():
            self._within.setdefault(place.parent, []).append(place)
        self._keys = {self.path(key): key for key in self._places}

    def find(self, path: str) -> int | None:
        """Return the key of the place written so, None when there is none."""
        return self._keys.get(BETWEEN.join(names_in_path(path)))

    def path(self, key: int) -> str:
        """Return the place with all that is around it, outermost first."""
        return BETWEEN.join(reversed([place.name for place in self._outward(key)]))

    def paths(self) -> tuple[str, ...]:
        """Return every path, sorted: a place stands right before what is in it."""
        return tuple(sorted(self._keys, key=names_in_path))

    def names_within(self, parent: int | None) -> tuple[tuple[int, str], ...]:
        """Return key and name of the places right in a place; of the outermost for None."""
        return tuple((place.key, place.name) for place in self._within.get(parent, ()))

    def below(self, key: int) -> tuple[int, ...]:
        """Return the place and everything in it, outermost first."""
        found = [key]
        for outer in found:
            found.extend(place.key for place in self._within.get(outer, ()))
        return tuple(found)

    def around(self, key: int) -> tuple[int, ...]:
        """Return the place and everything it lies in, innermost first."""
        return tuple(place.key for place in self._outward(key))

    def effective(self, key: int | None) -> EffectivePlace:
        """Return what holds in a place; the defaults for a work whose place nobody knows."""
        outward = list(self._outward(key))
        use, use_by = DEFAULTS.use, None
        numbers: dict[str, float] = {name: getattr(DEFAULTS, name) for name in NUMBERS}
        said_by: dict[str, int | None] = dict.fromkeys(NUMBERS)
        # From the outermost in, so that the nearest has the last word.
        for place in reversed(outward):
            if place.says.use is not None:
                use, use_by = place.says.use, place.key
            said = {n: getattr(place.says, n) for n in NUMBERS}
            for name in (n for n, figure in said.items() if figure is not None):
                numbers[name], said_by[name] = said[name], place.key
        return EffectivePlace(use=use, said_by={"use": use_by, **said_by}, **numbers)

    def refuse_loop(self, key: int, parent: int | None) -> None:
        """Raise RuleBroken when a place would come to lie within itself."""
        if parent is not None and parent in self.below(key):
            raise RuleBroken(
                f"{self.path(key)} cannot be put into {self.path(parent)}: that lies within it.",
                "place_in_itself",
            )

    def _outward(self, key: int | None) -> Iterator[PlaceNode]:
        while key is not None:
            if key not in self._places:
                raise NotFound("place", key)
            yield self._places[key]
            key = self._places[key].parent
