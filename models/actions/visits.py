"""How is a whole visit recorded, all of it or nothing?

In the order of the bench: the package the work was found in, what was seen, what
was taken out, how the work came off, how it was mounted again, what was put in,
tests, inscriptions, treatments. Works that share a package are locked together,
by number, so that two people at two benches cannot cross. Whoever changes a
package says which version of the work they saw; was somebody quicker, both
states are shown and nothing is written.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import bindparam
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.actions.bench import Bench
from models.actions.bench_notes import record_inscriptions, record_tests, record_treatments
from models.actions.dismounting import dismount
from models.actions.forecasts import case_of, forecast_of, refreshed, sign_that_closes
from models.actions.in_force import InForce, in_force
from models.actions.layer_changes import fit_layers, remove_layers
from models.actions.missing_works import note_found
from models.actions.mounting import make_mount, record_found
from models.actions.places import place_tree
from models.actions.record_changes import count_up, date_columns, date_kept, key_of, write
from models.actions.remats import close_remats
from models.actions.sightings import record_sightings
from models.actions.visit_words import VisitMeant, meant_by
from models.actions.work_records import WorkRecords, load_records, package_now
from models.errors import BadValue, Contradiction, Fault, NotFound, RuleBroken, Stale
from models.rules.distance_from_work import is_always_apart, place_layers
from models.rules.permissions import Deed, require
from models.rules.record_order import (
    refuse_before_it_was_made,
    refuse_contradictions,
    refuse_future,
    refuse_seeing_through,
)
from models.rules.visit_as_told import Named, VisitTold, places_seen
from models.rules.work_forecast import WorkForecast
from models.tables.case_rows import last_numbers, packages_now, works_in_packages
from models.tables.kept_statements import WANTED, ask
from models.tables.mounts import Mount
from models.tables.places import FollowUp, IncidentWork
from models.tables.visible import Viewer, is_visible, visible_works
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import Distance, LayerRole, Outcome, PlaceUse, Shown, VisitKind
from seed_data.shipped import shipped_default_figures


@dataclass(frozen=True)
class RecordedVisit:
    """A stored visit, the parts that were named with a `ref`, and the work as it is after it."""

    visit_id: int
    work_id: int
    refs: Mapping[str, int]
    records: WorkRecords
    forecast: WorkForecast


def record_visit(
    session: Session,
    viewer: Viewer,
    work_id: int,
    told: VisitTold,
    *,
    today: int,
    walk_id: int | None = None,
) -> RecordedVisit:
    """Store a visit with all its parts, and work out the forecasts that it changes.

    Raises NotAllowed, NotFound, BadValue with every fault, Stale, or RuleBroken
    that names what cannot have happened; then nothing is stored.
    """
    bench, works = _told(session, viewer, work_id, told, today=today, walk_id=walk_id)
    settle_by(session, [bench.visit])
    touched = _touched_works(session, bench, work_id)
    if told.changes_package():
        for one in sorted(touched):
            count_up(works.get(one) or session.get_one(Work, one))
    records, forecast = refreshed(session, sorted(touched), today=today)[work_id]
    if told.changes_package():
        remounted = {work_id} if told.mount is not None else set()
        close_remats(session, touched, remounted=remounted, today=today)
    return RecordedVisit(bench.visit_id, work_id, _refs(bench), records, forecast)


@dataclass(frozen=True)
class TriedVisit:
    """What a visit would make of a work, beside the work as it is, by what is in force.

    `refs` as when recorded.
    """

    refs: Mapping[str, int]
    records: WorkRecords
    now: WorkForecast
    then: WorkForecast
    force: InForce


def try_visit(
    session: Session, viewer: Viewer, before: WorkRecords, told: VisitTold, *, today: int
) -> TriedVisit:
    """Tell a visit to a session that is dropped afterwards, and judge the work before and after.

    `before` are the records of the work as it is. Nothing is worked out for the lists that the
    database keeps. Raises what `record_visit` does.
    """
    work_id = before.work.id
    force = in_force(session)
    as_it_is = case_of(before, force, today=today)
    bench, _ = _told(session, viewer, work_id, told, today=today, walk_id=None, before=before)
    records = load_records(session, viewer, [work_id])[work_id]
    now, then = forecast_of(as_it_is), forecast_of(case_of(records, force, today=today))
    return TriedVisit(_refs(bench), records, now, then, force)


def _refs(bench: Bench) -> dict[str, int]:
    return {ref: key_of(row) for ref, row in bench.named.items()}


def _told(
    session: Session,
    viewer: Viewer,
    work_id: int,
    told: VisitTold,
    *,
    today: int,
    walk_id: int | None,
    before: WorkRecords | None = None,
) -> tuple[Bench, dict[int, Work]]:
    """Store a visit with all its parts; return the bench and the works that were locked for it.

    `before` are the records of the work where this transaction has read them already.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    meant = meant_by(session, told, shipped_default_figures())
    refuse_future(meant.on, today)
    works = _lock(session, viewer, work_id, told)
    work = works[work_id]
    refuse_before_it_was_made(meant.on, date_kept(work, "made"))
    records = before or load_records(session, viewer, [work_id])[work_id]
    _refuse_what_cannot_be(told, records, work)
    if told.kind is VisitKind.BOX_CHECK:
        _refuse_outside_a_box(session, records, meant)
    last = last_numbers(session, work_id)
    bench = Bench(
        session=session,
        viewer=viewer,
        work=work,
        visit=_visit(session, viewer, work_id, meant, last.visit, today=today, walk_id=walk_id),
        on=meant.on,
        records=records,
        last_mount_no=last.mount,
        last_finding_no=last.finding,
        mount=_current_mount(session, work_id),
    )
    shared = _shares_package_with(session, bench) if told.also_unframed else set()
    _tell(bench, meant)
    _also_unframed(bench, meant, shared, today=today)
    return bench, works


