"""What is on record of every mount of some works, for the mounting history?

Read in batches of works in the order of their numbers, each batch with the same
few statements however many rows they give: a long export never holds the
database for long. Plain tuples straight from the database, no records: at
hundreds of thousands of rows anything more would take longer than the file.

Withdrawn rows are left out, and so is every work that the viewer may not see,
its number in `shared` included. A layer belongs to a mount unless it certainly
was removed before the mount began, or fitted after it ended.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import (
    ColumnElement,
    Select,
    Text,
    and_,
    bindparam,
    case,
    exists,
    false,
    func,
    or_,
    select,
    type_coerce,
)
from sqlalchemy.orm import aliased
from sqlalchemy.types import NullType
from sqlmodel import Session, col

from models.tables.findings import Finding, Sighting
from models.tables.forecasts import Forecast
from models.tables.materials import Lot, Material, MaterialFigures, Recall
from models.tables.mounts import Hold, Layer, Mount, Package, Remain
from models.tables.people import Person
from models.tables.places import Place
from models.tables.terms import FindingTerm, MountMethod
from models.tables.visible import Viewer, visible_works
from models.tables.visits import LayerTest, Visit
from models.tables.works import Stay, Technique, Work
from models.vocabulary import VisitKind

# Works read in one transaction: some thousand rows, a fraction of a second.
WORKS_AT_A_TIME = 500


class MountLine(NamedTuple):
    """One mount with its work, its method, and who made and undid it; days as day numbers."""

    id: int
    work_id: int
    work_number: str
    work_title: str
    process_group: str | None
    mount_no: int
    package_id: int
    method: str | None
    floats: bool | None
    in_front: str
    behind: str
    held: str
    reason: str
    mounted_edtf: str | None
    mounted_first: int | None
    mounted_last: int | None
    mounted_assumed: bool
    mounted_by: str | None
    mounted_visit_id: int | None
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
    unframing_on: int | None


class LayerLine(NamedTuple):
    """One layer as it was in one mount."""

    mount_id: int
    id: int
    role: str
    side: str | None
    distance: str | None
    grade: str | None
    known_by: str | None
    covers_all: bool
    material_id: int | None
    figures_id: int | None
    lot_id: int | None
    lot: str | None
    position: int
    fitted_edtf: str | None
    fitted_first: int | None
    fitted_visit_id: int | None
    ended: bool
    removed_edtf: str | None
    removed_first: int | None
    removed_last: int | None
    removed_visit_id: int | None
    condition: str
    kept: str | None
    windows: str | None
    note: str


class HoldLine(NamedTuple):
    """One hold of one mount."""

    mount_id: int
    id: int
    hold_no: int
    grade: str
    adhesive_grade: str | None
    known_by: str | None
    covers_all: bool
    material_id: int | None
    figures_id: int | None
    lot_id: int | None
    lot: str | None
    position: str
    hold_count: int | None
    clearance_um: int | None
    since_edtf: str | None
    freed_by: str | None
    outcome: str | None
    residue: str
    note: str


class RemainLine(NamedTuple):
    """What a hold left on a work; `ended` when a treatment has removed it."""

    work_id: int
    hold_id: int | None
    left_visit_id: int | None
    what: str
    ended: bool


class UnframingLine(NamedTuple):
    """One unframing with one of its sightings, or with none."""

    work_id: int
    visit_id: int
    on_first: int | None
    on_last: int | None
    saw_inside: bool
    finding_id: int | None
    term: str | None
    severity: str | None
    change: str | None


class StayLine(NamedTuple):
    """One stay of a work in a place."""

    work_id: int
    id: int
    place_id: int
    since_first: int | None
    ended: bool
    ended_last: int | None


class FiguresLine(NamedTuple):
    """A material with one edition of its figures; none yet: `figures_id` is None."""

    material_id: int
    material: str
    figures_id: int | None
    edition: int | None
    grade: str | None
    hold_grade: str | None
    frees_by: str | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: str | None
    buffered: str | None
    barrier: bool | None
    thickness_um: int | None


class PlaceLine(NamedTuple):
    """A place and the place around it."""

    id: int
    parent_id: int | None
    name: str


class SharedLine(NamedTuple):
    """A mount, and the number of another work in its package at that time."""

    mount_id: int
    number: str


class RecallLine(NamedTuple):
    """A material or a lot that is called back."""

    material_id: int | None
    lot_id: int | None


class TestLine(NamedTuple):
    """A bench test of a layer."""

    layer_id: int
    test: str
    result: str


@dataclass(frozen=True, kw_only=True)
class HistoryRecords:
    """All that the history of some works is made of; `last_number` is where the next begin."""

    last_number: str
    mounts: Sequence[MountLine]
    layers: Mapping[int, Sequence[LayerLine]]
    holds: Mapping[int, Sequence[HoldLine]]
    shared: Mapping[int, Sequence[str]]
    remains: Mapping[int, Sequence[RemainLine]]
    unframings: Mapping[int, Sequence[UnframingLine]]
    stays: Mapping[int, Sequence[StayLine]]
    tests: Mapping[int, Sequence[TestLine]]
    places: Sequence[PlaceLine]
    figures: Sequence[FiguresLine]
    recalled_materials: frozenset[int]
    recalled_lots: frozenset[int]


_FIRST, _LAST = bindparam("first_number", type_=Text), bindparam("last_number", type_=Text)


def count_without_mount(session: Session, viewer: Viewer) -> tuple[int, int]:
    """Return how many works the viewer sees, and of how many no mount is on record."""
    has_mount = exists().where(
        col(Mount.work_id) == col(Work.id), col(Mount.withdrawn_reason).is_(None)
    )
    found = select(func.count(), func.count(case((~has_mount, 1)))).select_from(Work)
    works, without = session.connection().execute(found.where(visible_works(viewer))).one()
    return int(works), int(without)


class HistoryReader:
    """Reads what one viewer may see; its statements are made once, for any number of batches."""

    def __init__(self, viewer: Viewer) -> None:
        self._viewer = viewer
        ours = and_(visible_works(viewer), _is_in_span(Work))
        self._mounts = _mounts(ours)
        self._layers = _layers(ours)
        self._holds = _holds(ours)
        self._shared = _shared(visible_works(viewer))
        self._remains = _remains(ours)
        self._unframings = _unframings(ours)
        self._stays = _stays(ours)
        self._tests = _tests(ours)

    def next_works(self, session: Session, after: str | None = None) -> HistoryRecords | None:
        """Return what is on record of the next works by number; None when there are no more."""
        number = col(Work.number)
        found = select(number).where(visible_works(self._viewer))
        found = found.order_by(number).limit(WORKS_AT_A_TIME)
        if after is not None:
            found = found.where(number > after)
        numbers = session.connection().execute(found).scalars().all()
        return self._records(session, numbers[0], numbers[-1]) if numbers else None

    def one_work(self, session: Session, number: str) -> HistoryRecords:
        """Return what is on record of the work of this number, if the viewer may see it."""
        return self._records(session, number, number)

    def _records(self, session: Session, first: str, last: str) -> HistoryRecords:
        read = _Reading(session, {"first_number": first, "last_number": last})
        recalls = read.lines(RecallLine, _RECALLS)
        shared: dict[int, list[str]] = defaultdict(list)
        for mount_id, number in read.lines(SharedLine, self._shared):
            shared[mount_id].append(number)
        return HistoryRecords(
            last_number=last,
            mounts=read.lines(MountLine, self._mounts),
            layers=_by_first(read.lines(LayerLine, self._layers)),
            holds=_by_first(read.lines(HoldLine, self._holds)),
            shared=shared,
            remains=_by_first(read.lines(RemainLine, self._remains)),
            unframings=_by_first(read.lines(UnframingLine, self._unframings)),
            stays=_by_first(read.lines(StayLine, self._stays)),
            tests=_by_first(read.lines(TestLine, self._tests)),
            places=read.lines(PlaceLine, _PLACES),
            figures=read.lines(FiguresLine, _FIGURES),
            recalled_materials=frozenset(of for of, _ in recalls if of is not None),
            recalled_lots=frozenset(lot for _, lot in recalls if lot is not None),
        )


def _is_in_span(work: type[Work]) -> ColumnElement[bool]:
    # PostgreSQL refuses a collation inside BETWEEN.
    number = col(work.number)
    return and_(number >= _FIRST, number <= _LAST)


_Line = TypeVar("_Line", bound=tuple[Any, ...])


@dataclass(frozen=True)
class _Reading:
    """One batch being read: works by number, from the first to the last."""

    session: Session
    span: Mapping[str, str]

    def lines(self, line: type[_Line], found: Select[*tuple[Any, ...]]) -> list[_Line]:
        rows = self.session.connection().execute(found, self.span).all()
        # As `line._make` does, three times as fast.
        return list(map(partial(tuple.__new__, line), rows))


def _by_first(lines: Iterable[_Line]) -> dict[int, list[_Line]]:
    """Group lines by their first column, in the order in which they come."""
    grouped: dict[int, list[_Line]] = defaultdict(list)
    for line in lines:
        grouped[line[0]].append(line)
    return grouped


def _plain(
    lines: type[NamedTuple], table: type[Any], others: Mapping[str, object]
) -> Select[*tuple[Any, ...]]:
    """Select the columns of a line as the database has them, from the table or as named."""
    chosen = [others[n] if n in others else getattr(table, n) for n in lines._fields]
    return select(*(type_coerce(column, NullType()) for column in chosen))


def _mounts(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    made, undid = aliased(Person), aliased(Person)
    others = {
        "work_number": Work.number,
        "work_title": Work.title,
        "process_group": Technique.process_group,
        "method": MountMethod.name,
        "floats": MountMethod.floats,
        "in_front": Package.in_front,
        "behind": Package.behind,
        "mounted_by": made.name,
        "dismounted_by": undid.name,
        "unframing_on": Forecast.unframing_on,
    }
    found = _plain(MountLine, Mount, others).select_from(Work)
    found = found.join(Mount, col(Mount.work_id) == Work.id)
    found = found.join(Package, col(Package.id) == Mount.package_id)
    found = found.outerjoin(Technique, col(Technique.id) == Work.technique_id)
    found = found.outerjoin(MountMethod, col(MountMethod.id) == Mount.method_id)
    found = found.outerjoin(made, col(made.id) == Mount.mounted_by_id)
    found = found.outerjoin(undid, col(undid.id) == Mount.dismounted_by_id)
    found = found.outerjoin(Forecast, col(Forecast.work_id) == Work.id)
    found = found.where(ours, col(Mount.withdrawn_reason).is_(None))
    return found.order_by(col(Work.number), col(Mount.mount_no))


def _layers(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    gone_before = and_(
        col(Layer.ended),
        or_(
            col(Layer.removed_visit_id) == Mount.mounted_visit_id,
            col(Layer.removed_last) < col(Mount.mounted_first),
        ),
    )
    came_after = and_(
        col(Mount.ended),
        or_(
            col(Layer.fitted_visit_id) == Mount.dismounted_visit_id,
            col(Layer.fitted_first) > col(Mount.dismounted_last),
        ),
    )
    found = _plain(LayerLine, Layer, {"mount_id": Mount.id, "lot": Lot.number}).select_from(Work)
    found = found.join(Mount, col(Mount.work_id) == Work.id)
    found = found.join(Layer, col(Layer.package_id) == Mount.package_id)
    found = found.outerjoin(Lot, col(Lot.id) == Layer.lot_id)
    found = found.where(ours, col(Mount.withdrawn_reason).is_(None))
    found = found.where(col(Layer.withdrawn_reason).is_(None))
    found = found.where(~func.coalesce(gone_before, false()), ~func.coalesce(came_after, false()))
    return found.order_by(
        col(Work.number),
        col(Mount.mount_no),
        col(Layer.position),
        col(Layer.fitted_first).nulls_first(),
        col(Layer.id),
    )


def _holds(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    found = _plain(HoldLine, Hold, {"lot": Lot.number}).select_from(Work)
    found = found.join(Mount, col(Mount.work_id) == Work.id)
    found = found.join(Hold, col(Hold.mount_id) == Mount.id)
    found = found.outerjoin(Lot, col(Lot.id) == Hold.lot_id)
    found = found.where(ours, col(Mount.withdrawn_reason).is_(None))
    found = found.where(col(Hold.withdrawn_reason).is_(None))
    return found.order_by(col(Work.number), col(Mount.mount_no), col(Hold.hold_no))


def _remains(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    found = _plain(RemainLine, Remain, {}).select_from(Work)
    found = found.join(Remain, col(Remain.work_id) == Work.id)
    found = found.where(ours, col(Remain.withdrawn_reason).is_(None))
    return found.order_by(col(Remain.id))


def _unframings(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    saw_inside = or_(
        col(Visit.seen_margins), col(Visit.seen_verso), col(Visit.seen_under_hinges)
    ).label("saw_inside")
    others = {
        "visit_id": Visit.id,
        "saw_inside": saw_inside,
        "finding_id": Finding.id,
        "term": FindingTerm.term,
        "severity": Sighting.severity,
        "change": Sighting.change,
    }
    sighting_counts = and_(
        col(Sighting.visit_id) == Visit.id, col(Sighting.withdrawn_reason).is_(None)
    )
    finding_counts = and_(
        col(Finding.id) == Sighting.finding_id, col(Finding.withdrawn_reason).is_(None)
    )
    found = _plain(UnframingLine, Visit, others).select_from(Work)
    found = found.join(Visit, col(Visit.work_id) == Work.id)
    found = found.outerjoin(Sighting, sighting_counts).outerjoin(Finding, finding_counts)
    found = found.outerjoin(FindingTerm, col(FindingTerm.id) == Finding.term_id)
    found = found.where(ours, col(Visit.kind) == VisitKind.UNFRAMING)
    found = found.where(col(Visit.withdrawn_reason).is_(None))
    order = (col(Visit.on_first).nulls_first(), col(Visit.visit_no), col(Finding.finding_no))
    return found.order_by(col(Work.number), *order)


def _stays(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    found = _plain(StayLine, Stay, {}).select_from(Work)
    found = found.join(Stay, col(Stay.work_id) == Work.id)
    found = found.where(ours, col(Stay.withdrawn_reason).is_(None))
    # The current stay is the last; a stay of unknown beginning comes before any that is dated.
    order = (col(Stay.ended).desc(), col(Stay.since_first).nulls_first(), col(Stay.id))
    return found.order_by(col(Work.number), *order)


def _tests(ours: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    found = _plain(TestLine, LayerTest, {}).select_from(Work)
    found = found.join(Visit, col(Visit.work_id) == Work.id)
    found = found.join(LayerTest, col(LayerTest.visit_id) == Visit.id)
    found = found.where(ours, col(Visit.withdrawn_reason).is_(None))
    # By a sum, or SQLite would read every test there is in the order of its key.
    return found.where(col(LayerTest.withdrawn_reason).is_(None)).order_by(col(LayerTest.id) + 0)


def _shared(visible: ColumnElement[bool]) -> Select[*tuple[Any, ...]]:
    """Select, for each mount, the other works in its package at that time."""
    mine, other, own = aliased(Mount), aliased(Mount), aliased(Work)
    before = and_(col(other.ended), col(other.dismounted_last) < col(mine.mounted_first))
    after = and_(col(mine.ended), col(other.mounted_first) > col(mine.dismounted_last))
    in_package = and_(
        col(other.package_id) == mine.package_id, col(other.work_id) != col(mine.work_id)
    )
    found = _plain(SharedLine, Work, {"mount_id": mine.id}).select_from(own)
    found = found.join(mine, col(mine.work_id) == own.id).join(other, in_package)
    found = found.join(Work, col(Work.id) == other.work_id)
    found = found.where(_is_in_span(own), visible)
    found = found.where(col(mine.withdrawn_reason).is_(None), col(other.withdrawn_reason).is_(None))
    found = found.where(~func.coalesce(before, false()), ~func.coalesce(after, false()))
    return found.distinct().order_by(col(Work.number))


_PLACES = _plain(PlaceLine, Place, {})
_FIGURES = (
    _plain(
        FiguresLine,
        MaterialFigures,
        {"material_id": Material.id, "material": Material.name, "figures_id": MaterialFigures.id},
    )
    .select_from(Material)
    .outerjoin(MaterialFigures, col(MaterialFigures.material_id) == Material.id)
    .order_by(col(Material.id), col(MaterialFigures.edition))
)
_RECALLS = select(col(Recall.material_id), col(Recall.lot_id)).where(
    col(Recall.lifted_on).is_(None)
)
