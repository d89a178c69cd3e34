"""How does a work come out of its mount, hold by hold, and what stays on it?

What can be taken off is not always undone: residue, a stub, a hold that would
not come stay with the work as remains and go on acting, and harm is kept with
the mount for good. A hold that was tried and left still holds; the mount ends
all the same when the work goes into a new package with it at this visit.
"""

from collections.abc import Mapping, Sequence

from sqlalchemy import bindparam
from sqlmodel import col, select

from models.actions.bench import Bench
from models.actions.record_changes import date_columns, date_kept, key_of, write
from models.errors import BadValue, Fault, RuleBroken
from models.rules.package_facts import HoldFacts
from models.rules.record_order import refuse_end_before_start
from models.rules.remains import remain_after
from models.rules.visit_as_told import DismountTold, HoldFreedTold
from models.tables.mounts import Hold, Mount, Remain
from models.vocabulary import UNKNOWN_ADHESIVE, UNKNOWN_HOLD, Answer, FreedBy, Outcome


def dismount(bench: Bench, told: DismountTold, *, goes_into_a_new_mount: bool) -> bool:
    """Record how the work came out; say whether every hold was freed.

    Raises RuleBroken when nothing holds the work, or when it was certainly
    dismounted before it was mounted.
    """
    mount = bench.mount
    if mount is None:
        raise RuleBroken(
            "This work is in no mount on record; record the package it was found in first,"
            " under found, in the same visit.",
            "dismount_before_mount",
        )
    refuse_end_before_start("mount", date_kept(mount, "mounted"), bench.on)
    _refuse_blanks(told)
    ways = _ways(bench, mount, told)
    for hold, way in ways:
        _free(bench, mount, hold, way)
    outcomes = [way.outcome for _, way in ways] or [told.outcome]
    bench.touched_packages.add(mount.package_id)
    if Outcome.TRIED_AND_LEFT in outcomes and not goes_into_a_new_mount:
        mount.harm_at_dismount = _joined(mount.harm_at_dismount, told.harm)
        mount.dismount_reason = _joined(mount.dismount_reason, told.reason)
        return False
    _end(bench, mount, told, [hold for hold, _ in ways])
    return all(outcome is Outcome.FREED for outcome in outcomes)


def _refuse_blanks(told: DismountTold) -> None:
    """Raise BadValue where a hold is said to be freed and not by what."""
    blanks = [
        f"/dismount/holds/{index}/freed_by"
        for index, way in enumerate(told.holds)
        if way.outcome is Outcome.FREED and way.freed_by is None
    ]
    if not told.holds and told.outcome is Outcome.FREED and told.freed_by is None:
        blanks.append("/dismount/freed_by")
    if blanks:
        message = "It is said to be freed, and not by what."
        right = f"One of: {', '.join(FreedBy)}."
        raise BadValue(message, [Fault(blank, message, right) for blank in blanks])


def _ways(bench: Bench, mount: Mount, told: DismountTold) -> list[tuple[Hold, HoldFreedTold]]:
    """Return each hold that still holds with how it came off; none is passed over in silence."""
    ways: dict[int, HoldFreedTold] = {}
    for index, way in enumerate(told.holds):
        at = f"/dismount/holds/{index}/hold"
        key = key_of(bench.hold(way.hold, at))
        if key in ways:
            raise BadValue.at(at, f"Hold {way.hold} is told twice.", "each hold once")
        ways[key] = way
    holds = list(bench.session.exec(_HOLDS, params={"mount_id": mount.id}).all())
    if not holds and mount.held is not Answer.NONE:
        holds = [_unknown_hold(bench, mount)]
    return [
        (hold, _way_of(hold, ways, told))
        for hold in holds
        if hold.outcome in (None, Outcome.TRIED_AND_LEFT)
    ]


def _unknown_hold(bench: Bench, mount: Mount) -> Hold:
    """Put on record what held the work and nobody named, so that how it came off has its place."""
    hold = Hold(
        mount_id=key_of(mount), hold_no=1, grade=UNKNOWN_HOLD, adhesive_grade=UNKNOWN_ADHESIVE
    )
    write(hold, date_columns("since", date_kept(mount, "mounted")))
    bench.session.add(hold)
    bench.session.flush()
    return hold