def _lock(session: Session, viewer: Viewer, work_id: int, told: VisitTold) -> dict[int, Work]:
    """Lock the work and all that share a package with it, in the order of their numbers."""
    packages = packages_now(session, work_id)
    for mount in (told.mount, told.found):
        if mount is not None and isinstance(mount.package, int):
            packages.add(mount.package)
    together = {work for _, work in works_in_packages(session, sorted(packages))}
    wanted = sorted({work_id, *together, *told.also_unframed})
    works = {key_of(work): work for work in session.exec(_LOCKING, params={"wanted": wanted})}
    if work_id not in works or not is_visible(viewer, works[work_id]):
        raise NotFound("work", work_id)
    return works


_LOCKING = (
    select(Work)
    .where(col(Work.id).in_(WANTED))
    .order_by(col(Work.id))
    .with_for_update()
    .execution_options(populate_existing=True)
)


def _refuse_what_cannot_be(told: VisitTold, records: WorkRecords, work: Work) -> None:
    refuse_contradictions(
        told.kind,
        closed_as_it_was=told.closed_as_it_was,
        opens_package=_opens_package(told, records),
        is_stopped=told.stop is not None,
    )
    # What stayed closed was looked at, and no more.
    as_seen = VisitKind.LOOK if told.stop is not None else told.kind
    refuse_seeing_through(as_seen, told.seen or ())
    if told.also_unframed and told.kind is not VisitKind.UNFRAMING:
        raise Contradiction(
            "/also_unframed",
            "Only an unframing opens the package of other works.",
            "Record an unframing, or leave it out.",
        )
    if told.by is not None and told.by_unknown_hand:
        raise Contradiction(
            "/by", "Done by a person on record, or by an unknown hand: not by both.", "One of them."
        )
    _refuse_what_does_not_wait(told, records)
    if told.changes_package():
        _refuse_if_stale(told.based_on, records, work)


def _refuse_outside_a_box(session: Session, records: WorkRecords, meant: VisitMeant) -> None:
    """Raise RuleBroken for a box check of a work that is certainly in no box at that time."""
    since, on = records.work.place_since_last, meant.on.first_day
    place = place_tree(session).effective(records.work.place_id)
    is_there_then = since is None or (on is not None and on >= since)
    if place.use is not PlaceUse.BOX and is_there_then:
        raise RuleBroken("This work is in no box; record a look instead.", "no_box")


