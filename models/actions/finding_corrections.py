"""How is a finding or a sighting put right, and how is a note at the bench taken back?

The old value stays in the change log; nothing is deleted. A finding that never
was is withdrawn with all its sightings.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

from sqlmodel import Session, col, select

from models.actions.named_records import finding_term_named
from models.actions.record_changes import merged, refuse_stale, withdraw, write
from models.actions.renewal import refresh_or_mark
from models.actions.suggested_causes import mount_found_in
from models.actions.work_records import load_records
from models.errors import BadValue, NotFound, RuleBroken
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, a_note, between, offset_um, size_mm
from models.tables.findings import Finding, Sighting
from models.tables.register import get_work_to_change
from models.tables.terms import FindingTerm
from models.tables.visible import Viewer, visible_works
from models.tables.visits import Inscription, LayerTest, Treatment, Visit
from models.tables.works import Work
from models.vocabulary import CauseMount, Change, Edge, Mechanism, Severity, Side

_Note = TypeVar("_Note", LayerTest, Inscription, Treatment)


@dataclass(frozen=True, kw_only=True)
class FindingValues:
    """What of a finding can be put right; sizes in millimetres."""

    term: str
    side: Side = Side.RECTO
    edge: Edge | None = None
    mm: float | None = None
    follows_window_edge: bool = False
    cause_mechanism: Mechanism | None = None
    cause_mount: CauseMount | None = None
    cause_mount_id: int | None = None


@dataclass(frozen=True, kw_only=True)
class SightingValues:
    """What of a sighting can be put right; extent in percent of the sheet, reach in mm."""

    change: Change
    severity: Severity | None = None
    extent_percent: float | None = None
    mm: float | None = None
    note: str = ""


def correct_finding(
    session: Session,
    viewer: Viewer,
    finding_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a finding right and return its new version; a merge patch of FindingValues.

    Raises NotFound, NotAllowed, Stale, BadValue, UnknownWord, RuleBroken.
    """
    require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
    finding = _finding(session, viewer, finding_id)
    values = _finding_values(session, finding)
    refuse_stale(finding, based_on, theirs=values)
    wanted = merged(values, changes)
    faults = Faults()
    term = faults.read("/term", lambda name: finding_term_named(session, name), wanted.term)
    reach = faults.read_if_given("/mm", offset_um, wanted.mm)
    faults.refuse()
    assert term is not None, "a fault was refused"
    if (wanted.edge is None) is not (wanted.mm is None):
        raise RuleBroken("A reach is an edge and how many mm in: both, or neither.", "half_a_reach")
    write(
        finding,
        {
            "term_id": term.id,
            "side": wanted.side,
            "edge": wanted.edge,
            "reach_um": reach,
            "follows_window_edge": wanted.follows_window_edge,
            "cause_mechanism": wanted.cause_mechanism,
            "cause_mount": wanted.cause_mount,
            "cause_mount_id": wanted.cause_mount_id,
        },
    )
    session.flush()
    refresh_or_mark(session, [finding.work_id], today=today)
    return finding.version


def confirm_cause(
    session: Session,
    viewer: Viewer,
    finding_id: int,
    *,
    mechanism: Mechanism | None,
    mount: CauseMount,
    based_on: int,
    today: int,
) -> int:
    """Say what caused a finding and whose mount, and return its new version.

    No mechanism and *cannot tell*: somebody looked, and it cannot be told. What was
    confirmed already is put right by a keeper alone. Raises NotFound, NotAllowed,
    Stale, BadValue.
    """
    based = {finding_id: based_on}
    return confirm_causes(session, viewer, based, mechanism=mechanism, mount=mount, today=today)[
        finding_id
    ]


