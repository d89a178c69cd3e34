"""What does each mount of a work, past or present, say of the grades in it?

Of every mechanism and grade at every place: how far its clock had run, by the
default figure, when the place was last seen within that mount, and whether it was
clear. A harm that a person put down to this mount ends what the mount says: new or
grown, the worst layer of that mechanism at that place did it; found at an age that
nobody knows, it counts only where the place was clear before in this mount, or
where the finding follows this mount's window edge or hinge. Harm of another mount
counts as clear here.

From the day on which a finding was first seen whose cause nobody has confirmed, or
of which nobody can tell the mount, the place says nothing more: it is neither clear
nor harmed. A mount of an assumed date, and a place never seen while the mount
lasted, say nothing at all. A layer speaks until it was taken out. A damp clock runs
anew each time its place was seen: what it ran up from look to look adds up.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from models.actions.forecasts import case_of
from models.actions.in_force import InForce
from models.actions.work_records import (
    WorkRecords,
    layers_during,
    package_of,
    places_seen_at,
    seen_facts,
)
from models.risk.damp import FOXING_FROM_PERCENT
from models.risk.experience import MountSeen
from models.risk.hazard import summed_hazard
from models.rules.attribution import suspected_mechanism
from models.rules.finding_place import where_it_shows
from models.rules.package_components import (
    Circumstances,
    ComponentRow,
    as_arrays,
    component_rows,
)
from models.rules.package_facts import Key, PackageFacts
from models.rules.work_forecast import WorkCase
from models.tables.base import FIRST_DAY
from models.tables.case_rows import LayerRow, MountRow, SightingRow, VisitRow
from models.vocabulary import CauseMount, Change, Found, Mechanism, Shown

# Mechanisms whose clock runs in damp air and back in dry.
_DAMP = frozenset({Mechanism.MOULD, Mechanism.FOXING})
# What a sighting says was not there, or not so far, the time before.
_NEW_OR_GROWN = frozenset({Change.NEW, Change.GROWN})


@dataclass(frozen=True, slots=True)
class Witness:
    """What one mount says of one mechanism and grade at one place."""

    work_id: int
    mount_id: int
    place: Shown
    seen: MountSeen


@dataclass(frozen=True)
class _Ending:
    """The day from which a mount says no more of a mechanism at a place, and the harm, if any."""

    day: int
    harm: Found | None = None


@dataclass(frozen=True)
class _Row:
    """A row of the package and its hazard since the work was mounted in it."""

    row: ComponentRow
    hazard: float


_RowsAt = Callable[[int], Sequence[_Row]]
_Endings = Mapping[tuple[Mechanism, Shown], _Ending]


def witnesses(records: WorkRecords, force: InForce) -> list[Witness]:
    """Return what every mount of a work says, by the default figures in force."""
    case = case_of(records, force, today=records.work.recorded_on or 0)
    return [
        Witness(records.work.id, mount.id, place, seen)
        for mount in records.mounts
        if mount.mounted_first is not None and not mount.mounted_assumed
        for place, seen in _of_mount(records, case, mount, mount.mounted_first)
    ]


def _of_mount(
    records: WorkRecords, case: WorkCase, mount: MountRow, begun: int
) -> list[tuple[Shown, MountSeen]]:
    visits = _visits_during(records, mount, begun)
    seen = {place: _days_of(visits, place) for place in Shown}
    endings = _endings(records, mount, begun, seen)
    ends, is_damp = _days_taken_out(records, mount), _is_ever_damp(case)

    @cache
    def rows_at(day: int) -> Sequence[_Row]:
        return _rows_at(records, case, mount, begun, day)

    said: list[tuple[Shown, MountSeen]] = []
    for place, days in seen.items():
        ended = {mechanism: e for (mechanism, at), e in endings.items() if at is place}
        others = frozenset(Mechanism) - _DAMP - ended.keys()
        said += [(place, one) for one in _said(rows_at, place, _checks(days, ends), others)]
        for mechanism in ended.keys() | (_DAMP if is_damp else frozenset()):
            ending = ended.get(mechanism)
            until = _days_until(days, ending)
            speak = _added_up if mechanism in _DAMP else _said
            checks = until if mechanism in _DAMP else _checks(until, ends)
            only = frozenset({mechanism})
            said += [(place, one) for one in speak(rows_at, place, checks, only, ending)]
    # A clock that never ran says nothing.
    return [(place, one) for place, one in said if one.hazard > 0 or one.found is not Found.CLEAR]


def _days_until(days: Sequence[int], ending: _Ending | None) -> list[int]:
    if ending is None:
        return list(days)
    return [day for day in days if day < ending.day] + [ending.day] * bool(ending.harm)


def _is_ever_damp(case: WorkCase) -> bool:
    places = (case.climate, *(climate for _, climate in case.past))
    return any(one.record is not None or one.rh_percent >= FOXING_FROM_PERCENT for one in places)


def _visits_during(records: WorkRecords, mount: MountRow, begun: int) -> list[VisitRow]:
    """Return the visits that certainly saw this mount, later than its first day."""
    return [
        visit
        for visit in records.visits
        if visit.on_first is not None
        and visit.on_first > begun
        and visit.id != mount.mounted_visit_id
        and _is_before_its_end(visit, mount)
    ]


def _is_before_its_end(visit: VisitRow, mount: MountRow) -> bool:
    if not mount.ended or visit.id == mount.dismounted_visit_id:
        return True
    over, on = mount.dismounted_first, visit.on_first
    return over is not None and on is not None and on <= over


def _days_of(visits: Iterable[VisitRow], place: Shown) -> list[int]:
    return sorted(
        {v.on_first for v in visits if v.on_first is not None and place in places_seen_at(v)}
    )


def _days_taken_out(records: WorkRecords, mount: MountRow) -> list[int]:
    layers = records.layers[mount.package_id]
    return sorted({layer.removed_last for layer in layers if layer.removed_last is not None})


def _checks(days: Sequence[int], ends: Iterable[int]) -> list[int]:
    """Return the days that count: the last of all, and the last before a layer was taken out."""
    upto = [[day for day in days if day <= end] for end in ends]
    return sorted({its[-1] for its in [*upto, list(days)] if its})


def _said(
    rows_at: _RowsAt,
    place: Shown,
    checks: Iterable[int],
    mechanisms: frozenset[Mechanism],
    ending: _Ending | None = None,
) -> list[MountSeen]:
    """Return what is said of these mechanisms at a place: each grade by its worst layer."""
    said: dict[tuple[Mechanism, str, Key], MountSeen] = {}
    for day in checks:
        rows = [r for r in rows_at(day) if r.row.shown is place and r.row.mechanism in mechanisms]
        still_there = {(r.row.mechanism, r.row.grade, r.row.key) for r in rows}
        said = {which: seen for which, seen in said.items() if which not in still_there}
        # The last of a grade is the worst.
        worst = {
            (r.row.mechanism, r.row.grade): r for r in sorted(rows, key=lambda one: one.hazard)
        }
        did_it = max(rows, key=lambda one: one.hazard, default=None)
        for (mechanism, grade), one in worst.items():
            found = Found.CLEAR
            if ending is not None and ending.harm and day == ending.day and one is did_it:
                found = ending.harm
            said[mechanism, grade, one.row.key] = MountSeen(mechanism, grade, one.hazard, found)
    return list(said.values())


def _added_up(
    rows_at: _RowsAt,
    place: Shown,
    days: Iterable[int],
    mechanisms: frozenset[Mechanism],
    ending: _Ending | None = None,
) -> list[MountSeen]:
    """Return what is said by damp clocks, which run anew each time their place was seen."""
    by_grade: dict[str, MountSeen] = {}
    for day in days:
        for one in _said(rows_at, place, [day], mechanisms, ending):
            before = by_grade.get(one.grade)
            hazard = one.hazard + (0.0 if before is None else before.hazard)
            by_grade[one.grade] = replace(one, hazard=hazard)
    return list(by_grade.values())


def _rows_at(
    records: WorkRecords, case: WorkCase, mount: MountRow, begun: int, day: int
) -> Sequence[_Row]:
    rows = _components(records, case, _package_at(records, mount, day), day)
    before: dict[tuple[Mechanism, str, Key], float] = {}
    if any(_is_older(row, begun) for row, _ in rows):
        # An adhesive that stayed when only the tab was renewed was seen in the mount before.
        at_mounting = _components(records, case, _package_at(records, mount, begun), begun)
        before = {_which(row): h for row, h in at_mounting if _is_older(row, begun)}
    return [_Row(row, hazard - before.get(_which(row), 0.0)) for row, hazard in rows]


def _which(row: ComponentRow) -> tuple[Mechanism, str, Key]:
    return row.mechanism, row.grade, row.key


def _is_older(row: ComponentRow, begun: int) -> bool:
    return row.begun_day < begun and row.mechanism not in _DAMP


def _components(
    records: WorkRecords, case: WorkCase, package: PackageFacts, day: int
) -> list[tuple[ComponentRow, float]]:
    """Return the rows of a package as they stood on a day, each with its hazard so far.

    A damp clock has only what it ran since its place was last seen.
    """
    rows = component_rows(
        Circumstances(
            package=package,
            work=case.work,
            # The place where the work was then, and those before it.
            climate=next((climate for last, climate in case.past if last >= day), case.climate),
            past=tuple((last, climate) for last, climate in case.past if last < day),
            seen=seen_facts(_until(records, day)),
            figures=case.figures,
            experience={},
            today=day,
        )
    )
    found = as_arrays([rows])
    hazard = summed_hazard(found, found.clock_now)
    # What a damp clock ran up before its place was last seen was seen then.
    is_damp = np.array([row.mechanism in _DAMP for row in rows], dtype=np.bool_)
    since = np.maximum(hazard - np.where(is_damp, found.hazard_seen, 0.0), 0.0)
    return list(zip(rows, since.tolist(), strict=True))


def _until(records: WorkRecords, day: int) -> WorkRecords:
    """Return the records as they were before a day: a damp clock runs since its place was seen."""
    return replace(
        records,
        visits=tuple(v for v in records.visits if (v.on_first or 0) < day),
        sightings=tuple(s for s in records.sightings if (s.on_first or 0) < day),
    )


def _package_at(records: WorkRecords, mount: MountRow, day: int) -> PackageFacts:
    """Return the package as it was just before what was done on a day."""
    layers = layers_during(mount, records.layers[mount.package_id])
    return package_of(
        mount,
        [layer for layer in layers if _was_there(layer, mount, day)],
        records.holds[mount.id],
        tests=records.tests,
    )


def _was_there(layer: LayerRow, mount: MountRow, day: int) -> bool:
    fitted, begun = layer.fitted_first, mount.mounted_first
    if fitted is not None and begun is not None and fitted > begun and fitted >= day:
        return False
    return not layer.ended or (layer.removed_last is not None and layer.removed_last >= day)


def _endings(
    records: WorkRecords, mount: MountRow, begun: int, seen: Mapping[Shown, Sequence[int]]
) -> _Endings:
    by_finding: dict[int, list[SightingRow]] = {}
    for row in records.sightings:
        if row.change is not Change.NOT_SEEN:
            by_finding.setdefault(row.finding_id, []).append(row)
    endings: dict[tuple[Mechanism, Shown], _Ending] = {}
    for rows in by_finding.values():
        first, follows = rows[0], rows[0].follows_window_edge
        mechanism = first.cause_mechanism or suspected_mechanism(
            first.term, first.suggests_mechanism, follows_window_edge=follows
        )
        if mechanism is None:
            continue
        place = where_it_shows(first.side, mechanism, follows_window_edge=follows)
        ending = _ending(rows, mount, begun, seen[place])
        if ending is not None:
            earlier = endings.get((mechanism, place), ending)
            # Of two on one day the one that somebody confirmed counts.
            both = (ending, earlier)
            endings[mechanism, place] = min(both, key=lambda e: (e.day, e.harm is None))
    return endings


def _ending(
    rows: Sequence[SightingRow], mount: MountRow, begun: int, seen: Sequence[int]
) -> _Ending | None:
    """Return what a finding, told by its sightings, ends in this mount; None for nothing."""
    first = rows[0]
    is_confirmed = first.cause_mechanism is not None
    of = first.cause_mount_id if is_confirmed else None
    if is_confirmed and (
        of not in (None, mount.id) or (of is None and first.cause_mount is CauseMount.EARLIER)
    ):
        return None
    on = FIRST_DAY if first.on_first is None else first.on_first
    if of == mount.id and first.cause_mount is not CauseMount.CANNOT_TELL:
        return _harm(rows, mount, begun, seen, on)
    # What was there when the work was mounted is older; only its growth is not clear.
    days = [r.on_first for r in rows if r.change is Change.GROWN and (r.on_first or 0) > begun]
    unclear = [on] if first.on_first is None or on > begun else [d for d in days if d is not None]
    return _Ending(min(unclear)) if unclear else None


def _harm(
    rows: Sequence[SightingRow], mount: MountRow, begun: int, seen: Sequence[int], on: int
) -> _Ending:
    first = rows[0]
    if on <= begun:
        return _Ending(on)
    last = on if mount.dismounted_first is None else min(on, mount.dismounted_first)
    if first.change is Change.NEW or any(day < on for day in seen):
        return _Ending(last, Found.HARMED)
    if first.follows_window_edge or first.cause_mechanism is Mechanism.ADHESIVE_AGEING:
        return _Ending(last, Found.HARMED_AT_UNKNOWN_AGE)
    grown = [r.on_first for r in rows if r.change in _NEW_OR_GROWN and r.on_first is not None]
    return _Ending(min(grown), Found.HARMED) if grown else _Ending(on)
