"""How is a visit put right, written up later, or taken back?

The old value stays in the change log. A framer mends their own visit while it is
open; a closed one is the keeper's to mend. When the day of a visit is put right,
everything that happened at it moves along. A visit that is taken back takes with
it all that it recorded, and what it ended goes on; it cannot be taken back while
a later visit builds on it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from models.actions.bench import Bench
from models.actions.missing_works import note_found, note_not_found_after_all
from models.actions.named_records import person_named
from models.actions.record_changes import (
    count_up,
    date_columns,
    date_kept,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.actions.remats import reopen_remat, untick_in_jobs
from models.actions.renewal import refresh_or_mark
from models.actions.sightings import record_sightings
from models.actions.visit_words import meant_by
from models.actions.visits import get_visit, set_seen
from models.actions.work_records import load_records
from models.errors import Contradiction, RuleBroken
from models.rules.half_known_dates import HalfKnownDate, read_date
from models.rules.permissions import Deed, deed_of_correction, require
from models.rules.record_order import (
    refuse_end_before_start,
    refuse_future,
    refuse_seeing_through,
)
from models.rules.record_values import Faults, a_name, a_note, whole_between
from models.rules.visit_as_told import SightingTold, VisitTold
from models.tables.case_rows import last_numbers, works_in_packages
from models.tables.findings import Sighting
from models.tables.mounts import Hold, Layer, Mount, Remain
from models.tables.people import Person
from models.tables.places import FollowUp
from models.tables.register import get_work_to_change
from models.tables.visible import Viewer
from models.tables.visits import Inscription, LayerTest, Treatment, Visit
from models.vocabulary import Shown
from seed_data.shipped import shipped_default_figures

LONGEST_VISIT_MINUTES = 100_000


@dataclass(frozen=True, kw_only=True)
class VisitValues:
    """What of a visit can be put right by itself; its parts are records of their own."""

    on: str
    reason: str = ""
    by: str | None = None
    by_unknown_hand: bool = False
    minutes: int | None = None
    seen: frozenset[Shown] = frozenset()
    summary: str = ""
    to_write_up: bool = False


CORRECTABLE = frozenset(field.name for field in fields(VisitValues))


def correct_visit(
    session: Session,
    viewer: Viewer,
    visit_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> int:
    """Put a visit right and return its new version.

    `changes` is a merge patch of VisitValues. Raises NotFound, NotAllowed, Stale,
    BadValue, RuleBroken (`in_the_future`, `cannot_be_seen`, `ended_before_it_began`).
    """
    visit = _held(session, viewer, visit_id, today=today)
    refuse_stale(visit, based_on, theirs=_values(session, visit))
    values = merged(_values(session, visit), changes)
    faults = Faults()
    on = faults.read("/on", read_date, values.on)
    by = faults.read_if_given("/by", lambda name: person_named(session, name), values.by)
    faults.read("/summary", a_note, values.summary)
    faults.read("/reason", a_note, values.reason)
    minutes = whole_between(0, LONGEST_VISIT_MINUTES, "number of minutes")
    faults.read_if_given("/minutes", minutes, values.minutes)
    faults.refuse()
    assert on is not None, "a fault was refused"
    refuse_future(on, today)
    refuse_seeing_through(visit.kind, values.seen)
    if by is not None and values.by_unknown_hand:
        raise Contradiction(
            "/by", "Done by a person on record, or by an unknown hand: not by both.", "One of them."
        )
    if on.edtf != visit.on_edtf:
        _move_along(session, visit, on)
    write(
        visit,
        {
            **date_columns("on", on),
            "reason": values.reason,
            "by_id": None if by is None else by.id,
            "by_unknown_hand": values.by_unknown_hand,
            "minutes": values.minutes,
            "summary": values.summary,
            "to_write_up": values.to_write_up,
        },
    )
    set_seen(visit, values.seen)
    session.flush()
    # On its new day it may have found a work that was missed, or not have found it yet.
    note_not_found_after_all(session, visit_id)
    note_found(session, [visit])
    refresh_or_mark(session, _works_that_depend_on(session, visit), today=today)
    return visit.version


def write_up_visit(
    session: Session,
    viewer: Viewer,
    visit_id: int,
    *,
    summary: str,
    seen: frozenset[Shown],
    sightings: tuple[SightingTold, ...],
    today: int,
) -> int:
    """Add to a visit what was left for later: words, what was seen, findings.

    It comes off the list *to write up*. Raises as `correct_visit`, and as
    `record_sightings` for findings.
    """
    visit = _held(session, viewer, visit_id, today=today)
    told = VisitTold(on=visit.on_edtf, kind=visit.kind, summary=summary, sightings=sightings)
    meant = meant_by(session, told, shipped_default_figures())
    refuse_seeing_through(visit.kind, seen)
    work = get_work_to_change(session, viewer, visit.work_id)
    last = last_numbers(session, visit.work_id)
    bench = Bench(
        session=session,
        viewer=viewer,
        work=work,
        visit=visit,
        on=meant.on,
        records=load_records(session, viewer, [visit.work_id])[visit.work_id],
        last_mount_no=last.mount,
        last_finding_no=last.finding,
        mount=_mount_at(session, visit),
    )
    record_sightings(bench, sightings, meant.term_ids)
    joined = "\n".join(part for part in (visit.summary, summary) if part)
    write(visit, {"summary": joined, "to_write_up": False})
    set_seen(visit, seen | visit.saw())
    session.flush()
    refresh_or_mark(session, [visit.work_id], today=today)
    return visit.version


def withdraw_visit(
    session: Session, viewer: Viewer, visit_id: int, reason: str, *, today: int
) -> None:
    """Take back a visit that never was, with all that it recorded.

    Raises NotAllowed, NotFound, BadValue without a reason, RuleBroken
    (`already_withdrawn`, `later_visit_builds_on_it`).
    """
    require(viewer.role, Deed.WITHDRAW)
    visit = get_visit(session, viewer, visit_id)
    work = get_work_to_change(session, viewer, visit.work_id)
    a_name("reason")(reason)
    withdraw(visit, reason)
    _refuse_if_built_upon(session, visit)
    depending = _works_that_depend_on(session, visit)
    why = f"with visit {visit.visit_no}: {reason}"
    if any(mount.mounted_visit_id == visit_id for mount in session.exec(_begun_at(visit))):
        untick_in_jobs(session, visit.work_id, remounted_on=visit.recorded_on or 0)
        reopen_remat(session, visit.work_id, remounted_on=visit.recorded_on or 0)
    _take_back_mounts(session, visit, why)
    _take_back_layers(session, visit, why)
    _take_back_remains(session, visit, why)
    for table in (Sighting, LayerTest, Inscription, Treatment):
        parts = select(table).where(
            table.visit_id == visit_id, col(table.withdrawn_reason).is_(None)
        )
        for part in session.exec(parts):
            part.withdrawn_reason = why
    for follow_up in session.exec(select(FollowUp).where(FollowUp.done_by_visit_id == visit_id)):
        follow_up.done_by_visit_id = None
    note_not_found_after_all(session, visit_id)
    count_up(work)
    session.flush()
    refresh_or_mark(session, depending, today=today)


def _held(session: Session, viewer: Viewer, visit_id: int, *, today: int) -> Visit:
    """Return the visit, held for a correction. Raises NotFound, NotAllowed, RuleBroken."""
    visit = get_visit(session, viewer, visit_id)
    deed = deed_of_correction(
        is_own=visit.recorded_by_id == viewer.person_id,
        recorded_on=visit.recorded_on or 0,
        today=today,
    )
    require(viewer.role, deed)
    get_work_to_change(session, viewer, visit.work_id)
    session.refresh(visit, with_for_update=True)
    if visit.withdrawn_reason is not None:
        raise RuleBroken("This visit was withdrawn; record it anew.", "already_withdrawn")
    return visit


def _values(session: Session, visit: Visit) -> VisitValues:
    return VisitValues(
        on=visit.on_edtf,
        reason=visit.reason,
        by=None if visit.by_id is None else session.get_one(Person, visit.by_id).name,
        by_unknown_hand=visit.by_unknown_hand,
        minutes=visit.minutes,
        seen=visit.saw(),
        summary=visit.summary,
        to_write_up=visit.to_write_up,
    )


def _mount_at(session: Session, visit: Visit) -> Mount | None:
    """Return the mount to which a finding of this visit belongs: the one it found in place."""
    of_work = select(Mount).where(
        Mount.work_id == visit.work_id, col(Mount.withdrawn_reason).is_(None)
    )
    mounts = list(session.exec(of_work.order_by(col(Mount.mount_no))))
    undone = [mount for mount in mounts if mount.dismounted_visit_id == visit.id]
    if undone:
        return undone[0]
    return next(
        (m for m in mounts if not m.ended and m.mounted_visit_id != visit.id),
        None,
    )


def _move_along(session: Session, visit: Visit, on: HalfKnownDate) -> None:
    """Give what began or ended at a visit the visit's new day."""
    for mount in session.exec(select(Mount).where(Mount.work_id == visit.work_id)):
        if mount.mounted_visit_id == visit.id:
            write(mount, date_columns("mounted", on))
        if mount.dismounted_visit_id == visit.id:
            write(mount, date_columns("dismounted", on))
        if mount.ended and (end := date_kept(mount, "dismounted")) is not None:
            refuse_end_before_start("mount", date_kept(mount, "mounted"), end)
    changed = select(Layer).where(
        (col(Layer.fitted_visit_id) == visit.id) | (col(Layer.removed_visit_id) == visit.id)
    )
    for layer in session.exec(changed):
        # A layer that is older than the visit that fitted it has a day of its own.
        if layer.fitted_visit_id == visit.id and layer.fitted_edtf == visit.on_edtf:
            write(layer, date_columns("fitted", on))
        if layer.removed_visit_id == visit.id:
            write(layer, date_columns("removed", on))
        if layer.ended and (end := date_kept(layer, "removed")) is not None:
            refuse_end_before_start("layer", date_kept(layer, "fitted"), end)


