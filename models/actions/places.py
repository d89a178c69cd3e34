"""Where can works be, and what climate and light hold there?

A place is written with all that is around it. What it does not say it takes
from the place around it. Owners see the places in which their own works have
been, and no others. How places are added and changed stands in `place_changes`.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.named_records import place_at
from models.actions.record_changes import (
    key_of,
)
from models.errors import NotFound, UnknownWord
from models.rules.near_words import near_words
from models.rules.permissions import Deed, may, require
from models.rules.place_tree import (
    NUMBERS,
    EffectivePlace,
    PlaceFigures,
    PlaceNode,
    PlaceTree,
    names_in_path,
)
from models.tables.places import Place, PlaceRow, place_rows, places
from models.tables.register import keys_of_places_of_works, works_that_were_in
from models.tables.visible import Viewer
from models.vocabulary import PlaceUse


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
    return PlaceTree(_node(place) for place in place_rows(session))


def list_places(
    session: Session, viewer: Viewer, *, tree: PlaceTree | None = None
) -> list[PlaceOnRecord]:
    """Return the places that this person may see, each right before what is in it.

    `tree` are the places, where somebody has asked for them already.
    """
    require(viewer.role, Deed.READ)
    tree = tree or place_tree(session)
    seen = _keys_seen(session, viewer, tree)
    shown = [place_shown(tree, place) for place in places(session) if place.id in seen]
    return sorted(shown, key=lambda place: names_in_path(place.told.path))


def places_seen(session: Session, viewer: Viewer, tree: PlaceTree) -> list[tuple[int, str]]:
    """Return key and path of the places that this person may see, each before what is in it."""
    require(viewer.role, Deed.READ)
    seen = _keys_seen(session, viewer, tree)
    return [(key, path) for path in tree.paths() if (key := tree.find(path)) in seen]


def place_paths(session: Session, viewer: Viewer) -> tuple[str, ...]:
    """Return the paths of the places that this person may see, each before what is in it."""
    return tuple(path for _, path in places_seen(session, viewer, place_tree(session)))


def read_place(
    session: Session, viewer: Viewer, place_id: int, *, tree: PlaceTree | None = None
) -> PlaceOnRecord:
    """Return one place. Raises NotFound when it is not this person's to see.

    `tree` are the places, where somebody has asked for them already.
    """
    require(viewer.role, Deed.READ)
    tree = tree or place_tree(session)
    place = session.get(Place, place_id)
    if place is None or place_id not in _keys_seen(session, viewer, tree):
        raise NotFound("place", place_id)
    return place_shown(tree, place)


def place_seen_at(session: Session, viewer: Viewer, tree: PlaceTree, path: str) -> int:
    """Return the key of the place at a path; what is not seen is unknown, and never near."""
    if may(viewer.role, Deed.SEE_ALL_WORKS):
        return place_at(tree, path)
    paths = {tree.path(key): key for key in _keys_seen(session, viewer, tree)}
    if path not in paths:
        raise UnknownWord("place", path, near_words(path, paths))
    return paths[path]


def keys_of_works_ever_in(session: Session, viewer: Viewer, place_id: int) -> list[int]:
    """Return the keys of the works that are or were in a place or in anything within it.

    A work that has left takes with it what its clocks ran there, and what light it had.
    """
    below = place_tree(session).below(place_id)
    works = works_that_were_in(session, viewer, below, first_day=None, last_day=None)
    return [key_of(work) for work in works]


def place_as_told(tree: PlaceTree, place: Place) -> PlaceTold:
    """Return what is kept of a place as somebody would tell it."""
    numbers = {name: getattr(place, name) for name in NUMBERS}
    return PlaceTold(path=tree.path(key_of(place)), use=place.use, note=place.note, **numbers)


def place_shown(tree: PlaceTree, place: Place) -> PlaceOnRecord:
    """Return a place as it is shown."""
    effective = tree.effective(key_of(place))
    by = {n: None if key is None else tree.path(key) for n, key in effective.said_by.items()}
    return PlaceOnRecord(
        id=key_of(place),
        version=place.version,
        told=place_as_told(tree, place),
        effective=effective,
        said_by=by,
    )


def _node(place: PlaceRow) -> PlaceNode:
    says = PlaceFigures(
        use=place.use,
        temperature_c=place.temperature_c,
        rh_percent=place.rh_percent,
        lux=place.lux,
        hours_per_day=place.hours_per_day,
        days_per_year=place.days_per_year,
        uv_uw_per_lm=place.uv_uw_per_lm,
    )
    return PlaceNode(key=place.id, parent=place.parent_id, name=place.name, says=says)


def _keys_seen(session: Session, viewer: Viewer, tree: PlaceTree) -> set[int]:
    if may(viewer.role, Deed.SEE_ALL_WORKS):
        return {key for path in tree.paths() if (key := tree.find(path)) is not None}
    own = keys_of_places_of_works(session, viewer)
    return {around for key in own for around in tree.around(key)}
