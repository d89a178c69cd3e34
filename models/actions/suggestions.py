"""What may somebody mean who has typed a few letters?

Works first, found as the list of works finds them; when nothing begins so, the works
found under the nearest word on record, and that word is said. Then places and materials
whose names have words that begin so. Only what this person may see is ever suggested.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session

from models.actions.due import Mark, marks_of_works
from models.actions.in_force import in_force
from models.actions.places import places_seen
from models.actions.works import WorkOnRecord, WorksAsked, find_works
from models.rules.near_words import is_slip_of_the_pen
from models.rules.permissions import Deed, require
from models.rules.place_tree import PlaceTree
from models.rules.search_words import is_same_number, words_of
from models.tables.materials import materials
from models.tables.visible import Viewer

MOST_WORKS = 8
MOST_OF_OTHERS = 3


@dataclass(frozen=True)
class SuggestedWork:
    """A work, and how it stands."""

    work: WorkOnRecord
    mark: Mark | None


@dataclass(frozen=True)
class Named:
    """A place or a material, by key and name."""

    id: int
    name: str


@dataclass(frozen=True)
class Suggestions:
    """What may be meant; `instead` is the near word that found works where none began so."""

    works: tuple[SuggestedWork, ...] = ()
    are_more: bool = False
    instead: str | None = None
    places: tuple[Named, ...] = ()
    materials: tuple[Named, ...] = ()


def suggest(session: Session, viewer: Viewer, text: str, *, today: int) -> Suggestions:
    """Return what may be meant by a text of which only the beginning may be typed."""
    require(viewer.role, Deed.READ)
    words = words_of(text)
    if not words:
        return Suggestions()
    tree = in_force(session).tree
    asked = WorksAsked(q=text, limit=MOST_WORKS, asks_for_near=len(words) == 1)
    found = find_works(session, viewer, asked, tree=tree)
    instead = None
    slips = [word for word in found.near if is_slip_of_the_pen(text, word)]
    if not found.works and slips:
        instead = slips[0]
        found = find_works(session, viewer, replace(asked, q=instead), tree=tree)
    marks = marks_of_works(session, viewer, [work.id for work in found.works], today=today)
    # The number as it was typed comes before those that only begin so.
    works = sorted(found.works, key=lambda work: not is_same_number(work.told.number, text))
    return Suggestions(
        works=tuple(SuggestedWork(work, marks.get(work.id)) for work in works),
        are_more=found.next_after is not None,
        instead=instead if found.works else None,
        places=_places(session, viewer, words, tree),
        materials=_beginning_so(words, [(m.id or 0, m.name) for m in materials(session)]),
    )


def _places(
    session: Session, viewer: Viewer, words: Sequence[str], tree: PlaceTree
) -> tuple[Named, ...]:
    # Which places an owner sees takes a look at all their works: only where one could be meant.
    if not _beginning_so(words, [(0, path) for path in tree.paths()]):
        return ()
    return _beginning_so(words, places_seen(session, viewer, tree))


def _beginning_so(words: Sequence[str], named: Sequence[tuple[int, str]]) -> tuple[Named, ...]:
    meant = [
        Named(key, name)
        for key, name in named
        if all(any(one.startswith(word) for one in words_of(name)) for word in words)
    ]
    return tuple(meant[:MOST_OF_OTHERS])