def _refuse_if_built_upon(session: Session, visit: Visit) -> None:
    undone = any(
        mount.dismounted_visit_id not in (None, visit.id)
        for mount in session.exec(_begun_at(visit))
    )
    fitted = select(Layer).where(Layer.fitted_visit_id == visit.id)
    changed = any(
        layer.ended and layer.removed_visit_id != visit.id for layer in session.exec(fitted)
    )
    ended = select(Mount).where(Mount.dismounted_visit_id == visit.id)
    mounted_again = False
    for mount in session.exec(ended).all():
        later = select(Mount).where(
            Mount.work_id == mount.work_id,
            col(Mount.mount_no) > mount.mount_no,
            col(Mount.withdrawn_reason).is_(None),
        )
        mounted_again |= any(m.mounted_visit_id != visit.id for m in session.exec(later))
    if undone or changed or mounted_again:
        raise RuleBroken(
            "A later visit builds on what this one recorded; withdraw the later one first.",
            "later_visit_builds_on_it",
        )


def _begun_at(visit: Visit) -> SelectOfScalar[Mount]:
    """Select the mounts that a visit made or found."""
    begun = (col(Mount.mounted_visit_id) == visit.id) | (col(Mount.found_visit_id) == visit.id)
    return select(Mount).where(begun)