def confirm_causes(
    session: Session,
    viewer: Viewer,
    based_on: Mapping[int, int],
    *,
    mechanism: Mechanism | None,
    mount: CauseMount,
    today: int,
) -> dict[int, int]:
    """Say the same of several findings, given with their versions; return the new ones.

    Raises as `confirm_cause` does, and then nothing of it may be kept.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    if mechanism is None and mount is not CauseMount.CANNOT_TELL:
        message = "Without a cause nobody can say whose mount it was."
        raise BadValue.at("/mechanism", message, "Name the cause, or say that it cannot be told.")
    findings = [_finding(session, viewer, finding_id) for finding_id in based_on]
    for finding, version in zip(findings, based_on.values(), strict=True):
        if finding.cause_mount is not None:
            require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
        refuse_stale(finding, version, theirs=_finding_values(session, finding))
    works = sorted({finding.work_id for finding in findings})
    records = load_records(session, viewer, works)
    for finding_id, finding in zip(based_on, findings, strict=True):
        is_this = mount is CauseMount.THIS
        held = mount_found_in(records[finding.work_id], finding_id) if is_this else None
        write(
            finding,
            {"cause_mechanism": mechanism, "cause_mount": mount, "cause_mount_id": held},
        )
    session.flush()
    refresh_or_mark(session, works, today=today)
    return {key: finding.version for key, finding in zip(based_on, findings, strict=True)}


def correct_sighting(
    session: Session,
    viewer: Viewer,
    sighting_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a sighting right and return its new version; a merge patch of SightingValues.

    Raises NotFound, NotAllowed, Stale, BadValue.
    """
    require(viewer.role, Deed.CORRECT_CLOSED_VISIT)
    sighting, work_id = _sighting(session, viewer, sighting_id)
    values = SightingValues(
        change=sighting.change,
        severity=sighting.severity,
        extent_percent=sighting.extent_percent,
        mm=size_mm(sighting.reach_um),
        note=sighting.note,
    )
    refuse_stale(sighting, based_on, theirs=values)
    wanted = merged(values, changes)
    faults = Faults()
    faults.read_if_given("/extent_percent", between(0, 100, "%"), wanted.extent_percent)
    reach = faults.read_if_given("/mm", offset_um, wanted.mm)
    faults.read("/note", a_note, wanted.note)
    faults.refuse()
    write(
        sighting,
        {
            "change": wanted.change,
            "severity": wanted.severity,
            "extent_percent": wanted.extent_percent,
            "reach_um": reach,
            "note": wanted.note,
        },
    )
    session.flush()
    refresh_or_mark(session, [work_id], today=today)
    return sighting.version


def withdraw_finding(
    session: Session, viewer: Viewer, finding_id: int, reason: str, *, today: int
) -> None:
    """Take back a finding that never was, with its sightings."""
    require(viewer.role, Deed.WITHDRAW)
    finding = _finding(session, viewer, finding_id)
    withdraw(finding, reason)
    for sighting in session.exec(select(Sighting).where(Sighting.finding_id == finding_id)):
        sighting.withdrawn_reason = sighting.withdrawn_reason or reason
    session.flush()
    refresh_or_mark(session, [finding.work_id], today=today)


def withdraw_sighting(
    session: Session, viewer: Viewer, sighting_id: int, reason: str, *, today: int
) -> None:
    """Take back what was seen of a finding at one visit."""
    require(viewer.role, Deed.WITHDRAW)
    sighting, work_id = _sighting(session, viewer, sighting_id)
    withdraw(sighting, reason)
    session.flush()
    refresh_or_mark(session, [work_id], today=today)


def withdraw_note(
    session: Session,
    viewer: Viewer,
    table: type[_Note],
    note_id: int,
    reason: str,
    *,
    today: int,
) -> None:
    """Take back a bench test, an inscription or a treatment that never was."""
    require(viewer.role, Deed.WITHDRAW)
    found = select(table, Visit.work_id).join(Visit, col(Visit.id) == table.visit_id)
    found = found.join(Work, col(Work.id) == Visit.work_id)
    row = session.exec(found.where(visible_works(viewer), table.id == note_id)).first()
    if row is None:
        raise NotFound(str(table.__tablename__).replace("_", " "), note_id)
    note, work_id = row
    get_work_to_change(session, viewer, work_id)
    withdraw(note, reason)
    session.flush()
    refresh_or_mark(session, [work_id], today=today)


def _finding(session: Session, viewer: Viewer, finding_id: int) -> Finding:
    found = select(Finding).join(Work, col(Work.id) == Finding.work_id)
    finding = session.exec(found.where(visible_works(viewer), Finding.id == finding_id)).first()
    if finding is None:
        raise NotFound("finding", finding_id)
    get_work_to_change(session, viewer, finding.work_id)
    session.refresh(finding, with_for_update=True)
    if finding.withdrawn_reason is not None:
        raise RuleBroken("This finding was withdrawn; record it anew.", "already_withdrawn")
    return finding


def _sighting(session: Session, viewer: Viewer, sighting_id: int) -> tuple[Sighting, int]:
    found = select(Sighting, Finding.work_id).join(Finding)
    found = found.join(Work, col(Work.id) == Finding.work_id)
    row = session.exec(found.where(visible_works(viewer), Sighting.id == sighting_id)).first()
    if row is None:
        raise NotFound("sighting", sighting_id)
    sighting, work_id = row
    get_work_to_change(session, viewer, work_id)
    session.refresh(sighting, with_for_update=True)
    if sighting.withdrawn_reason is not None:
        raise RuleBroken("This sighting was withdrawn; record it anew.", "already_withdrawn")
    return sighting, work_id


def _finding_values(session: Session, finding: Finding) -> FindingValues:
    return FindingValues(
        term=session.get_one(FindingTerm, finding.term_id).term,
        side=finding.side,
        edge=finding.edge,
        mm=size_mm(finding.reach_um),
        follows_window_edge=finding.follows_window_edge,
        cause_mechanism=finding.cause_mechanism,
        cause_mount=finding.cause_mount,
        cause_mount_id=finding.cause_mount_id,
    )