def _refuse_what_does_not_wait(told: VisitTold, records: WorkRecords) -> None:
    """Raise RuleBroken where a sign keeps the package closed and nobody says why it was opened."""
    if told.kind is not VisitKind.UNFRAMING or told.stop is not None or told.reason.strip():
        return
    last = max((row.on_first or 0 for row in records.visits), default=0)
    sign = sign_that_closes(records, today=last)
    if sign is not None:
        raise RuleBroken(
            f"{sign.sentence} If it was opened all the same, say why under reason; if it was not,"
            " record the stop.",
            "does_not_wait",
        )


def _refuse_if_stale(based_on: int | None, records: WorkRecords, work: Work) -> None:
    if based_on is None:
        message = "Which version of the work is this based on?"
        right = f"the version of the work as you saw it; it is {work.version} now"
        raise BadValue.at("/based_on", message, right)
    if based_on != work.version:
        mount = records.current_mount
        state = {
            "version": work.version,
            "mount": None if mount is None else mount.id,
            "layers": [
                layer.id
                for layer in (records.layers[mount.package_id] if mount is not None else ())
                if not layer.ended
            ],
        }
        raise Stale(
            f"Somebody changed this work since you opened it (version {based_on}, now"
            f" {work.version}); look at what is there, and tell the visit on top of it.",
            theirs=state,
        )


def _opens_package(told: VisitTold, records: WorkRecords) -> bool:
    """Say whether the work came out, or a layer that touches or faces it was changed."""
    if told.dismount is not None or told.mount is not None:
        return True
    apart = {
        placed.layer.key
        for placed in place_layers(package_now(records))
        if placed.distance is Distance.APART
    }
    if any(removed.layer not in apart for removed in told.layers_removed):
        return True
    return any(
        not _is_fitted_apart(fitted.layer.role, fitted.layer.distance, fitted.replaces, apart)
        for fitted in told.layers_fitted
    )


def _is_fitted_apart(
    role: LayerRole, distance: Distance | None, replaces: Named | None, apart: Collection[object]
) -> bool:
    if distance is not None:
        return distance is Distance.APART
    return is_always_apart(role) or (replaces is not None and replaces in apart)


def _visit(
    session: Session,
    viewer: Viewer,
    work_id: int,
    meant: VisitMeant,
    last_no: int,
    *,
    today: int,
    walk_id: int | None,
) -> Visit:
    told = meant.told
    visit = Visit(
        work_id=work_id,
        visit_no=last_no + 1,
        kind=told.kind,
        on_edtf=meant.on.edtf,
        reason=told.reason,
        by_id=meant.by_id,
        by_unknown_hand=told.by_unknown_hand,
        minutes=told.minutes,
        stop_why=None if told.stop is None else told.stop.why,
        stop_left=None if told.stop is None else told.stop.left,
        summary=told.summary,
        closed_as_it_was=told.closed_as_it_was,
        to_write_up=told.to_write_up,
        walk_id=walk_id,
        recorded_by_id=viewer.person_id,
        recorded_on=today,
    )
    write(visit, date_columns("on", meant.on))
    # As it is told; what its parts show besides is added when they are recorded.
    set_seen(visit, _seen_as_told(told))
    session.add(visit)
    session.flush()
    return visit


def _seen_as_told(told: VisitTold) -> frozenset[Shown]:
    out = told.dismount
    ways = () if out is None else tuple(way.outcome for way in out.holds) or (out.outcome,)
    is_freed = bool(ways) and all(outcome is Outcome.FREED for outcome in ways)
    return places_seen(told, removed=frozenset(), every_hold_freed=is_freed)


def _tell(bench: Bench, meant: VisitMeant) -> None:
    """Record every part in the order of the bench."""
    told = meant.told
    if meant.found is not None:
        record_found(bench, meant.found)
    record_sightings(bench, told.sightings, meant.term_ids)
    removed = remove_layers(bench, told.layers_removed)
    freed = False
    if told.dismount is not None:
        goes_on = meant.mount is not None
        freed = dismount(bench, told.dismount, goes_into_a_new_mount=goes_on)
    if meant.mount is not None:
        make_mount(bench, meant.mount)
    replaced = fit_layers(bench, told.layers_fitted, meant.layers_fitted)
    record_tests(bench, told.tests)
    record_inscriptions(bench, told.inscriptions)
    record_treatments(bench, meant)
    set_seen(bench.visit, places_seen(told, removed=removed | replaced, every_hold_freed=freed))


