"""What is on record of some works, as far as a page or a forecast depends on it?

One statement for each kind of row, whatever the number of works: plain columns,
typed as they come. Withdrawn rows are left out, and so is every work that the
viewer may not see. Building a statement costs more than sending it, so each is
built once and kept. What is pending in the session must have been flushed.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from sqlalchemy import ColumnElement, ScalarSelect, Select, and_, bindparam, func, or_
from sqlalchemy import select as columns
from sqlalchemy.orm import Mapped, aliased
from sqlmodel import Session, col, select

from models.tables.findings import Finding, Sighting
from models.tables.forecasts import Forecast
from models.tables.grade_decisions import GradeDecision
from models.tables.kept_statements import WANTED, ask, send
from models.tables.materials import Lot, Material, MaterialFigures, Recall
from models.tables.mounts import Hold, Layer, Mount, Package, Remain
from models.tables.people import Owner, Person
from models.tables.postponements import put_off_together
from models.tables.terms import FindingTerm, MountMethod
from models.tables.visible import Viewer
from models.tables.visits import LayerTest, Visit
from models.tables.works import Stay, Technique, Work
from models.vocabulary import (
    Answer,
    BenchTest,
    CauseMount,
    Change,
    Distance,
    Edge,
    FreedBy,
    Freeing,
    Kept,
    KnownBy,
    LayerRole,
    LayerSide,
    Mechanism,
    Outcome,
    PatResult,
    Replaceability,
    Severity,
    Side,
    Surface,
    ValueBand,
    VisitKind,
)

Statement = Select[*tuple[Any, ...]]


class WorkRow(NamedTuple):
    """A work with its technique and the place where it is now; sizes in micrometres."""

    id: int
    code: str
    number: str
    title: str
    maker: str
    made_edtf: str | None
    support: str
    height_um: int | None
    width_um: int | None
    image_left_um: int | None
    image_top_um: int | None
    image_width_um: int | None
    image_height_um: int | None
    surface: Surface | None
    replaceability: Replaceability
    value_band: ValueBand
    light_class: int | None
    recorded_on: int | None
    note: str
    version: int
    technique: str | None
    technique_light_class: int | None
    technique_surface: Surface | None
    process_group: str | None
    groundwood_support: bool | None
    owner: str | None
    place_id: int | None
    place_since_first: int | None
    place_since_last: int | None
    has_moved: bool
    put_off: str | None
    advised_on: int | None
    score_day: int | None


class MountRow(NamedTuple):
    """A mount, its method, the answers of its package and who made and undid it."""

    id: int
    work_id: int
    package_id: int
    mount_no: int
    method: str | None
    floats: bool | None
    method_frees_by: Freeing | None
    in_front: Answer
    behind: Answer
    held: Answer
    reason: str
    mounted_edtf: str | None
    mounted_first: int | None
    mounted_last: int | None
    mounted_assumed: bool
    mounted_by: str | None
    mounted_visit_id: int | None
    found_visit_id: int | None
    ended: bool
    dismounted_edtf: str | None
    dismounted_first: int | None
    dismounted_last: int | None
    dismounted_by: str | None
    dismounted_visit_id: int | None
    dismount_reason: str
    harm_at_dismount: str
    inferred: bool
    by_unknown_hand: bool
    note: str
    version: int


class LayerRow(NamedTuple):
    """A layer with the newest figures of its material; `grade` is a person's own word."""

    id: int
    package_id: int
    position: int
    role: LayerRole
    side: LayerSide | None
    distance: Distance | None
    grade: str | None
    known_by: KnownBy | None
    covers_all: bool
    fitted_edtf: str | None
    fitted_first: int | None
    fitted_last: int | None
    fitted_visit_id: int | None
    ended: bool
    removed_edtf: str | None
    removed_first: int | None
    removed_last: int | None
    removed_visit_id: int | None
    condition: str
    kept: Kept | None
    belongs_to_work: bool
    windows: str | None
    note: str
    version: int
    material: str | None
    lot: str | None
    figures_grade: str | None
    frees_by: Freeing | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: PatResult | None
    pat_on: int | None
    buffered: str | None
    barrier: bool | None
    thickness_um: int | None
    uv_block_percent: float | None
    recalled_on: int | None


