"""How do the findings of a work stand on its page?

Each with its place on the sheet and all its sightings, oldest first. Where both
a stain and clean paper were measured, their difference is said (CIEDE2000).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from api.pages.dates_said import date_said
from api.template_filters import mm
from models.actions.work_records import WorkRecords
from models.risk.colour_difference import colour_difference
from models.tables.case_rows import MountRow, SightingRow
from models.tables.visit_notes import COLOUR, VisitNoteRow
from models.vocabulary import GONE, CauseMount, Change

CLEAN_PAPER = "clean paper"
STAIN = "stain"


@dataclass(frozen=True)
class SightingShown:
    """What a finding was seen to be at one visit."""

    visit_id: int
    on: str
    change: str
    severity: str
    reach: str
    extent: str
    note: str
    colours: tuple[str, ...]


@dataclass(frozen=True)
class FindingShown:
    """One damage, followed from visit to visit."""

    id: int
    no: int
    term: str
    where: str
    cause: str
    is_still_there: bool
    caution: str
    last: SightingShown
    sightings: tuple[SightingShown, ...]


def findings_shown(records: WorkRecords, notes: Iterable[VisitNoteRow]) -> tuple[FindingShown, ...]:
    """Return the findings of a work in the order of their numbers."""
    colours = colours_by_sighting(notes)
    by_finding: dict[int, list[SightingRow]] = {}
    for row in records.sightings:
        by_finding.setdefault(row.finding_id, []).append(row)
    found = [_finding(rows, colours, records.current_mount) for rows in by_finding.values()]
    return tuple(sorted(found, key=lambda finding: finding.no))


def colours_by_sighting(notes: Iterable[VisitNoteRow]) -> dict[int, list[VisitNoteRow]]:
    """Return the colour readings of each sighting."""
    found: dict[int, list[VisitNoteRow]] = {}
    for note in notes:
        if note.kind == COLOUR and note.sighting_id is not None:
            found.setdefault(note.sighting_id, []).append(note)
    return found


def where_said(row: SightingRow) -> str:
    """Return where on the sheet a finding is: "recto, left edge, 12 mm in"."""
    said: list[str] = [row.side]
    if row.edge is not None:
        said.append("all edges" if row.edge == "all" else f"{row.edge} edge")
    if row.first_reach_um is not None:
        said.append(f"{mm(row.first_reach_um)} mm in")
    if row.region_left_um is not None:
        said.append(f"{mm(row.region_left_um)} mm from the left, {mm(row.region_top_um)} from top")
    if row.follows_window_edge:
        said.append("follows the window's edge")
    return ", ".join(said)


def sighting_shown(row: SightingRow, readings: Sequence[VisitNoteRow] = ()) -> SightingShown:
    """Return one sighting in words."""
    return SightingShown(
        visit_id=row.visit_id,
        on=date_said(row.on_edtf),
        change=row.change,
        severity=row.severity or "",
        reach="" if row.reach_um is None else f"{mm(row.reach_um)} mm",
        extent="" if row.extent_percent is None else f"{row.extent_percent:g} %",
        note=row.note,
        colours=_colours_said(readings),
    )


def _finding(
    rows: Sequence[SightingRow],
    colours: Mapping[int, Sequence[VisitNoteRow]],
    mount: MountRow | None,
) -> FindingShown:
    # What nobody saw this time is as it was.
    seen = [row for row in rows if row.change is not Change.NOT_SEEN] or rows
    last = seen[-1]
    shown = {row.id: sighting_shown(row, colours.get(row.id, ())) for row in rows}
    return FindingShown(
        id=last.finding_id,
        no=last.finding_no,
        term=last.term,
        where=where_said(last),
        cause=_cause_said(last, mount),
        is_still_there=last.change not in GONE,
        caution=last.caution,
        last=shown[last.id],
        sightings=tuple(shown.values()),
    )


_WHOSE: dict[CauseMount | None, str] = {
    CauseMount.THIS: ", this mount",
    CauseMount.EARLIER: ", an earlier mount",
}


def _cause_said(row: SightingRow, mount: MountRow | None) -> str:
    """Return what it was put down to; whose mount it was, as seen from the mount of today."""
    if row.cause_mechanism is None:
        return ""
    of = row.cause_mount
    if of == CauseMount.THIS and (mount is None or row.cause_mount_id != mount.id):
        of = CauseMount.EARLIER
    return f"{row.cause_mechanism}{_WHOSE.get(of, '')}"


def _colours_said(readings: Sequence[VisitNoteRow]) -> tuple[str, ...]:
    clean = next((_lab(r) for r in readings if r.what == CLEAN_PAPER), None)
    return tuple(
        _colour_said(reading, None if reading.what == CLEAN_PAPER else clean)
        for reading in readings
    )


def _colour_said(reading: VisitNoteRow, clean: tuple[float, float, float] | None) -> str:
    lightness, a, b = _lab(reading)
    said = f"{reading.what}: L* {lightness:g}, a* {a:g}, b* {b:g}"
    if clean is None:
        return said
    difference = float(colour_difference((lightness, a, b), clean))
    return f"{said}; ΔE2000 to the {CLEAN_PAPER} {difference:.1f}"


def _lab(reading: VisitNoteRow) -> tuple[float, float, float]:
    return reading.lab_l or 0.0, reading.lab_a or 0.0, reading.lab_b or 0.0