_HOLDS = (
    select(Hold)
    .where(Hold.mount_id == bindparam("mount_id"), col(Hold.withdrawn_reason).is_(None))
    .order_by(col(Hold.hold_no))
    # All holds were written before: those on record, and those of a package found at this visit.
    .execution_options(autoflush=False)
)


def _way_of(hold: Hold, ways: Mapping[int, HoldFreedTold], told: DismountTold) -> HoldFreedTold:
    key = key_of(hold)
    if key in ways:
        return ways[key]
    if ways and told.freed_by is None:
        what = f"hold {key}" + (f" ({hold.position})" if hold.position else "")
        raise BadValue.at(
            "/dismount/holds",
            f"How {what} came off is not said.",
            "each hold, or one freed_by for all that are not listed",
        )
    return HoldFreedTold(
        hold=key, freed_by=told.freed_by, outcome=told.outcome, residue=told.residue
    )


def _free(bench: Bench, mount: Mount, hold: Hold, way: HoldFreedTold) -> None:
    hold.freed_by, hold.outcome, hold.residue = way.freed_by, way.outcome, way.residue
    hold.outcome_visit_id = bench.visit_id
    left = remain_after(
        _facts(hold), way.outcome, residue=way.residue, mounted_day=mount.mounted_first
    )
    # A hold that was tried and left is still the hold, not a remain, until the mount ends.
    if left is None or way.outcome is Outcome.TRIED_AND_LEFT:
        return
    _keep_remain(bench, mount, hold, what=_joined(left.what, way.residue), grade=left.grade)


def _facts(hold: Hold) -> HoldFacts:
    return HoldFacts(
        grade=hold.grade,
        key=hold.id,
        adhesive_grade=hold.adhesive_grade,
        covers_all=hold.covers_all,
        since_day=hold.since_first,
    )


def keep_traces(bench: Bench, mount: Mount, holds: Sequence[Hold]) -> None:
    """Keep what a mount known only from its traces left: the traces are what is left of it."""
    for hold in holds:
        left = remain_after(
            _facts(hold), Outcome.PART_FREED, residue="", mounted_day=mount.mounted_first
        )
        if left is not None:
            _keep_remain(bench, mount, hold, what="traces of the hold", grade=left.grade)


def _end(bench: Bench, mount: Mount, told: DismountTold, holds: Sequence[Hold]) -> None:
    mount.ended = True
    write(mount, date_columns("dismounted", bench.on))
    mount.dismounted_by_id = bench.visit.by_id
    mount.dismounted_visit_id = bench.visit_id
    mount.dismount_reason = _joined(mount.dismount_reason, told.reason or bench.visit.reason)
    mount.harm_at_dismount = _joined(mount.harm_at_dismount, told.harm)
    for hold in holds:
        if hold.outcome is not Outcome.TRIED_AND_LEFT:
            continue
        left = remain_after(
            _facts(hold),
            Outcome.TRIED_AND_LEFT,
            residue=hold.residue,
            mounted_day=mount.mounted_first,
        )
        if left is not None:
            what = _joined(left.what, hold.residue)
            _keep_remain(bench, mount, hold, what=what, grade=left.grade)
    bench.mount = None


def _keep_remain(bench: Bench, mount: Mount, hold: Hold, *, what: str, grade: str | None) -> None:
    remain = Remain(
        work_id=bench.work_id,
        hold_id=hold.id,
        what=what,
        grade=grade,
        covers_all=hold.covers_all,
        left_visit_id=bench.visit_id,
    )
    write(remain, date_columns("since", date_kept(hold, "since") or date_kept(mount, "mounted")))
    if remain.since_first is None:
        # An assumed mounting day has no text, and the clock of what stays began with it.
        remain.since_first, remain.since_last = mount.mounted_first, mount.mounted_last
    bench.session.add(remain)


def _joined(one: str, other: str) -> str:
    return "; ".join(part for part in (one.strip(), other.strip()) if part)
