"""Which findings of a work have no cause that a person confirmed, and what is suggested of each?

A finding that is gone is not asked about, nor one of which somebody said that the
cause cannot be told. A suggestion is worked out anew each time and never stored.
"""

from dataclasses import dataclass

from sqlmodel import Session

from models.actions.in_force import InForce, in_force
from models.actions.place_climates import climate_at
from models.actions.work_records import (
    WorkRecords,
    load_records,
    package_now,
    seen_facts,
    work_facts,
)
from models.errors import NotFound
from models.rules.attribution import FindingSeen, SuggestedCause, suggested_cause
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Circumstances, component_rows
from models.rules.package_facts import ClimateFacts
from models.tables.case_rows import MountRow, SightingRow
from models.tables.visible import Viewer
from models.vocabulary import GONE, Change

_CAME_OR_GREW = frozenset({Change.NEW, Change.GROWN})


@dataclass(frozen=True)
class CauseToConfirm:
    """A finding whose cause waits for a person's word, in the version that was read."""

    finding_id: int
    finding_no: int
    version: int
    cause: SuggestedCause


def causes_to_confirm(
    session: Session, viewer: Viewer, work_id: int, *, today: int
) -> tuple[CauseToConfirm, ...]:
    """Return what waits on a work. Raises NotFound."""
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    return causes_of(records, in_force(session), today=today)


def causes_of(records: WorkRecords, force: InForce, *, today: int) -> tuple[CauseToConfirm, ...]:
    """Return what waits on a work whose records are at hand, in the order of its findings."""
    climate = climate_at(force.tree, force.climates, records.work.place_id)
    found = suggested_causes(records, figures=force.figures, climate=climate, today=today)
    first = {row.finding_id: row for row in reversed(records.sightings)}
    waiting = [
        CauseToConfirm(key, first[key].finding_no, first[key].finding_version, cause)
        for key, cause in found.items()
    ]
    return tuple(sorted(waiting, key=lambda one: one.finding_no))


def suggested_causes(
    records: WorkRecords, *, figures: DefaultFigures, climate: ClimateFacts, today: int
) -> dict[int, SuggestedCause]:
    """Return the suggestion for each finding, by its number, whose cause waits for a person."""
    waiting = _waiting(records)
    if not waiting:
        return {}
    rows = component_rows(
        Circumstances(
            package=package_now(records),
            work=work_facts(records),
            climate=climate,
            seen=seen_facts(records),
            figures=figures,
            experience={},
            today=today,
        )
    )
    found = {key: suggested_cause(_seen(its), rows) for key, its in waiting.items()}
    return {key: cause for key, cause in found.items() if cause is not None}


def mount_found_in(records: WorkRecords, finding_id: int) -> int | None:
    """Return the mount that held the work when a finding was first seen; None for none.

    Of a visit that remounted the work it is the mount before.
    """
    first = next((row for row in records.sightings if row.finding_id == finding_id), None)
    if first is None:
        return None
    undone = [m for m in records.mounts if m.dismounted_visit_id == first.visit_id]
    begun = [m for m in records.mounts if _was_begun_before(m, first)]
    held = [*undone, *(m for m in reversed(begun) if not _was_over(m, first))]
    return held[0].id if held else None


def _was_begun_before(mount: MountRow, first: SightingRow) -> bool:
    begun, on = mount.mounted_first, first.on_first
    if mount.mounted_visit_id == first.visit_id:
        return False
    return begun is None or on is None or begun <= on


def _was_over(mount: MountRow, first: SightingRow) -> bool:
    over, on = mount.dismounted_first, first.on_first
    return mount.ended and (over is None or on is None or over < on)


def _waiting(records: WorkRecords) -> dict[int, list[SightingRow]]:
    by_finding: dict[int, list[SightingRow]] = {}
    for row in records.sightings:
        if row.cause_mechanism is None and row.cause_mount is None:
            by_finding.setdefault(row.finding_id, []).append(row)
    return {key: rows for key, rows in by_finding.items() if _last_change(rows) not in GONE}


def _last_change(rows: list[SightingRow]) -> Change | None:
    seen = [row.change for row in rows if row.change is not Change.NOT_SEEN]
    return seen[-1] if seen else None


def _seen(rows: list[SightingRow]) -> FindingSeen:
    first = rows[0]
    return FindingSeen(
        term=first.term,
        suggests=first.suggests_mechanism,
        side=first.side,
        edge=first.edge,
        follows_window_edge=first.follows_window_edge,
        is_new=any(row.change in _CAME_OR_GREW for row in rows),
    )
