"""How do the visits and the mounts of a work stand on a page?

A visit tells what was seen, what was found, what came off and what was made. A
mount tells its layers while it lasted, its holds, how each came off and what that
left behind.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from api.pages.dates_said import date_said, span_said
from api.pages.findings_shown import (
    SightingShown,
    colours_by_sighting,
    sighting_shown,
    where_said,
)
from api.pages.package_shown import hold_said
from models.actions.work_records import WorkRecords, layers_during, places_seen_at
from models.rules.mat_windows import read_windows, windows_said
from models.tables.case_rows import HoldRow, LayerRow, MountRow, VisitRow
from models.tables.visit_notes import INSCRIPTION, TREATMENT, VisitNoteRow
from models.vocabulary import FreedBy, LayerRole, Outcome

UNKNOWN_HAND = "an unknown hand"
# So many visits stand in full on the page of a work.
SHOWN_IN_FULL = 5


@dataclass(frozen=True)
class SeenFindingShown:
    """A sighting with the finding it is of."""

    no: int
    term: str
    where: str
    sighting: SightingShown


@dataclass(frozen=True)
class VisitShown:
    """One visit; `deeds` says what was changed, each in a sentence."""

    id: int
    no: int
    on: str
    kind: str
    by: str
    reason: str
    minutes: int | None
    seen: tuple[str, ...]
    stop_why: str
    stop_left: str
    summary: str
    closed_as_it_was: bool
    to_write_up: bool
    findings: tuple[SeenFindingShown, ...]
    tests: tuple[str, ...]
    deeds: tuple[str, ...]
    inscriptions: tuple[str, ...]
    treatments: tuple[str, ...]


@dataclass(frozen=True)
class EarlierVisit:
    """A visit in a line: what was found is counted."""

    id: int
    on: str
    kind: str
    by: str
    summary: str
    findings: int
    to_write_up: bool


@dataclass(frozen=True)
class MountShown:
    """One mount the work has or had; holds with how they came off."""

    no: int
    method: str
    lasted: str
    made_by: str
    undone_by: str
    reason: str
    dismount_reason: str
    harm: str
    is_current: bool
    inferred: bool
    layers: tuple[str, ...]
    holds: tuple[str, ...]
    note: str


def newest_visits(records: WorkRecords, notes: Sequence[VisitNoteRow]) -> tuple[VisitShown, ...]:
    """Return the newest visits in full, newest first."""
    newest = records.visits[-SHOWN_IN_FULL:]
    return tuple(visit_shown(row, records, notes) for row in reversed(newest))


def earlier_visits(records: WorkRecords) -> tuple[EarlierVisit, ...]:
    """Return the visits before the newest, newest first, each in a line."""
    found = Counter(row.visit_id for row in records.sightings)
    return tuple(
        EarlierVisit(
            id=row.id,
            on=date_said(row.on_edtf),
            kind=row.kind,
            by=UNKNOWN_HAND if row.by_unknown_hand else row.by or "",
            summary=row.summary,
            findings=found[row.id],
            to_write_up=row.to_write_up,
        )
        for row in reversed(records.visits[:-SHOWN_IN_FULL])
    )


def visit_of(typed: str, records: WorkRecords, notes: Sequence[VisitNoteRow]) -> VisitShown | None:
    """Return the visit of this work that an address names; None when there is none."""
    row = next((visit for visit in records.visits if str(visit.id) == typed), None)
    return None if row is None else visit_shown(row, records, notes)


def visit_shown(row: VisitRow, records: WorkRecords, notes: Sequence[VisitNoteRow]) -> VisitShown:
    """Return one visit in words."""
    own = [note for note in notes if note.visit_id == row.id]
    return VisitShown(
        id=row.id,
        no=row.visit_no,
        on=date_said(row.on_edtf),
        kind=row.kind,
        by=UNKNOWN_HAND if row.by_unknown_hand else row.by or "",
        reason=row.reason,
        minutes=row.minutes,
        seen=places_seen_at(row),
        stop_why=row.stop_why or "",
        stop_left=row.stop_left or "",
        summary=row.summary,
        closed_as_it_was=row.closed_as_it_was,
        to_write_up=row.to_write_up,
        findings=_findings(row, records, own),
        tests=_tests(row, records),
        deeds=_deeds(row, records),
        inscriptions=tuple(_inscription(n) for n in own if n.kind == INSCRIPTION),
        treatments=tuple(_treatment(n) for n in own if n.kind == TREATMENT),
    )


def mounts_shown(records: WorkRecords) -> tuple[MountShown, ...]:
    """Return all mounts, newest first."""
    return tuple(_mount(mount, records) for mount in reversed(records.mounts))


def layer_said(row: LayerRow) -> str:
    """Return a layer in words: "window mat: cotton rag mat board, lot L-118, 2 windows"."""
    what = row.material or row.grade or row.figures_grade or ""
    lot = f"lot {row.lot}" if row.lot else ""
    windows = windows_said(read_windows(row.windows))
    said = ", ".join(part for part in (what, lot, windows) if part)
    return f"{row.role}: {said}" if said else f"{row.role}"


def hold_in_words(row: HoldRow) -> str:
    """Return what holds: the material or grade, how many and where."""
    return f"{row.material or row.grade} ({hold_said(row)})"


def _findings(
    row: VisitRow, records: WorkRecords, notes: Iterable[VisitNoteRow]
) -> tuple[SeenFindingShown, ...]:
    colours = colours_by_sighting(notes)
    return tuple(
        SeenFindingShown(
            s.finding_no, s.term, where_said(s), sighting_shown(s, colours.get(s.id, ()))
        )
        for s in records.sightings
        if s.visit_id == row.id
    )


def _tests(row: VisitRow, records: WorkRecords) -> tuple[str, ...]:
    layers = {layer.id: layer for its in records.layers.values() for layer in its}
    return tuple(
        f"{layers[layer_id].role if layer_id in layers else 'layer'}: {test.test} {test.result}"
        for layer_id, tests in records.tests.items()
        for test in tests
        if test.visit_id == row.id
    )


def _deeds(row: VisitRow, records: WorkRecords) -> tuple[str, ...]:
    """Return what was changed at a visit, in the order of the bench."""
    mounts = records.mounts
    off = [_dismounted(m, row, records) for m in mounts if m.dismounted_visit_id == row.id]
    tried = [
        f"Tried and left: {hold_in_words(hold)}."
        for mount in mounts
        if mount.dismounted_visit_id != row.id
        for hold in records.holds[mount.id]
        if hold.outcome_visit_id == row.id
    ]
    made = [m for m in mounts if m.mounted_visit_id == row.id]
    new = {m.package_id for m in made}
    layers = [
        layer
        for package, its in records.layers.items()
        if package not in new
        for layer in its
        if layer.role is not LayerRole.WORK
    ]
    out = [_taken_out(layer) for layer in layers if layer.removed_visit_id == row.id]
    put_in = [f"Put in {layer_said(layer)}." for layer in layers if layer.fitted_visit_id == row.id]
    left = [f"Left on the work: {r.what}." for r in records.remains if r.left_visit_id == row.id]
    gone = [f"Taken off: {r.what}." for r in records.remains if r.removed_visit_id == row.id]
    found = [_found(m, records) for m in mounts if m.found_visit_id == row.id]
    on = [said for mount in made for said in _mounted(mount, records)]
    return (*found, *tried, *off, *left, *gone, *out, *put_in, *on)


def _found(mount: MountRow, records: WorkRecords) -> str:
    layers = "; ".join(_layers_at_first(mount, records)) or "nothing recorded"
    how = "Inferred from its traces" if mount.inferred else "Found"
    return f"{how}: {_how_held(mount, records)}. In its package: {layers}."


def _mounted(mount: MountRow, records: WorkRecords) -> tuple[str, ...]:
    """Return that it was mounted, and by how much its package is another than the one before."""
    said = f"Mounted: {_how_held(mount, records)}."
    now = _layers_at_first(mount, records)
    earlier = next((m for m in records.mounts if m.mount_no == mount.mount_no - 1), None)
    if earlier is None:
        return (said, *(f"Put in {layer}." for layer in now))
    before = [layer_said(row) for row in _layers_of(earlier, records) if not row.ended]
    out, put_in = Counter(before) - Counter(now), Counter(now) - Counter(before)
    return (
        *(f"Taken out {layer}." for layer in out.elements()),
        *(f"Put in {layer}." for layer in put_in.elements()),
        said,
    )


def _layers_at_first(mount: MountRow, records: WorkRecords) -> list[str]:
    """Return the layers with which a mount began."""
    return [
        layer_said(row)
        for row in _layers_of(mount, records)
        if row.fitted_visit_id in (None, mount.mounted_visit_id)
    ]


def _layers_of(mount: MountRow, records: WorkRecords) -> list[LayerRow]:
    """Return the layers round the work while a mount lasted."""
    rows = layers_during(mount, records.layers[mount.package_id])
    return [row for row in rows if row.role is not LayerRole.WORK]


def _how_held(mount: MountRow, records: WorkRecords) -> str:
    holds = ", ".join(hold_in_words(hold) for hold in records.holds[mount.id])
    method = f"{mount.method or 'nobody said how'} (mount {mount.mount_no})"
    return f"{method}, held by {holds}" if holds else method


def _dismounted(mount: MountRow, visit: VisitRow, records: WorkRecords) -> str:
    why = mount.dismount_reason
    # What was answered before water stands there too; why the visit was made is said with it.
    said = f" {why[:1].upper()}{why[1:]}." if why and why != visit.reason else ""
    holds = "; ".join(_came_off(hold) for hold in records.holds[mount.id] if hold.outcome)
    harm = f" Harm: {mount.harm_at_dismount}." if mount.harm_at_dismount else ""
    return f"Taken out of mount {mount.mount_no}{': ' if holds else ''}{holds}.{harm}{said}"


def _came_off(hold: HoldRow) -> str:
    says_itself = (hold.outcome, hold.freed_by) == (Outcome.CUT_AND_STUB_LEFT, FreedBy.CUT)
    by = f" by {hold.freed_by}" if hold.freed_by and not says_itself else ""
    residue = f", leaving {hold.residue}" if hold.residue else ""
    return f"{hold_in_words(hold)} {hold.outcome}{by}{residue}"


def _taken_out(layer: LayerRow) -> str:
    kept = f", {layer.kept}" if layer.kept else ""
    condition = f" ({layer.condition})" if layer.condition else ""
    return f"Taken out {layer_said(layer)}{condition}{kept}."


def _inscription(note: VisitNoteRow) -> str:
    kept = f" ({note.kept})" if note.kept else ""
    return f"{note.what}: {note.text}{kept}"


def _treatment(note: VisitNoteRow) -> str:
    by = f" by {note.by}" if note.by else ""
    with_what = f", with {note.materials}" if note.materials else ""
    said = f": {note.text}" if note.text else ""
    return f"{note.what}{by}{with_what}{said}"


def _mount(mount: MountRow, records: WorkRecords) -> MountShown:
    return MountShown(
        no=mount.mount_no,
        method=mount.method or "nobody said how",
        lasted=span_said(mount.mounted_edtf, mount.dismounted_edtf, ended=mount.ended),
        made_by=UNKNOWN_HAND if mount.by_unknown_hand else mount.mounted_by or "",
        undone_by=mount.dismounted_by or "",
        reason=mount.reason,
        dismount_reason=mount.dismount_reason,
        harm=mount.harm_at_dismount,
        is_current=not mount.ended,
        inferred=mount.inferred,
        layers=tuple(_layer_with_days(row) for row in _layers_of(mount, records)),
        holds=tuple(
            _came_off(h) if h.outcome else hold_in_words(h) for h in records.holds[mount.id]
        ),
        note=mount.note,
    )


def _layer_with_days(row: LayerRow) -> str:
    if not row.ended:
        return layer_said(row)
    return f"{layer_said(row)}, taken out {date_said(row.removed_edtf)}".rstrip()
