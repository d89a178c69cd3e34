"""Which findings of a work have no cause that a person confirmed, and what is suggested of each?

A finding that is gone is not asked about, nor one of which somebody said that the
cause cannot be told. A suggestion is worked out anew each time and never stored.
"""

from models.actions.work_records import WorkRecords, package_now, seen_facts, work_facts
from models.rules.attribution import FindingSeen, SuggestedCause, suggested_cause
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Circumstances, component_rows
from models.rules.package_facts import ClimateFacts
from models.tables.case_rows import SightingRow
from models.vocabulary import Change

_GONE = frozenset({Change.NO_LONGER_VISIBLE, Change.TREATED})
_CAME_OR_GREW = frozenset({Change.NEW, Change.GROWN})


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


def _waiting(records: WorkRecords) -> dict[int, list[SightingRow]]:
    by_finding: dict[int, list[SightingRow]] = {}
    for row in records.sightings:
        if row.cause_mechanism is None and row.cause_mount is None:
            by_finding.setdefault(row.finding_id, []).append(row)
    return {key: rows for key, rows in by_finding.items() if _last_change(rows) not in _GONE}


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
