"""What was seen of each finding at a visit, and is it the same stain as before?

A finding keeps its number from visit to visit. What a later sighting does not
say is carried forward from the one before it, so that nothing is typed twice.
What is put down to *this* mount is put down to the mount that held the work when
the visit began; of a finding known before, to the mount that it was found in.
"""

from collections.abc import Mapping, Sequence

from models.actions.bench import Bench
from models.actions.finding_outlines import Sighted, outline_of
from models.actions.photograph_contrasts import keep_contrast
from models.actions.record_changes import key_of, write
from models.actions.suggested_causes import mount_found_in
from models.errors import BadValue, Contradiction, Fault, NotFound, RuleBroken
from models.rules.attribution import suspected_mechanism
from models.rules.permissions import Deed, require
from models.rules.record_values import Faults, between, offset_um
from models.rules.visit_as_told import (
    CauseTold,
    ContrastTold,
    OutlineTold,
    ReachTold,
    RegionTold,
    SightingTold,
)
from models.tables.case_rows import SightingRow
from models.tables.findings import ColourReading, Finding, Sighting
from models.tables.terms import FindingTerm
from models.vocabulary import (
    MICROMETRES_PER_MM,
    CauseMount,
    Change,
    Edge,
    Mechanism,
    OutlineShape,
    Side,
    VisitKind,
)

# Where the next sighting is as strong as the last when it says nothing of its own.
_AS_STRONG = frozenset({Change.UNCHANGED, Change.GROWN})
_AT = "/report/sightings"


def record_sightings(
    bench: Bench, told: Sequence[SightingTold], term_ids: Sequence[int | None]
) -> None:
    """Add the sightings of a visit, and the findings that are new.

    Raises RuleBroken for a finding of another work, or one that is told twice.
    """
    mount_id = None if bench.mount is None else key_of(bench.mount)
    last = _last_sightings(bench)
    seen: set[int] = set()
    for index, (sighting, term_id) in enumerate(zip(told, term_ids, strict=True)):
        at = f"{_AT}/{index}"
        _refuse_off_the_sheet(bench, sighting, at)
        _refuse_unseen(bench, sighting, last.get(sighting.finding or 0), at)
        if sighting.finding is None:
            finding_id = key_of(_new_finding(bench, sighting, term_id, mount_id, at))
        else:
            finding_id = _known_finding(sighting.finding, last)
            _confirm(bench, finding_id, sighting.cause, at)
        if finding_id in seen:
            raise RuleBroken(
                f"Finding {finding_id} is told twice in one visit; tell it once.", "told_twice"
            )
        seen.add(finding_id)
        _add_sighting(bench, sighting, finding_id, last.get(finding_id), at)


def _refuse_unseen(bench: Bench, told: SightingTold, before: SightingRow | None, at: str) -> None:
    """Raise for what this visit cannot have seen, or saw before it was first there."""
    side = told.side if before is None else before.side
    is_seen = told.change is not Change.NOT_SEEN
    if side is Side.VERSO and is_seen and bench.visit.kind is not VisitKind.UNFRAMING:
        raise Contradiction(
            f"{at}/side",
            f"A {bench.visit.kind} cannot see the verso.",
            "Record an unframing, or leave it out.",
            "cannot_be_seen",
        )
    first = next((row for row in bench.records.sightings if row.finding_id == told.finding), None)
    on = bench.on.last_day
    if first is not None and first.on_first is not None and on is not None and on < first.on_first:
        raise RuleBroken(
            f"Finding {told.finding} was first seen later than this visit; tell it as a new one"
            " of its time, or put that visit right.",
            "before_it_was_found",
        )


def _last_sightings(bench: Bench) -> Mapping[int, SightingRow]:
    """Return the last sighting of each finding of this work; rows come oldest first."""
    return {row.finding_id: row for row in bench.records.sightings}


def _known_finding(finding_id: int, last: Mapping[int, SightingRow]) -> int:
    if finding_id not in last:
        raise RuleBroken(
            f"Finding {finding_id} is not a finding of this work; give one of its own, or null"
            " for a new one.",
            "finding_of_another_work",
        )
    return finding_id


def _new_finding(
    bench: Bench, told: SightingTold, term_id: int | None, mount_id: int | None, at: str
) -> Finding:
    assert term_id is not None, "a new finding without a term was refused"
    cause = told.cause
    is_of_this = cause is not None and cause.mount is CauseMount.THIS
    finding = Finding(
        work_id=bench.work_id,
        finding_no=bench.next_finding_no(),
        term_id=term_id,
        side=told.side,
        cause_mount=None if cause is None else cause.mount,
        cause_mount_id=mount_id if is_of_this else None,
    )
    if told.reach is not None:
        finding.edge, finding.reach_um = told.reach.edge, offset_um(told.reach.mm)
        finding.follows_window_edge = told.reach.follows_window_edge
    if cause is not None:
        finding.cause_mechanism = _mechanism(bench, finding, cause, at)
    if told.region is not None:
        finding.region_left_um = offset_um(told.region.left_mm)
        finding.region_top_um = offset_um(told.region.top_mm)
        finding.region_width_um = offset_um(told.region.width_mm)
        finding.region_height_um = offset_um(told.region.height_mm)
    bench.session.add(finding)
    bench.session.flush()
    return finding


