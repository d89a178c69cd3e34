"""What do the records say of a work, in the words of the rules?

Rows become facts here and nowhere else. A work that was never mounted on record
stands in a package of which nothing is known, from a day assumed; one that was
taken out and not mounted again, in such a package from that day on.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Protocol, TypeVar

from sqlmodel import Session

from models.actions.stock_materials import figures_told
from models.rules.calendar_days import add_months
from models.rules.finding_place import where_it_shows
from models.rules.half_known_dates import read_date
from models.rules.mat_windows import window_count
from models.rules.package_facts import (
    BenchFacts,
    ClimateFacts,
    HoldFacts,
    LayerFacts,
    PackageFacts,
    RemainFacts,
    SeenFacts,
    WorkFacts,
)
from models.rules.policy import AS_SHIPPED, Policy
from models.rules.record_values import size_mm
from models.tables.case_rows import (
    BenchTestRow,
    HoldRow,
    LayerRow,
    MountRow,
    RemainRow,
    SightingRow,
    StayRow,
    VisitRow,
    VisitsRead,
    WorkRow,
    hold_rows,
    layer_rows,
    mount_rows,
    remain_rows,
    sighting_rows,
    stay_rows,
    visit_rows,
    visits_beside,
    work_rows,
)
from models.tables.material_uses import LayerLying
from models.tables.postponements import PostponementRow, postponement_rows
from models.tables.visible import Viewer
from models.vocabulary import (
    Answer,
    Change,
    Freeing,
    Mechanism,
    Outcome,
    PatResult,
    Shown,
    Surface,
    VisitKind,
)

_NOT_THERE = frozenset({Change.NO_LONGER_VISIBLE, Change.TREATED, Change.NOT_SEEN})


@dataclass(frozen=True, kw_only=True)
class WorkRecords:
    """All rows of one work: mounts in order, layers of its packages, and so on."""

    work: WorkRow
    mounts: tuple[MountRow, ...] = ()
    layers: Mapping[int, tuple[LayerRow, ...]] = field(default_factory=dict)
    holds: Mapping[int, tuple[HoldRow, ...]] = field(default_factory=dict)
    remains: tuple[RemainRow, ...] = ()
    # Only of a work that has moved: one that never did has been in one climate.
    stays: tuple[StayRow, ...] = ()
    visits: tuple[VisitRow, ...] = ()
    sightings: tuple[SightingRow, ...] = ()
    put_off: tuple[PostponementRow, ...] = ()
    tests: Mapping[int, tuple[BenchTestRow, ...]] = field(default_factory=dict)

    @property
    def current_mount(self) -> MountRow | None:
        """Return the mount that holds the work now."""
        return next((mount for mount in self.mounts if not mount.ended), None)

    @cached_property
    def package(self) -> PackageFacts | None:
        """Return the package in which the work is now, None where it is in none."""
        mount = self.current_mount
        if mount is None:
            return None
        layers = [row for row in self.layers[mount.package_id] if not row.ended]
        holding = [hold for hold in self.holds[mount.id] if _still_holds(hold)]
        return package_of(mount, layers, holding, remains=self.remains_now, tests=self.tests)

    @property
    def remains_now(self) -> tuple[RemainFacts, ...]:
        """Return what earlier mounts left on the work and nobody has taken off."""
        return tuple(_remain_facts(row) for row in self.remains if not row.ended)


def load_records(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> dict[int, WorkRecords]:
    """Return the records of these works, as far as the viewer may see them.

    Seven statements, and one more for the stays where a work has moved.
    """
    session.flush()
    return _load(session, viewer, work_ids, visit_rows(session, viewer, work_ids))


def load_records_of_visit(session: Session, viewer: Viewer, visit_id: int) -> WorkRecords | None:
    """Return the records of the work of a visit, None where the viewer may not see it."""
    session.flush()
    read = visits_beside(session, viewer, visit_id)
    if all(visit.id != visit_id for visit in read.visits):
        return None
    work_id = read.visits[0].work_id
    return _load(session, viewer, [work_id], read)[work_id]


def _load(
    session: Session, viewer: Viewer, work_ids: Sequence[int], read: VisitsRead
) -> dict[int, WorkRecords]:
    works = work_rows(session, viewer, work_ids)
    ids = [work.id for work in works]
    mounts = _by_work(mount_rows(session, viewer, ids))
    packages = sorted({mount.package_id for of in mounts.values() for mount in of})
    layers = _by(layer_rows(session, viewer, packages), lambda row: row.package_id)
    holds = _by(hold_rows(session, viewer, ids), lambda row: row.mount_id)
    remains = _by_work(remain_rows(session, viewer, ids))
    moved = [work.id for work in works if work.has_moved]
    stays = _by_work(stay_rows(session, viewer, moved) if moved else ())
    visits = _by_work(read.visits)
    sightings = _by_work(sighting_rows(session, viewer, ids))
    tests = _by(read.tests, lambda row: row.layer_id)
    return {
        work.id: WorkRecords(
            work=work,
            mounts=mounts[work.id],
            layers={m.package_id: layers[m.package_id] for m in mounts[work.id]},
            holds={m.id: holds[m.id] for m in mounts[work.id]},
            remains=remains[work.id],
            stays=stays[work.id],
            visits=visits[work.id],
            sightings=sightings[work.id],
            put_off=postponement_rows(work.id, work.put_off),
            tests=tests,
        )
        for work in works
    }


def load_whereabouts(
    session: Session, viewer: Viewer, work_ids: Sequence[int]
) -> dict[int, WorkRecords]:
    """Return of the same records where each work was, and behind which layers; four statements."""
    works = work_rows(session, viewer, work_ids)
    ids = [work.id for work in works]
    mounts = _by_work(mount_rows(session, viewer, ids))
    packages = sorted({mount.package_id for of in mounts.values() for mount in of})
    layers = _by(layer_rows(session, viewer, packages), lambda row: row.package_id)
    stays = _by_work(stay_rows(session, viewer, ids))
    return {
        work.id: WorkRecords(
            work=work,
            mounts=mounts[work.id],
            layers={m.package_id: layers[m.package_id] for m in mounts[work.id]},
            stays=stays[work.id],
        )
        for work in works
    }


def work_facts(records: WorkRecords) -> WorkFacts:
    """Return what the rules are told about the work itself."""
    work = records.work
    made = read_date(work.made_edtf) if work.made_edtf else None
    return WorkFacts(
        technique=work.technique or "",
        process_group=work.process_group or "",
        support=work.support,
        made_first_day=None if made is None else made.first_day,
        made_last_day=None if made is None else made.last_day,
        surface=work.surface or work.technique_surface or Surface.OTHER,
        replaceability=work.replaceability,
        value_band=work.value_band,
        width_mm=size_mm(work.width_um),
        height_mm=size_mm(work.height_um),
        groundwood_support=bool(work.groundwood_support),
    )


def package_now(records: WorkRecords, policy: Policy = AS_SHIPPED) -> PackageFacts:
    """Return the package in which the work is now, or one of which nothing is known."""
    return records.package or _nothing_known(records, policy)


def package_lying(layers: Sequence[LayerLying], *, holds: bool) -> PackageFacts:
    """Return what touches what in these layers of one package, each with its number as its key.

    Without remains and bench tests. `holds` says that there is a hold, whose key is 0.
    """
    return PackageFacts(
        layers=tuple(
            LayerFacts(
                role=row.role,
                key=number,
                side=row.side,
                distance=row.distance,
                grade=row.grade or row.figures_grade,
                known_by=row.known_by,
                is_barrier=bool(row.barrier),
                thickness_mm=size_mm(row.thickness_um),
            )
            for number, row in enumerate(layers)
            if row.role is not None
        ),
        holds=(HoldFacts(grade="", key=0),) if holds else (),
        floats=any(row.floats for row in layers),
    )


def package_then(records: WorkRecords, mount: MountRow) -> PackageFacts:
    """Return the package of a mount that has ended, with every layer it had while it lasted."""
    layers = layers_during(mount, records.layers[mount.package_id])
    return package_of(mount, layers, records.holds[mount.id], tests=records.tests)


def layers_during(mount: MountRow, layers: Iterable[LayerRow]) -> list[LayerRow]:
    """Return the layers that were in the package while this mount lasted, as far as is certain."""
    return [
        layer
        for layer in layers
        if not _gone_before(layer, mount) and not _came_after(layer, mount)
    ]


def package_of(
    mount: MountRow,
    layers: Iterable[LayerRow],
    holds: Iterable[HoldRow],
    *,
    remains: tuple[RemainFacts, ...] = (),
    tests: Mapping[int, Sequence[BenchTestRow]],
) -> PackageFacts:
    """Return the facts of one mount with these layers and holds."""
    return PackageFacts(
        layers=tuple(layer_facts(row, tests.get(row.id, ())) for row in layers),
        holds=tuple(hold_facts(row, mount.method_frees_by) for row in holds),
        remains=remains,
        front=mount.in_front,
        behind=mount.behind,
        held=mount.held,
        method=mount.method or "",
        floats=bool(mount.floats),
        mounted_day=mount.mounted_first,
        mounted_last_day=mount.mounted_last,
        mounted_is_assumed=mount.mounted_assumed,
    )


def layer_facts(row: LayerRow, tests: Sequence[BenchTestRow]) -> LayerFacts:
    """Return what the rules are told about a layer, with the newest figures of its material."""
    return LayerFacts(
        role=row.role,
        key=row.id,
        side=row.side,
        distance=row.distance,
        grade=row.grade or row.figures_grade,
        material=row.material or "",
        known_by=row.known_by,
        fitted_first_day=row.fitted_first,
        covers_all=row.covers_all,
        belongs_to_work=row.belongs_to_work,
        windows=window_count(row.windows),
        recalled=row.recalled_on is not None,
        recalled_day=row.recalled_on,
        tests=tuple(BenchFacts(test=t.test, result=t.result, on_day=t.on_first) for t in tests),
        **figures_told(row),
    )


def hold_facts(row: HoldRow, method_frees_by: Freeing | None = None) -> HoldFacts:
    """Return what the rules are told about a hold.

    A grade that came from the material's figures follows their newest edition; a
    person's own word stays. What the method says of freeing counts for a hold that
    lies all over, of whose material nothing is said.
    """
    grade, adhesive = row.grade, row.adhesive_grade
    if row.newest_hold_grade is not None and grade == row.then_hold_grade:
        grade = row.newest_hold_grade
    if row.newest_grade is not None and adhesive == row.then_grade:
        adhesive = row.newest_grade
    return HoldFacts(
        grade=grade,
        key=row.id,
        adhesive_grade=adhesive,
        material=row.material or "",
        known_by=row.known_by,
        frees_by=row.frees_by or (method_frees_by if row.covers_all else None),
        count=row.hold_count,
        position=row.position,
        clearance_mm=size_mm(row.clearance_um),
        since_day=row.since_first,
        covers_all=row.covers_all,
        pat=row.pat or PatResult.NOT_TESTED,
        pat_day=row.pat_on,
        recalled=row.recalled_on is not None,
        recalled_day=row.recalled_on,
    )


def seen_facts(records: WorkRecords) -> SeenFacts:
    """Return the last day on which each of the five places was really seen."""
    days: dict[Shown, int | None] = dict.fromkeys(Shown)
    for visit in records.visits:
        for place in places_seen_at(visit):
            days[place] = _latest(days[place], visit.on_first)
    return SeenFacts(days=days, harm_days=_harm_days(records), clean_day=_clean_day(records))


def _harm_days(records: WorkRecords) -> dict[tuple[Mechanism, Shown], int]:
    """Return when harm by a mechanism was last seen at its place: that place was seen then."""
    days: dict[tuple[Mechanism, Shown], int] = {}
    for row in records.sightings:
        mechanism = Mechanism.MOULD if _is_mould(row) else row.cause_mechanism
        if mechanism is None or row.on_first is None or row.change is Change.NOT_SEEN:
            continue
        key = mechanism, shows_at(row)
        days[key] = max(row.on_first, days.get(key, row.on_first))
    return days


def _clean_day(records: WorkRecords) -> int | None:
    """Return the last day on which somebody looked where mould shows and recorded none."""
    mouldy = {
        row.visit_id for row in records.sightings if _is_mould(row) and row.change not in _NOT_THERE
    }
    days = [
        visit.on_first
        for visit in records.visits
        if visit.id not in mouldy and _would_have_shown_mould(visit)
    ]
    return max((day for day in days if day is not None), default=None)


def _would_have_shown_mould(visit: VisitRow) -> bool:
    is_box_check = visit.kind is VisitKind.BOX_CHECK and not visit.stop_why
    return visit.seen_back_of_frame or visit.seen_verso or is_box_check


def _is_mould(row: SightingRow) -> bool:
    """Say whether a finding is growth, whatever cause was written down beside it."""
    return Mechanism.MOULD in (row.cause_mechanism, row.suggests_mechanism)


def shows_at(row: SightingRow) -> Shown:
    """Return the place at which a finding shows."""
    return where_it_shows(
        row.side, row.cause_mechanism, follows_window_edge=row.follows_window_edge
    )


def climates_before(
    records: WorkRecords, climate_of: Callable[[int], ClimateFacts]
) -> tuple[tuple[int, ClimateFacts], ...]:
    """Return the climates of the places before this one, each with the last day it held.

    A stay of which nobody knows the beginning counts from where the one before it
    began.
    """
    past: list[tuple[int, ClimateFacts]] = []
    for stay, following in pairwise(records.stays):
        if following.since_first is not None:
            past.append((following.since_first, climate_of(stay.place_id)))
    return tuple(past)


def places_seen_at(visit: VisitRow) -> tuple[Shown, ...]:
    """Return the places that a visit really saw."""
    told = (
        (Shown.FRONT, visit.seen_front),
        (Shown.BACK_OF_FRAME, visit.seen_back_of_frame),
        (Shown.MARGINS, visit.seen_margins),
        (Shown.VERSO, visit.seen_verso),
        (Shown.UNDER_HINGES, visit.seen_under_hinges),
    )
    return tuple(place for place, seen in told if seen)


def assumed_mounting_day(
    records: WorkRecords, policy: Policy, visit_day: int | None = None
) -> int | None:
    """Return the day taken for a mounting that nobody dated; None without any record of a day.

    `visit_day` is the day of a visit that is being recorded.
    """
    days = [records.work.recorded_on, visit_day, *(visit.on_first for visit in records.visits)]
    known = [day for day in days if day is not None]
    return add_months(min(known), -int(policy.assumed_mounted_months)) if known else None


def _nothing_known(records: WorkRecords, policy: Policy) -> PackageFacts:
    ended = [mount.dismounted_first for mount in records.mounts if mount.dismounted_first]
    day = max(ended) if ended else assumed_mounting_day(records, policy)
    return PackageFacts(
        front=Answer.UNKNOWN,
        behind=Answer.UNKNOWN,
        held=Answer.UNKNOWN,
        remains=records.remains_now,
        mounted_day=day,
        mounted_is_assumed=not ended,
    )


def _still_holds(hold: HoldRow) -> bool:
    return hold.outcome in (None, Outcome.TRIED_AND_LEFT)


def _gone_before(layer: LayerRow, mount: MountRow) -> bool:
    if not layer.ended:
        return False
    if layer.removed_visit_id is not None and layer.removed_visit_id == mount.mounted_visit_id:
        return True
    begun, gone = mount.mounted_first, layer.removed_last
    return gone is not None and begun is not None and gone < begun


def _came_after(layer: LayerRow, mount: MountRow) -> bool:
    if not mount.ended:
        return False
    if layer.fitted_visit_id is not None and layer.fitted_visit_id == mount.dismounted_visit_id:
        return True
    over, fitted = mount.dismounted_last, layer.fitted_first
    return over is not None and fitted is not None and fitted > over


def _remain_facts(row: RemainRow) -> RemainFacts:
    return RemainFacts(
        what=row.what,
        key=row.id,
        grade=row.grade,
        since_day=row.since_first,
        covers_all=row.covers_all,
        frees_by=row.frees_by,
    )


def _latest(one: int | None, other: int | None) -> int | None:
    days = [day for day in (one, other) if day is not None]
    return max(days, default=None)


class _OfWork(Protocol):
    @property
    def work_id(self) -> int: ...


_Row = TypeVar("_Row")
_WorkRow = TypeVar("_WorkRow", bound=_OfWork)


def _by_work(rows: Iterable[_WorkRow]) -> dict[int, tuple[_WorkRow, ...]]:
    return _by(rows, lambda row: row.work_id)


def _by(rows: Iterable[_Row], key: Callable[[_Row], int]) -> dict[int, tuple[_Row, ...]]:
    grouped: dict[int, list[_Row]] = defaultdict(list)
    for row in rows:
        grouped[key(row)].append(row)
    found: dict[int, tuple[_Row, ...]] = defaultdict(tuple)
    found.update({number: tuple(its) for number, its in grouped.items()})
    return found
