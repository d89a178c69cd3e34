"""What happened in the ordinary years: arrivals, plain visits, walk-rounds, checks of boxes?

Read from the CSV files beside this. What they found stands in `findings.csv`: on the
day of a visit to a work it was seen at that visit, otherwise on the walk-round of that day.
"""

from collections.abc import Iterable
from functools import cache

from models.rules.visit_as_told import (
    CauseTold,
    DismountTold,
    ReachTold,
    RegionTold,
    SightingTold,
    VisitTold,
)
from models.vocabulary import (
    CauseMount,
    Change,
    Edge,
    FreedBy,
    Mechanism,
    Severity,
    Shown,
    Side,
    VisitKind,
)
from seed_data.demo.builds import BUILDS, as_found, build_as_told
from seed_data.demo.deeds import Came, NotAsBefore, Visited, Walked
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
            except_for=_not_as_before(row["on"]),
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
        sightings=_seen_on(row["on"], row["number"]),
        summary=row["summary"],
    )


def _not_as_before(on: str) -> dict[str, NotAsBefore]:
    """Return what the walk-round of a day found; no two places are walked on one day."""
    visited = {row["number"] for row in rows("visits.csv") if row["on"] == on}
    found = [number for day, number in _findings() if day == on and number not in visited]
    return {number: _noticed(_seen_on(on, number)) for number in found}


def _noticed(sightings: tuple[SightingTold, ...]) -> NotAsBefore:
    said = [" ".join(filter(None, (one.term, one.note))) for one in sightings]
    return NotAsBefore(summary="; ".join(said).capitalize() + ".", sightings=sightings)


def _seen_on(on: str, number: str) -> tuple[SightingTold, ...]:
    return tuple(_findings().get((on, number), ()))


@cache
def _findings() -> dict[tuple[str, str], list[SightingTold]]:
    """Return the sightings of `findings.csv` by day and work."""
    found: dict[tuple[str, str], list[SightingTold]] = {}
    for row in rows("findings.csv"):
        found.setdefault((row["on"], row["number"]), []).append(_sighting(row))
    return found


def _sighting(row: dict[str, str]) -> SightingTold:
    return SightingTold(
        change=Change(row["change"]),
        finding=int(row["finding"]) if row["finding"] else None,
        term=row["term"] or None,
        side=Side(row["side"]),
        reach=_reach(row["where"]),
        region=_region(row["where"]),
        severity=Severity(row["severity"]) if row["severity"] else None,
        cause=CauseTold(Mechanism(row["cause"]), CauseMount.THIS) if row["cause"] else None,
        note=row["note"],
    )


def _reach(where: str) -> ReachTold | None:
    """Return a band from `top 25`, or `window all 4` where it follows the window's edge."""
    match where.split():
        case ["window", edge, mm]:
            return ReachTold(Edge(edge), float(mm), follows_window_edge=True)
        case [edge, mm]:
            return ReachTold(Edge(edge), float(mm))
    return None


def _region(where: str) -> RegionTold | None:
    """Return a rectangle from `left top width height`, in mm."""
    figures: Iterable[float] = map(float, where.split()) if where[:1].isdigit() else ()
    sides = tuple(figures)
    return RegionTold(*sides) if sides else None


def _dismount(row: dict[str, str]) -> DismountTold:
    return DismountTold(
        freed_by=FreedBy(row["freed_by"]),
        residue=row["residue"],
        harm=row["harm"],
        reason="remat",
    )
