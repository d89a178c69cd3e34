"""What of the library answers to kind, grade, lot and words together, and what would otherwise?

Each choice is counted with everything else that is asked left as it is, so that nobody
chooses into the void; where nothing answers, it is said what to give up.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from sqlmodel import Session

from models.actions.materials import (
    NOT_KNOWN,
    LotState,
    MaterialOnRecord,
    MaterialsAsked,
    is_asked,
    page_of_library,
    whole_library,
)
from models.tables.visible import Viewer

# What may be given up, in the order in which it is asked.
ASKED_BY = ("q", "kind", "grade", "lot")
_NOT_ASKED = MaterialsAsked()


@dataclass(frozen=True, kw_only=True)
class NarrowedLibrary:
    """A page of what answers, by name; how many do, of how many; and each choice counted.

    `without` says how many there would be if one thing asked for were given up, by its name.
    """

    materials: tuple[MaterialOnRecord, ...]
    goes_on_after: str | None
    count: int
    of_all: int
    kinds: Mapping[str, int]
    grades: Mapping[str, int]
    lots: Mapping[str, int]
    without: Mapping[str, int]


def narrowed_library(session: Session, viewer: Viewer, asked: MaterialsAsked) -> NarrowedLibrary:
    """Return what of the library answers to all that is asked. Four statements."""
    whole = whole_library(session, viewer)
    found = [one for one in whole if is_asked(one, asked)]
    shown, on = page_of_library(found, asked)
    given_up = {name: _without(asked, name) for name in ASKED_BY if _asks(asked, name)}
    return NarrowedLibrary(
        materials=tuple(shown),
        goes_on_after=on,
        count=len(found),
        of_all=len(whole),
        kinds=_counts(whole, _without(asked, "kind"), lambda one: (one.told.kind,)),
        grades=_counts(whole, _without(asked, "grade"), lambda one: one.grades),
        lots=_counts(whole, _without(asked, "lot"), lambda one: (one.lot_state,), LotState),
        without={
            name: sum(is_asked(one, rest) for one in whole) for name, rest in given_up.items()
        },
    )


def _asks(asked: MaterialsAsked, name: str) -> bool:
    return bool(getattr(asked, name))


def _without(asked: MaterialsAsked, name: str) -> MaterialsAsked:
    return replace(asked, **{name: getattr(_NOT_ASKED, name)})


def _counts(
    whole: Iterable[MaterialOnRecord],
    asked: MaterialsAsked,
    choices_of: Callable[[MaterialOnRecord], tuple[str, ...]],
    always: Iterable[str] = (),
) -> dict[str, int]:
    """Return each choice there is, in its order, with how many answer to it; none is left out."""
    library = list(whole)
    there = {choice for one in library for choice in choices_of(one)}
    # In words first, by the alphabet; that nobody knows stands last.
    order = [*always] or sorted(there, key=lambda choice: (choice == NOT_KNOWN, choice))
    counted = Counter(
        choice for one in library if is_asked(one, asked) for choice in choices_of(one)
    )
    return {choice: counted[choice] for choice in order}
