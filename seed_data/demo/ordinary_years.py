"""What happened in the ordinary years: arrivals, plain visits, walk-rounds, checks of boxes?

Read from the CSV files beside this: nothing was found in them that needs telling.
"""

from models.rules.visit_as_told import DismountTold, VisitTold
from models.vocabulary import FreedBy, Shown, VisitKind
from seed_data.demo.builds import BUILDS, as_found, build_as_told
from seed_data.demo.deeds import Came, Visited, Walked
from seed_data.demo.register import read_works, rows


def arrivals() -> list[Came]:
    """Return what came, day by day and place by place."""
    together: dict[tuple[str, str], list[str]] = {}
    for work in read_works():
        together.setdefault((work.came, work.place), []).append(work.told.number)
    return [
        Came(on=on, place=place, numbers=tuple(numbers))
        for (on, place), numbers in together.items()
    ]


def plain_visits() -> list[Visited]:
    """Return the visits of `visits.csv`."""
    return [Visited(number=row["number"], told=_visit(row)) for row in rows("visits.csv")]


def rounds() -> list[Walked]:
    """Return the walk-rounds and box checks of `walks.csv`."""
    return [
        Walked(
            on=row["on"],
            place=row["place"],
            kind=VisitKind(row["kind"]),
            by=row["by"],
            note=row["note"],
        )
        for row in rows("walks.csv")
    ]


def _visit(row: dict[str, str]) -> VisitTold:
    found, mount = row["found"], row["mount"]
    return VisitTold(
        on=row["on"],
        kind=VisitKind(row["kind"]),
        by=row["by"],
        minutes=int(row["minutes"]),
        seen=frozenset(Shown(place) for place in row["seen"].split("; ")) if row["seen"] else None,
        found=as_found(BUILDS[found], row["mounted_on"] or None) if found else None,
        dismount=_dismount(row) if row["freed_by"] else None,
        mount=build_as_told(mount) if mount else None,
        summary=row["summary"],
    )


def _dismount(row: dict[str, str]) -> DismountTold:
    return DismountTold(
        freed_by=FreedBy(row["freed_by"]),
        residue=row["residue"],
        harm=row["harm"],
        reason="remat",
    )