class HoldRow(NamedTuple):
    """A hold with the figures known when it was made and the newest ones."""

    id: int
    mount_id: int
    hold_no: int
    grade: str
    adhesive_grade: str | None
    known_by: KnownBy | None
    position: str
    hold_count: int | None
    clearance_um: int | None
    covers_all: bool
    since_edtf: str | None
    since_first: int | None
    freed_by: FreedBy | None
    outcome: Outcome | None
    residue: str
    outcome_visit_id: int | None
    note: str
    version: int
    material: str | None
    lot: str | None
    then_hold_grade: str | None
    then_grade: str | None
    newest_hold_grade: str | None
    newest_grade: str | None
    frees_by: Freeing | None
    pat: PatResult | None
    pat_on: int | None
    recalled_on: int | None


class StayRow(NamedTuple):
    """A stay of a work in a place."""

    work_id: int
    place_id: int
    since_edtf: str | None
    since_first: int | None
    since_last: int | None
    ended: bool
    ended_edtf: str | None
    ended_first: int | None
    ended_last: int | None


class RemainRow(NamedTuple):
    """What an earlier hold left on a work, and whether it is still there."""

    id: int
    work_id: int
    what: str
    grade: str | None
    frees_by: Freeing | None
    covers_all: bool
    since_edtf: str | None
    since_first: int | None
    ended: bool
    left_visit_id: int | None
    removed_visit_id: int | None


class VisitRow(NamedTuple):
    """A visit without its report's sightings."""

    id: int
    work_id: int
    visit_no: int
    on_edtf: str
    on_first: int | None
    kind: VisitKind
    reason: str
    by: str | None
    by_unknown_hand: bool
    minutes: int | None
    seen_front: bool
    seen_back_of_frame: bool
    seen_margins: bool
    seen_verso: bool
    seen_under_hinges: bool
    stop_why: str | None
    stop_left: str | None
    summary: str
    closed_as_it_was: bool
    to_write_up: bool
    walk_id: int | None
    recorded_by_id: int | None
    recorded_on: int | None
    version: int


class SightingRow(NamedTuple):
    """A sighting with its finding, its term, and the day of its visit."""

    id: int
    finding_id: int
    visit_id: int
    work_id: int
    finding_no: int
    finding_version: int
    term: str
    urgency: str
    urgent_sign: str
    shows_through_glazing: str
    caution: str
    suggests_mechanism: Mechanism | None
    side: Side
    edge: Edge | None
    first_reach_um: int | None
    follows_window_edge: bool
    region_left_um: int | None
    region_top_um: int | None
    region_width_um: int | None
    region_height_um: int | None
    cause_mechanism: Mechanism | None
    cause_mount: CauseMount | None
    cause_mount_id: int | None
    severity: Severity | None
    change: Change
    extent_percent: float | None
    reach_um: int | None
    note: str
    version: int
    on_edtf: str
    on_first: int | None
    visit_no: int


class BenchTestRow(NamedTuple):
    """A bench test of a layer with its day, and the decision on its layer that stands, if any."""

    id: int
    layer_id: int
    visit_id: int
    test: BenchTest
    result: str
    surface_ph: float | None
    on_first: int | None
    decided_grade: str | None
    grade_before: str | None
    decided_on: int | None
    decided_by: str | None


def work_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[WorkRow]:
    """Return the works of these numbers that the viewer may see."""
    return [WorkRow(*row) for row in send(session, viewer, _works, work_ids)]


def mount_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[MountRow]:
    """Return the mounts of these works, in their order."""
    return [MountRow(*row) for row in send(session, viewer, _mounts, work_ids)]


def layer_rows(session: Session, viewer: Viewer, package_ids: Sequence[int]) -> list[LayerRow]:
    """Return every layer these packages have or had, front to back."""
    return [LayerRow(*row) for row in send(session, viewer, _layers, package_ids)]


def hold_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[HoldRow]:
    """Return the holds of every mount of these works."""
    return [HoldRow(*row) for row in send(session, viewer, _holds, work_ids)]


def remain_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[RemainRow]:
    """Return what earlier mounts left on these works, gone or not."""
    return [RemainRow(*row) for row in send(session, viewer, _remains, work_ids)]


def stay_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[StayRow]:
    """Return the stays of these works as they followed each other, the current one last."""
    return [StayRow(*row) for row in send(session, viewer, _stays, work_ids)]


class VisitsRead(NamedTuple):
    """Visits, oldest first, an unknown day before all others, and their bench tests in order."""

    visits: list[VisitRow]
    tests: list[BenchTestRow]


def visit_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> VisitsRead:
    """Return the visits of these works and the bench tests made at them, in one statement."""
    return _visits_read(send(session, viewer, _visits, work_ids))


