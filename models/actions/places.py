"""Where can works be, and what climate and light hold there?

A place is written with all that is around it, and what is around it must be on
record before. What a place does not say it takes from the place around it. It
can be given another name or another place to lie in, but never within itself.
Owners see the places in which their own works have been, and no others.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.named_records import place_at
from models.actions.record_changes import (
    flush_unless_taken,
    key_of,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.errors import NotFound, RuleBroken, UnknownWord
from models.rules.near_words import near_words
from models.rules.permissions import Deed, may, require
from models.rules.place_tree import (
    BETWEEN,
    FIGURES,
    EffectivePlace,
    PlaceFigures,
    PlaceNode,
    PlaceTree,
    names_in_path,
)
from models.rules.record_values import Faults, a_name, a_note, between
from models.tables.places import Place, places
from models.tables.register import keys_of_places_of_works, works_in_places
from models.tables.visible import Viewer
from models.vocabulary import PlaceUse

LONGEST_PLACE_NAME = 200

# Lowest, highest, unit. Outside it nobody keeps paper, or a figure is in another unit.
LIMITS = {
    "temperature_c": (-30, 60, "degC"),
    "rh_percent": (0, 100, "%"),
    "lux": (0, 120_000, "lx"),
    "hours_per_day": (0, 24, "hours"),
    "days_per_year": (0, 366, "days"),
    "uv_uw_per_lm": (0, 2000, "microwatts per lumen"),
}


@dataclass(frozen=True, kw_only=True)
class PlaceTold:
    """A place as told; what it says nothing of, it takes from what is around it."""

    path: str
    use: PlaceUse | None = None
    temperature_c: float | None = None
    rh_percent: float | None = None
    lux: float | None = None
    hours_per_day: float | None = None
    days_per_year: float | None = None
    uv_uw_per_lm: float | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class PlaceOnRecord:
    """A place as it is shown: what it says itself, and what holds there."""

    id: int
    version: int
    told: PlaceTold
    effective: EffectivePlace
    said_by: Mapping[str, str | None]


def place_tree(session: Session) -> PlaceTree:
    """Return all places as a tree."""
    return PlaceTree(_node(place) for place in places(session))


def add_place(session: Session, viewer: Viewer, told: PlaceTold) -> PlaceOnRecord:
    """Add a place to what is around it.

    Raises UnknownWord when that is not on record, RuleBroken (`name_taken`).
    """
    require(viewer.role, Deed.KEEP_PLACES)
    place = Place(name="")
    write(place, _columns(place_tree(session), told))
    session.add(place)
    _flush(session, told.path)
    return _shown(place_tree(session), place)


def change_place(
    session: Session,
    viewer: Viewer,
    place_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
) -> PlaceOnRecord:
    """Give a place another name, use, climate or light, or put it into another place.

    Raises Stale, UnknownWord, RuleBroken (`name_taken`, `place_in_itself`).
    """
    require(viewer.role, Deed.KEEP_PLACES)
    place = lock(session, Place, place_id, "place")
    tree = place_tree(session)
    refuse_stale(place, based_on, theirs=_shown(tree, place))
    columns = _columns(tree, merged(place_as_told(tree, place), changes))
    parent = columns["parent_id"]
    assert parent is None or isinstance(parent, int), "a place is called by its key"
    tree.refuse_loop(place_id, parent)
    write(place, columns)
    _flush(session, place.name)
    return _shown(place_tree(session), place)


def list_places(session: Session, viewer: Viewer) -> list[PlaceOnRecord]:
    """Return the places that this person may see, each right before what is in it."""
    require(viewer.role, Deed.READ)
    tree = place_tree(session)
    seen = _keys_seen(session, viewer, tree)
    shown = [_shown(tree, place) for place in places(session) if place.id in seen]
    return sorted(shown, key=lambda place: names_in_path(place.told.path))


def read_place(session: Session, viewer: Viewer, place_id: int) -> PlaceOnRecord:
    """Return one place. Raises NotFound when it is not this person's to see."""
    require(viewer.role, Deed.READ)
    tree = place_tree(session)
    place = session.get(Place, place_id)
    if place is None or place_id not in _keys_seen(session, viewer, tree):
        raise NotFound("place", place_id)
    return _shown(tree, place)


def place_seen_at(session: Session, viewer: Viewer, tree: PlaceTree, path: str) -> int:
    """Return the key of the place at a path; what is not seen is unknown, and never near."""
    if may(viewer.role, Deed.SEE_ALL_WORKS):
        return place_at(tree, path)
    paths = {tree.path(key): key for key in _keys_seen(session, viewer, tree)}
    if path not in paths:
        raise UnknownWord("place", path, near_words(path, paths))
    return paths[path]


def keys_of_works_in(session: Session, viewer: Viewer, place_id: int) -> list[int]:
    """Return the keys of the works that are now in a place or in anything within it."""
    below = place_tree(session).below(place_id)
    return [key_of(work) for work in works_in_places(session, viewer, below)]


def place_as_told(tree: PlaceTree, place: Place) -> PlaceTold:
    """Return what is kept of a place as somebody would tell it."""
    numbers = {name: getattr(place, name) for name in LIMITS}
    return PlaceTold(path=tree.path(key_of(place)), use=place.use, note=place.note, **numbers)


def _columns(tree: PlaceTree, told: PlaceTold) -> dict[str, object]:
    faults = Faults()
    columns: dict[str, object] = {"use": told.use, "note": faults.read("/note", a_note, told.note)}
    for name, (lowest, highest, unit) in LIMITS.items():
        check = between(lowest, highest, unit)
        columns[name] = faults.read_if_given(f"/{name}", check, getattr(told, name))
    names = faults.read("/path", names_in_path, told.path)
    if names is not None:
        check_name = a_name("name of the place", LONGEST_PLACE_NAME)
        columns["name"] = faults.read("/path", check_name, names[-1])
        around = BETWEEN.join(names[:-1])
        parent = faults.read("/path", lambda path: place_at(tree, path), around) if around else None
        columns["parent_id"] = parent
    faults.refuse()
    return columns


def _flush(session: Session, path: str) -> None:
    taken = RuleBroken(f"The place {path!r} is on record already.", "name_taken")
    # One index holds the names within a place, the other the names at the top.
    flush_unless_taken(session, ("uq_place_parent_id_name", "uq_place_name_at_top"), taken)


def _shown(tree: PlaceTree, place: Place) -> PlaceOnRecord:
    effective = tree.effective(key_of(place))
    by = {n: None if key is None else tree.path(key) for n, key in effective.said_by.items()}
    return PlaceOnRecord(
        id=key_of(place),
        version=place.version,
        told=place_as_told(tree, place),
        effective=effective,
        said_by=by,
    )


def _node(place: Place) -> PlaceNode:
    says = PlaceFigures(**{name: getattr(place, name) for name in FIGURES})
    return PlaceNode(key=key_of(place), parent=place.parent_id, name=place.name, says=says)


def _keys_seen(session: Session, viewer: Viewer, tree: PlaceTree) -> set[int]:
    if may(viewer.role, Deed.SEE_ALL_WORKS):
        return {key for path in tree.paths() if (key := tree.find(path)) is not None}
    own = keys_of_places_of_works(session, viewer)
    return {around for key in own for around in tree.around(key)}