def _confirm(bench: Bench, finding_id: int, cause: CauseTold | None, at: str) -> None:
    """Keep what a person says caused a finding; what was confirmed before a keeper alone changes.

    Raises NotAllowed, and BadValue where no cause is usual and none was named.
    """
    if cause is None:
        return
    finding = bench.session.get_one(Finding, finding_id)
    mechanism = _mechanism(bench, finding, cause, at)
    if (finding.cause_mechanism, finding.cause_mount) == (mechanism, cause.mount):
        return
    if finding.cause_mount is not None:
        require(bench.viewer.role, Deed.CORRECT_CLOSED_VISIT)
    is_of_this = cause.mount is CauseMount.THIS
    write(
        finding,
        {
            "cause_mechanism": mechanism,
            "cause_mount": cause.mount,
            "cause_mount_id": mount_found_in(bench.records, finding_id) if is_of_this else None,
        },
    )


def _mechanism(bench: Bench, finding: Finding, cause: CauseTold, at: str) -> Mechanism | None:
    """Return the cause that was named, or with one tap on the mount the usual one of the word."""
    if cause.mechanism is not None or cause.mount is CauseMount.CANNOT_TELL:
        return cause.mechanism
    term = bench.session.get_one(FindingTerm, finding.term_id)
    usual = suspected_mechanism(
        term.term, term.suggests_mechanism, follows_window_edge=finding.follows_window_edge
    )
    if usual is None:
        message = f"No cause is usual for {term.term}; whose mount it was says too little."
        raise BadValue.at(
            f"{at}/cause/mechanism", message, "Name the cause, or say that it cannot be told."
        )
    return usual


def _add_sighting(
    bench: Bench, told: SightingTold, finding_id: int, before: SightingRow | None, at: str
) -> None:
    severity, extent = told.severity, told.extent_percent
    reach = None if told.reach is None else offset_um(told.reach.mm)
    if before is not None and told.change in _AS_STRONG:
        severity = severity or before.severity
    if before is not None and told.change is Change.UNCHANGED:
        # What is drawn anew is measured anew; what has grown is no longer as large as it was.
        if extent is None and not _is_measured(told.outline):
            extent = before.extent_percent
        reach = before.reach_um if reach is None else reach
    sighting = Sighting(
        finding_id=finding_id,
        visit_id=bench.visit_id,
        severity=severity,
        change=told.change,
        extent_percent=extent,
        reach_um=reach,
        note=told.note,
    )
    bench.session.add(sighting)
    if told.colours or told.outline is not None or told.contrast is not None:
        bench.session.flush()
    if told.outline is not None:
        _add_outline(bench, told.outline, sighting, at)
    if told.contrast is not None:
        _add_contrast(bench, told.contrast, sighting, at)
    for colour in told.colours:
        bench.session.add(
            ColourReading(
                sighting_id=key_of(sighting),
                spot=colour.spot,
                lab_l=colour.lightness,
                lab_a=colour.a,
                lab_b=colour.b,
            )
        )


def _is_measured(outline: OutlineTold | None) -> bool:
    return outline is not None and outline.shape is not OutlineShape.POINT


def _add_outline(bench: Bench, told: OutlineTold, sighting: Sighting, at: str) -> None:
    finding = bench.session.get_one(Finding, sighting.finding_id)
    sighted = Sighted(bench.work, finding, sighting)
    faults = Faults()
    drawn = faults.read(
        f"{at}/outline",
        lambda outline: outline_of(bench.session, bench.viewer, sighted, outline),
        told,
    )
    faults.refuse()
    bench.session.add(drawn)


def _add_contrast(bench: Bench, told: ContrastTold, sighting: Sighting, at: str) -> None:
    right = "Read the colours from another photograph, or take the reading back."
    try:
        keep_contrast(bench.session, bench.viewer, key_of(sighting), told)
    except NotFound:
        message = "The photograph that the colours were read from was taken away."
        raise BadValue.at(f"{at}/contrast", message, right) from None
    except BadValue as error:
        raise BadValue.at(f"{at}/contrast", error.message, right) from None


def _refuse_off_the_sheet(bench: Bench, told: SightingTold, at: str) -> None:
    """Raise BadValue with every size that cannot be on this sheet."""
    faults = Faults()
    if told.reach is not None:
        _check_reach(faults, bench, told.reach, at)
    if told.region is not None:
        _check_region(faults, bench, told.region, at)
    faults.read_if_given(f"{at}/extent_percent", between(0, 100, "%"), told.extent_percent)
    faults.refuse()


def _check_reach(faults: Faults, bench: Bench, reach: ReachTold, at: str) -> None:
    height, width = bench.work.height_um, bench.work.width_um
    across = height if reach.edge in (Edge.TOP, Edge.BOTTOM) else width
    um = faults.read(f"{at}/reach/mm", offset_um, reach.mm)
    if um is not None and across is not None and um > across:
        faults.note(
            f"{at}/reach/mm",
            _too_far(f"{reach.mm:g} mm from the {reach.edge} edge is off the sheet", across),
        )


def _check_region(faults: Faults, bench: Bench, region: RegionTold, at: str) -> None:
    spans = (
        ("width_mm", region.left_mm, region.width_mm, bench.work.width_um),
        ("height_mm", region.top_mm, region.height_mm, bench.work.height_um),
    )
    for name, start, length, sheet in spans:
        begun = faults.read(f"{at}/reach/region", offset_um, start)
        um = faults.read(f"{at}/reach/region/{name}", offset_um, length)
        if um == 0:
            faults.note(
                f"{at}/reach/region/{name}", BadValue("A region is at least 0.001 mm large.")
            )
        elif None not in (begun, um, sheet) and (begun or 0) + (um or 0) > (sheet or 0):
            faults.note(
                f"{at}/reach/region/{name}",
                _too_far("The region goes beyond the sheet", sheet or 0),
            )


def _too_far(message: str, sheet_um: int) -> BadValue:
    right = f"at most {sheet_um / MICROMETRES_PER_MM:g} mm, as the sheet is recorded"
    return BadValue(message, [Fault("", f"{message}.", right)])