_STILL_HOLDS = {"freed_by": None, "outcome": None, "residue": "", "outcome_visit_id": None}


def _take_back_mounts(session: Session, visit: Visit, why: str) -> None:
    for mount in session.exec(_begun_at(visit)).all():
        mount.withdrawn_reason = why
        for hold in session.exec(select(Hold).where(Hold.mount_id == mount.id)):
            hold.withdrawn_reason = why
    # The mount that was made goes before the one that was undone comes back: never two at once.
    session.flush()
    undone = select(Mount).where(
        Mount.dismounted_visit_id == visit.id, col(Mount.withdrawn_reason).is_(None)
    )
    for mount in session.exec(undone).all():
        write(mount, {"ended": False, **date_columns("dismounted", None)})
        mount.dismounted_visit_id = mount.dismounted_by_id = None
        mount.dismount_reason = mount.harm_at_dismount = ""
    # Not all holds of a mount: some came off at an earlier visit.
    for hold in session.exec(select(Hold).where(Hold.outcome_visit_id == visit.id)):
        write(hold, _STILL_HOLDS)


def _take_back_layers(session: Session, visit: Visit, why: str) -> None:
    for layer in session.exec(select(Layer).where(Layer.fitted_visit_id == visit.id)):
        layer.withdrawn_reason = why
    session.flush()
    for layer in session.exec(select(Layer).where(Layer.removed_visit_id == visit.id)):
        write(layer, {"ended": False, "condition": "", "kept": None})
        write(layer, date_columns("removed", None))
        layer.removed_visit_id = None


def _take_back_remains(session: Session, visit: Visit, why: str) -> None:
    for remain in session.exec(select(Remain).where(Remain.left_visit_id == visit.id)):
        remain.withdrawn_reason = why
    for remain in session.exec(select(Remain).where(Remain.removed_visit_id == visit.id)):
        write(remain, {"ended": False, "removed_visit_id": None})


def _works_that_depend_on(session: Session, visit: Visit) -> list[int]:
    """Return the work of a visit and those that share a package it changed."""
    mounts = select(Mount.package_id).where(Mount.work_id == visit.work_id)
    packages = sorted(set(session.exec(mounts)))
    return sorted({visit.work_id, *(work for _, work in works_in_packages(session, packages))})