def visits_beside(session: Session, viewer: Viewer, visit_id: int) -> VisitsRead:
    """Return the same of the work of this visit; nothing where the viewer may not see it."""
    return _visits_read(send(session, viewer, _visits_beside, [visit_id]))


def _visits_read(rows: Iterable[Sequence[Any]]) -> VisitsRead:
    visits: dict[int, VisitRow] = {}
    tests: list[BenchTestRow] = []
    length = len(VisitRow._fields)
    for row in rows:
        # A visit comes once for each of its tests, and once where it has none.
        visit = VisitRow(*row[:length])
        visits.setdefault(visit.id, visit)
        if row[length] is not None:
            tests.append(BenchTestRow(*row[length:]))
    tests.sort(key=lambda test: (test.on_first is not None, test.on_first or 0, test.id))
    return VisitsRead(list(visits.values()), tests)


def sighting_rows(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[SightingRow]:
    """Return every sighting of every finding of these works, oldest first."""
    return [SightingRow(*row) for row in send(session, viewer, _sightings, work_ids)]


def works_in_packages(session: Session, package_ids: Sequence[int]) -> list[tuple[int, int]]:
    """Return (package, work) for every current mount in these packages, whoever may see it.

    Only for deciding what must be locked and worked out anew, never for showing.
    """
    session.flush()
    if not package_ids:
        return []
    found = ask(session, _IN_PACKAGES, package_ids)
    return [(package, work) for package, work in found]


_IN_PACKAGES = (
    columns(col(Mount.package_id), col(Mount.work_id))
    .where(
        col(Mount.package_id).in_(WANTED),
        ~col(Mount.ended),
        col(Mount.withdrawn_reason).is_(None),
    )
    .order_by(col(Mount.work_id))
)


def packages_now(session: Session, work_id: int) -> set[int]:
    """Return the packages in which a work is now, whoever may see it; for locking only."""
    return set(session.connection().execute(_PACKAGES_NOW, {"work_id": work_id}).scalars())


_PACKAGES_NOW = columns(col(Mount.package_id)).where(
    col(Mount.work_id) == bindparam("work_id"), ~col(Mount.ended)
)


class LastNumbers(NamedTuple):
    """The highest numbers given so far to what belongs to a work, withdrawn or not; 0 for none."""

    visit: int
    mount: int
    finding: int


def last_numbers(session: Session, work_id: int) -> LastNumbers:
    """Return which numbers of a work are taken; it must be locked while the next are given."""
    last = session.connection().execute(_LAST_NUMBERS, {"work_id": work_id}).one()
    return LastNumbers(*(number or 0 for number in last))


def _last(number: int, work_id: int) -> ScalarSelect[int | None]:
    last = columns(func.max(col(number))).where(col(work_id) == bindparam("work_id"))
    return last.scalar_subquery()


_LAST_NUMBERS = columns(
    _last(Visit.visit_no, Visit.work_id),
    _last(Mount.mount_no, Mount.work_id),
    _last(Finding.finding_no, Finding.work_id),
)


def _works(visible: ColumnElement[bool]) -> Statement:
    current = and_(
        col(Stay.work_id) == Work.id, ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
    )
    others = {
        "technique": Technique.name,
        "technique_light_class": Technique.light_class,
        "technique_surface": Technique.surface,
        "process_group": Technique.process_group,
        "groundwood_support": Technique.groundwood_support,
        "owner": Owner.name,
        "place_id": Stay.place_id,
        "place_since_first": Stay.since_first,
        "place_since_last": Stay.since_last,
        "has_moved": _has_moved().label("has_moved"),
        "put_off": put_off_together().label("put_off"),
        "advised_on": Forecast.advised_on,
        "score_day": Forecast.score_day,
    }
    found = columns(*_named(WorkRow, Work, others))
    found = found.select_from(Work).outerjoin(Technique).outerjoin(Owner).outerjoin(Stay, current)
    found = found.outerjoin(Forecast, col(Forecast.work_id) == Work.id)
    found = found.where(visible, col(Work.id).in_(WANTED))
    return found


def _has_moved() -> ColumnElement[bool]:
    left = aliased(Stay)
    its = columns(col(left.id)).where(
        col(left.work_id) == col(Work.id), col(left.ended), col(left.withdrawn_reason).is_(None)
    )
    return its.exists()


def _mounts(visible: ColumnElement[bool]) -> Statement:
    made, undid = aliased(Person), aliased(Person)
    method = {
        "method": MountMethod.name,
        "floats": MountMethod.floats,
        "method_frees_by": MountMethod.frees_by,
    }
    package = {"in_front": Package.in_front, "behind": Package.behind}
    names = {"mounted_by": made.name, "dismounted_by": undid.name}
    found = columns(*_named(MountRow, Mount, {**method, **package, **names}))
    found = found.select_from(Mount).join(Work).join(Package).outerjoin(MountMethod)
    found = found.outerjoin(made, col(made.id) == Mount.mounted_by_id)
    found = found.outerjoin(undid, col(undid.id) == Mount.dismounted_by_id)
    found = found.where(visible, col(Mount.work_id).in_(WANTED))
    found = found.where(col(Mount.withdrawn_reason).is_(None))
    found = found.order_by(col(Mount.work_id), col(Mount.mount_no))
    return found


def _layers(visible: ColumnElement[bool]) -> Statement:
    newest = aliased(MaterialFigures)
    figures = {
        "figures_grade": newest.grade,
        "frees_by": newest.frees_by,
        "ph": newest.ph,
        "alkaline_reserve_percent": newest.alkaline_reserve_percent,
        "kappa": newest.kappa,
        "pat": newest.pat,
        "pat_on": newest.pat_on,
        "buffered": newest.buffered,
        "barrier": newest.barrier,
        "thickness_um": newest.thickness_um,
        "uv_block_percent": newest.uv_block_percent,
    }
    recalled = _recalled_on(col(Layer.material_id), col(Layer.lot_id)).label("recalled_on")
    named = {"material": Material.name, "lot": Lot.number, **figures, "recalled_on": recalled}
    found = columns(*_named(LayerRow, Layer, named)).select_from(Layer)
    found = found.outerjoin(Material).outerjoin(Lot, col(Lot.id) == Layer.lot_id)
    found = found.outerjoin(newest, _is_newest(newest, col(Layer.material_id)))
    found = found.where(col(Layer.package_id).in_(WANTED), col(Layer.withdrawn_reason).is_(None))
    found = found.where(col(Layer.package_id).in_(_packages_of(visible)))
    found = found.order_by(col(Layer.package_id), col(Layer.position), col(Layer.id))
    return found


def _holds(visible: ColumnElement[bool]) -> Statement:
    then, newest = aliased(MaterialFigures), aliased(MaterialFigures)
    figures = {
        "then_hold_grade": then.hold_grade,
        "then_grade": then.grade,
        "newest_hold_grade": newest.hold_grade,
        "newest_grade": newest.grade,
        "frees_by": newest.frees_by,
        "pat": newest.pat,
        "pat_on": newest.pat_on,
    }
    recalled = _recalled_on(col(Hold.material_id), col(Hold.lot_id)).label("recalled_on")
    named = {"material": Material.name, "lot": Lot.number, **figures, "recalled_on": recalled}
    found = columns(*_named(HoldRow, Hold, named))
    found = found.select_from(Hold).join(Mount).join(Work)
    found = found.outerjoin(Material, col(Material.id) == Hold.material_id)
    found = found.outerjoin(Lot, col(Lot.id) == Hold.lot_id)
    found = found.outerjoin(then, col(then.id) == Hold.figures_id)
    found = found.outerjoin(newest, _is_newest(newest, col(Hold.material_id)))
    found = found.where(visible, col(Mount.work_id).in_(WANTED))
    found = found.where(col(Hold.withdrawn_reason).is_(None))
    found = found.order_by(col(Hold.mount_id), col(Hold.hold_no))
    return found


def _remains(visible: ColumnElement[bool]) -> Statement:
    found = columns(*_named(RemainRow, Remain, {})).select_from(Remain).join(Work)
    found = found.where(visible, col(Remain.work_id).in_(WANTED))
    found = found.where(col(Remain.withdrawn_reason).is_(None))
    return found.order_by(col(Remain.id))


def _stays(visible: ColumnElement[bool]) -> Statement:
    found = columns(*_named(StayRow, Stay, {})).select_from(Stay).join(Work)
    found = found.where(visible, col(Stay.work_id).in_(WANTED))
    found = found.where(col(Stay.withdrawn_reason).is_(None))
    order = (col(Stay.work_id), col(Stay.ended).desc(), col(Stay.since_first).nulls_first())
    return found.order_by(*order, col(Stay.id))


def _visits(visible: ColumnElement[bool]) -> Statement:
    return _visits_with_tests(visible).where(col(Visit.work_id).in_(WANTED))


def _visits_beside(visible: ColumnElement[bool]) -> Statement:
    asked = aliased(Visit)
    its_work = columns(col(asked.work_id)).where(col(asked.id).in_(WANTED))
    return _visits_with_tests(visible).where(col(Visit.work_id) == its_work.scalar_subquery())


def _visits_with_tests(visible: ColumnElement[bool]) -> Statement:
    decider = aliased(Person)
    decision = {
        "decided_grade": GradeDecision.grade,
        "grade_before": GradeDecision.grade_before,
        "decided_on": GradeDecision.decided_on,
        "decided_by": decider.name,
    }
    tests = _named(BenchTestRow, LayerTest, {"on_first": Visit.on_first, **decision})
    found = columns(*_named(VisitRow, Visit, {"by": Person.name}), *tests).select_from(Visit)
    found = found.join(Work, col(Work.id) == Visit.work_id)
    found = found.outerjoin(Person, col(Person.id) == Visit.by_id)
    is_its_test = and_(
        col(LayerTest.visit_id) == col(Visit.id), col(LayerTest.withdrawn_reason).is_(None)
    )
    stands = and_(
        col(GradeDecision.layer_id) == col(LayerTest.layer_id),
        col(GradeDecision.taken_back_on).is_(None),
    )
    found = found.outerjoin(LayerTest, is_its_test).outerjoin(GradeDecision, stands)
    found = found.outerjoin(decider, col(decider.id) == GradeDecision.decided_by_id)
    found = found.where(visible, col(Visit.withdrawn_reason).is_(None))
    order = (col(Visit.work_id), col(Visit.on_first).nulls_first(), col(Visit.visit_no))
    return found.order_by(*order)


def _sightings(visible: ColumnElement[bool]) -> Statement:
    finding = {
        name: getattr(Finding, name)
        for name in SightingRow._fields
        if hasattr(Finding, name) and name not in ("id", "reach_um", "version")
    }
    term = {
        name: getattr(FindingTerm, name)
        for name in (
            "term",
            "urgency",
            "urgent_sign",
            "shows_through_glazing",
            "caution",
            "suggests_mechanism",
        )
    }
    visit = {"on_edtf": Visit.on_edtf, "on_first": Visit.on_first, "visit_no": Visit.visit_no}
    its = {"first_reach_um": Finding.reach_um, "finding_version": Finding.version}
    named = {**finding, **term, **visit, **its}
    found = columns(*_named(SightingRow, Sighting, named)).select_from(Sighting)
    found = found.join(Finding).join(FindingTerm).join(Work, col(Work.id) == Finding.work_id)
    found = found.join(Visit, col(Visit.id) == Sighting.visit_id)
    found = found.where(visible, col(Finding.work_id).in_(WANTED))
    for table in (Sighting, Finding, Visit):
        found = found.where(col(table.withdrawn_reason).is_(None))
    order = (col(Finding.work_id), col(Visit.on_first).nulls_first(), col(Visit.visit_no))
    found = found.order_by(*order, col(Finding.finding_no))
    return found


def _named(
    row: type[tuple[object, ...]], table: type[object], others: Mapping[str, object]
) -> list[Any]:
    """Return the columns of a row in its order: those named, the rest of the table itself."""
    return [others[name] if name in others else getattr(table, name) for name in _fields(row)]


def _fields(row: type[tuple[object, ...]]) -> tuple[str, ...]:
    fields: tuple[str, ...] = getattr(row, "_fields")  # noqa: B009
    return fields


def _is_newest(
    newest: type[MaterialFigures], material_id: Mapped[int | None]
) -> ColumnElement[bool]:
    other = aliased(MaterialFigures)
    last = select(func.max(other.edition)).where(other.material_id == material_id)
    return and_(
        col(newest.material_id) == material_id,
        col(newest.edition) == last.correlate_except(other).scalar_subquery(),
    )


def _recalled_on(
    material_id: Mapped[int | None], lot_id: Mapped[int | None]
) -> ScalarSelect[int | None]:
    """Return the day of the first open recall of a material or of one lot of it."""
    called = columns(func.min(col(Recall.called_on))).where(col(Recall.lifted_on).is_(None))
    is_meant = or_(col(Recall.material_id) == material_id, col(Recall.lot_id) == lot_id)
    return called.where(is_meant).correlate_except(Recall).scalar_subquery()


def _packages_of(visible: ColumnElement[bool]) -> Select[int]:
    # Said of the packages asked for alone: SQLite would read the mounts of all works.
    found = columns(col(Mount.package_id)).join(Work)
    return found.where(visible, col(Mount.package_id).in_(WANTED))
