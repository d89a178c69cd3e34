"""How does a place come on record, and how is it changed?

What is around a place must be on record before it. A place can be given another
name or another place to lie in, but never within itself. Its climate and light
change what is to be expected of every work in it, so those are forecast anew.
"""

from collections.abc import Mapping

from sqlmodel import Session

from models.actions.named_records import place_at
from models.actions.places import (
    PlaceOnRecord,
    PlaceTold,
    keys_of_works_ever_in,
    place_as_told,
    place_shown,
    place_tree,
)
from models.actions.record_changes import (
    flush_unless_taken,
    lock,
    merged,
    refuse_stale,
    write,
)
from models.actions.renewal import refresh_or_mark
from models.errors import BadValue, RuleBroken
from models.rules.near_words import plain_name
from models.rules.permissions import Deed, require
from models.rules.place_tree import BETWEEN, PlaceTree, names_in_path
from models.rules.record_values import Faults, a_note, between, on_one_line
from models.tables.places import Place
from models.tables.visible import Viewer

LONGEST_PLACE_NAME = 200

# Lowest, highest, unit. Outside it nobody keeps paper, or a figure is in another unit.
LIMITS = {
    "temperature_c": (-30, 60, "°C"),
    "rh_percent": (0, 100, "%"),
    "lux": (0, 120_000, "lx"),
    "hours_per_day": (0, 24, "hours"),
    "days_per_year": (0, 366, "days"),
    "uv_uw_per_lm": (0, 2000, "microwatts per lumen"),
}


def add_place(session: Session, viewer: Viewer, told: PlaceTold) -> PlaceOnRecord:
    """Add a place to what is around it.

    Raises UnknownWord when that is not on record, RuleBroken (`name_taken`).
    """
    require(viewer.role, Deed.KEEP_PLACES)
    place = Place(name="")
    write(place, _columns(place_tree(session), told))
    _refuse_twin(place_tree(session), place)
    session.add(place)
    _flush(session, told.path)
    return place_shown(place_tree(session), place)


def change_place(
    session: Session,
    viewer: Viewer,
    place_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> PlaceOnRecord:
    """Give a place another name, use, climate or light, or put it into another place.

    Raises Stale, UnknownWord, RuleBroken (`name_taken`, `place_in_itself`).
    """
    require(viewer.role, Deed.KEEP_PLACES)
    place = lock(session, Place, place_id, "place")
    tree = place_tree(session)
    refuse_stale(place, based_on, theirs=place_shown(tree, place))
    columns = _columns(tree, merged(place_as_told(tree, place), changes))
    parent = columns["parent_id"]
    assert parent is None or isinstance(parent, int), "a place is called by its key"
    tree.refuse_loop(place_id, parent)
    write(place, columns)
    _refuse_twin(tree, place)
    _flush(session, place.name)
    works = keys_of_works_ever_in(session, viewer, place_id)
    refresh_or_mark(session, works, today=today)
    return place_shown(place_tree(session), place)


def _columns(tree: PlaceTree, told: PlaceTold) -> dict[str, object]:
    faults = Faults()
    columns: dict[str, object] = {"use": told.use, "note": faults.read("/note", a_note, told.note)}
    for name, (lowest, highest, unit) in LIMITS.items():
        check = between(lowest, highest, unit)
        columns[name] = faults.read_if_given(f"/{name}", check, getattr(told, name))
    names = faults.read("/path", names_in_path, told.path)
    if names is not None:
        columns["name"] = faults.read("/path", _a_place_name, names[-1])
        around = BETWEEN.join(names[:-1])
        parent = faults.read("/path", lambda path: place_at(tree, path), around) if around else None
        columns["parent_id"] = parent
    faults.refuse()
    return columns


def _a_place_name(given: str) -> str:
    """Return the name of one place. A stroke without blanks was meant to part two."""
    name = on_one_line("name of the place", LONGEST_PLACE_NAME)(given)
    if BETWEEN.strip() in name:
        message = f"{name!r} is the name of one place; a stroke with blanks parts two."
        parts = (part.strip() for part in name.split(BETWEEN.strip()))
        right = f"Write {BETWEEN.join(filter(None, parts))}."
        raise BadValue.at("", message, right)
    return name


def _refuse_twin(tree: PlaceTree, place: Place) -> None:
    """Raise RuleBroken when capitals and blanks alone tell this place from one beside it."""
    for key, name in tree.names_within(place.parent_id):
        if key != place.id and plain_name(name) == plain_name(place.name):
            raise _taken(tree.path(key))


def _taken(path: str) -> RuleBroken:
    return RuleBroken(f"The place {path!r} is on record already.", "name_taken")


def _flush(session: Session, path: str) -> None:
    # One index holds the names within a place, the other the names at the top.
    flush_unless_taken(session, ("uq_place_parent_id_name", "uq_place_name_at_top"), _taken(path))