def set_seen(visit: Visit, seen: Collection[Shown]) -> None:
    """Write which places a visit really saw."""
    visit.seen_front = Shown.FRONT in seen
    visit.seen_back_of_frame = Shown.BACK_OF_FRAME in seen
    visit.seen_margins = Shown.MARGINS in seen
    visit.seen_verso = Shown.VERSO in seen
    visit.seen_under_hinges = Shown.UNDER_HINGES in seen


def _current_mount(session: Session, work_id: int) -> Mount | None:
    return session.exec(_CURRENT_MOUNT, params={"work_id": work_id}).first()


_CURRENT_MOUNT = select(Mount).where(
    Mount.work_id == bindparam("work_id"),
    ~col(Mount.ended),
    col(Mount.withdrawn_reason).is_(None),
)


def _shares_package_with(session: Session, bench: Bench) -> set[int]:
    if bench.mount is None:
        return set()
    pairs = works_in_packages(session, [bench.mount.package_id])
    return {work for _, work in pairs} - {bench.work_id}


def _also_unframed(bench: Bench, meant: VisitMeant, shared: Collection[int], *, today: int) -> None:
    """Add a visit of the same day for each work that lay in the opened package too.

    It saw nothing until somebody writes it up, and so moves no clock.
    """
    for index, other_id in enumerate(dict.fromkeys(meant.told.also_unframed)):
        if other_id not in shared or not _is_visible(bench, other_id):
            message = f"Work {other_id} is not in the same package."
            fault = Fault(f"/also_unframed/{index}", message, "works that share the package")
            raise BadValue(message, [fault])
        other = Visit(
            work_id=other_id,
            visit_no=last_numbers(bench.session, other_id).visit + 1,
            kind=VisitKind.UNFRAMING,
            on_edtf=meant.on.edtf,
            reason=meant.told.reason,
            by_id=meant.by_id,
            by_unknown_hand=meant.told.by_unknown_hand,
            to_write_up=True,
            recorded_by_id=bench.viewer.person_id,
            recorded_on=today,
        )
        write(other, date_columns("on", meant.on))
        bench.session.add(other)


def _is_visible(bench: Bench, work_id: int) -> bool:
    found = select(Work.id).where(visible_works(bench.viewer), Work.id == work_id)
    return bench.session.exec(found).first() is not None


def settle_by(session: Session, visits: Sequence[Visit]) -> None:
    """Note what visits have settled: looks that were asked for, and works that were missed."""
    _close_follow_ups(session, visits)
    note_found(session, visits)


def _close_follow_ups(session: Session, visits: Sequence[Visit]) -> None:
    """Mark the looks that an incident asked for as done by visits that really looked."""
    looked = {
        visit.work_id: visit for visit in visits if visit.saw() and visit.on_first is not None
    }
    waiting = ask(session, _WAITING, looked).all()
    for key, due_on, work_id in waiting:
        visit = looked[work_id]
        if (due_on or 0) <= (visit.on_first or 0):
            session.get_one(FollowUp, key).done_by_visit_id = visit.id


_WAITING = (
    columns(col(FollowUp.id), col(FollowUp.due_on), col(IncidentWork.work_id))
    .join(IncidentWork)
    .where(col(IncidentWork.work_id).in_(WANTED), col(FollowUp.done_by_visit_id).is_(None))
)


def _touched_works(session: Session, bench: Bench, work_id: int) -> set[int]:
    # Nothing else is in a package that was made at this visit.
    others = sorted(bench.touched_packages - bench.made_packages)
    return {work_id, *(work for _, work in works_in_packages(session, others))}


def get_visit(session: Session, viewer: Viewer, visit_id: int) -> Visit:
    """Return a visit of a work the viewer may see. Raises NotFound."""
    found = select(Visit).join(Work, col(Work.id) == Visit.work_id)
    visit = session.exec(found.where(visible_works(viewer), Visit.id == visit_id)).first()
    if visit is None:
        raise NotFound("visit", visit_id)
    return visit
