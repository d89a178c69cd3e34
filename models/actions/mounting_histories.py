"""What does the whole history of the mounts of a work, or of all works, say row by row?

One row for each layer and each hold of every mount, oldest mount first, layers
front to back, then holds; a mount of which nothing is recorded has one row. The
layers are those that were in the package while the mount lasted, as far as that
is certain. Of all works the history is read batch by batch, each in a short
transaction of its own, and made while it is read.

What was found belongs to the mount in which the work was when it was unframed:
the visit that took it out is the last of that mount and no part of the next.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.history_judgements import HistoryJudge, JudgedMount, ends_before
from models.actions.in_force import figures_now
from models.database import read_session
from models.exchange.mounting_history import HOLD, Cell, HistoryRow
from models.rules.calendar_days import day_date, years_between
from models.rules.inspection_schedule import shown_day
from models.rules.mat_windows import read_windows, windows_said
from models.rules.place_tree import PlaceNode, PlaceTree
from models.tables.history import (
    FiguresLine,
    HistoryReader,
    HistoryRecords,
    HoldLine,
    LayerLine,
    MountLine,
    RemainLine,
    StayLine,
    UnframingLine,
)
from models.tables.register import get_work
from models.tables.visible import Viewer
from models.vocabulary import MICROMETRES_PER_MM, Change

UNKNOWN_HAND = "unknown hand"
NOTHING_FOUND = "nothing found"
REMOVED_SINCE = "removed since"
BETWEEN = "; "

# What a sighting says is better than how strong the finding was: it is no longer there as it was.
_SAID_BY_CHANGE = frozenset({Change.TREATED.value, Change.NO_LONGER_VISIBLE.value})

Cells = tuple[Cell, ...]
_NO_FIGURES: Cells = (None,) * 5
_NO_LAYER: Cells = (None,) * 17


def history_of_work(
    session: Session, viewer: Viewer, work_id: int, *, today: int
) -> Iterator[HistoryRow]:
    """Return the history of one work to the day `today`, read at once. Raises NotFound."""
    work = get_work(session, viewer, work_id)
    records = HistoryReader(viewer).one_work(session, work.number)
    return iter(_rows(records, HistoryJudge(figures_now(session), today), today))


def history_of_all(engine: Engine, viewer: Viewer, *, today: int) -> Iterator[HistoryRow]:
    """Yield the history of all works that the viewer may see, by number."""
    with read_session(engine) as session:
        figures = figures_now(session)
    reader, judge = HistoryReader(viewer), HistoryJudge(figures, today)
    after: str | None = None
    while True:
        with read_session(engine) as session:
            records = reader.next_works(session, after)
        if records is None:
            return
        yield from _rows(records, judge, today)
        after = records.last_number


def _rows(records: HistoryRecords, judge: HistoryJudge, today: int) -> list[HistoryRow]:
    judge.learn(records)
    told = _Told.of(records)
    rows: list[HistoryRow] = []
    for mount in records.mounts:
        layers = records.layers.get(mount.id, ())
        holds = records.holds.get(mount.id, ())
        judged = judge.judge(mount, layers, holds, records.tests)
        rows += _rows_of_mount(told, mount, layers, holds, judged, today)
    return rows


@dataclass(frozen=True)
class _Told:
    """The records of some works, as their rows need them."""

    records: HistoryRecords
    places: Mapping[int, str]
    materials: Mapping[int, str]
    grades: Mapping[int, str | None]
    figures: Mapping[int, Cells]
    dismounted_at: Mapping[int, int]

    @classmethod
    def of(cls, records: HistoryRecords) -> "_Told":
        tree = PlaceTree(
            PlaceNode(key=p.id, parent=p.parent_id, name=p.name) for p in records.places
        )
        editions = {line.figures_id: line for line in records.figures if line.figures_id}
        return cls(
            records=records,
            places={place.id: tree.path(place.id) for place in records.places},
            materials={line.material_id: line.material for line in records.figures},
            grades={key: line.grade for key, line in editions.items()},
            figures={key: _figure_cells(line) for key, line in editions.items()},
            dismounted_at={
                mount.dismounted_visit_id: mount.id
                for mount in records.mounts
                if mount.dismounted_visit_id is not None
            },
        )


def _figure_cells(line: FiguresLine) -> Cells:
    um = line.thickness_um
    thickness_mm = None if um is None else um / MICROMETRES_PER_MM
    return line.ph, line.alkaline_reserve_percent, line.kappa, line.pat, thickness_mm


class _MountCells(NamedTuple):
    """What the rows of one mount share: cells before, between and after those of a row's own."""

    begin: Cells
    left: str | None
    # Since when it holds, unless a hold was said to be older or younger than its mount.
    since: str | None
    middle: Cells
    end: Cells


def _rows_of_mount(
    told: _Told,
    mount: MountLine,
    layers: Sequence[LayerLine],
    holds: Sequence[HoldLine],
    judged: JudgedMount,
    today: int,
) -> list[HistoryRow]:
    remains = told.records.remains.get(mount.work_id, ())
    shared = _MountCells(
        begin=_begin(told, mount, today),
        left=_left_at_dismount(mount, remains) if remains else None,
        since=mount.mounted_edtf,
        middle=(mount.harm_at_dismount or None, judged.freeing),
        end=(
            _found_when_unframed(told, mount),
            _next_unframing_on(mount, today),
            None,
            _note(mount),
        ),
    )
    rows = _rows_of_layers(told, shared, layers, judged)
    rows += [
        _row_of_hold(told, shared, hold, verdict, remains)
        for hold, verdict in zip(holds, judged.holds, strict=True)
    ]
    if not rows:
        came_off: Cells = (None, None, None, shared.left)
        rows = [shared.begin + came_off + shared.middle + _NO_LAYER + shared.end]
    # As `HistoryRow._make` does, three times as fast.
    return list(map(partial(tuple.__new__, HistoryRow), rows))


def _rows_of_layers(
    told: _Told, shared: _MountCells, layers: Sequence[LayerLine], judged: JudgedMount
) -> list[Cells]:
    begin = (*shared.begin, None, None, None, shared.left, *shared.middle)
    return [
        begin
        + (number, line.role, its.side, None)
        + _material(told, line)
        + (its.distance, line.fitted_edtf, line.removed_edtf)
        + told.figures.get(line.figures_id or 0, _NO_FIGURES)
        + (its.verdict,)
        + (_end_of_layer(line, shared.end) if _has_an_end(line) else shared.end)
        for number, (line, its) in enumerate(zip(layers, judged.layers, strict=True), start=1)
    ]


def _row_of_hold(
    told: _Told,
    shared: _MountCells,
    hold: HoldLine,
    verdict: str,
    remains: Sequence[RemainLine],
) -> Cells:
    left = _joined(_left_by_hold(hold, remains), shared.left) if remains else None
    found, next_on, kept, note = shared.end
    return (
        *shared.begin,
        *(hold.freed_by, hold.outcome, hold.residue or None, left),
        *shared.middle,
        *(hold.hold_no, HOLD, hold.position or None, hold.hold_count),
        *_material(told, hold),
        *(None, hold.since_edtf or shared.since, None),
        *told.figures.get(hold.figures_id or 0, _NO_FIGURES),
        verdict,
        *(found, next_on, kept, _joined(_clearance(hold), hold.note, note)),
    )


def _clearance(hold: HoldLine) -> str | None:
    um = hold.clearance_um
    return None if um is None else f"clearance {um / MICROMETRES_PER_MM:g} mm"


def _has_an_end(line: LayerLine) -> bool:
    return bool(line.ended or line.note or line.windows)


def _end_of_layer(line: LayerLine, end: Cells) -> Cells:
    found, next_on, _, note = end
    seen = _joined(found, line.condition) if line.condition else found
    windows = windows_said(read_windows(line.windows)) if line.windows else ""
    its_note = _joined(line.note, windows, note) if line.note or windows else note
    return seen, next_on, line.kept, its_note


def _material(told: _Told, line: LayerLine | HoldLine) -> Cells:
    grade = line.grade or told.grades.get(line.figures_id or 0)
    return told.materials.get(line.material_id or 0), grade, line.known_by, line.lot


def _begin(told: _Told, mount: MountLine, today: int) -> Cells:
    """Return the first cells, which all rows of a mount share: from the number to the years."""
    made_by = mount.mounted_by or (UNKNOWN_HAND if mount.by_unknown_hand else None)
    return (
        mount.work_number,
        mount.work_title,
        mount.mount_no,
        mount.package_id,
        BETWEEN.join(told.records.shared.get(mount.id, ())) or None,
        _place(told, mount),
        mount.method,
        mount.reason or None,
        mount.mounted_edtf,
        made_by,
        mount.dismounted_edtf,
        mount.dismounted_by,
        _years_mounted(mount, today),
    )


def _years_mounted(mount: MountLine, today: int) -> float | None:
    """Return years from first day to first day; none from a day that was only assumed."""
    end = mount.dismounted_first if mount.ended else today
    if mount.mounted_first is None or mount.mounted_assumed or end is None:
        return None
    # A half-known end may seem to come before the beginning: then nobody knows.
    years = round(years_between(mount.mounted_first, end), 1)
    return years if years >= 0 else None


def _next_unframing_on(mount: MountLine, today: int) -> str | None:
    """Return the day as everywhere else: one that is past is due today."""
    on = None if mount.ended else shown_day(mount.unframing_on, today)
    return None if on is None else day_date(on).isoformat()


def _note(mount: MountLine) -> str | None:
    if not (mount.note or mount.dismount_reason or mount.inferred):
        return None
    what = "dismounted" if mount.ended else "tried and left"
    taken_out = f"{what}: {mount.dismount_reason}" if mount.dismount_reason else None
    inferred = "inferred from its traces" if mount.inferred else None
    return _joined(mount.note, inferred, taken_out)


def _place(told: _Told, mount: MountLine) -> str | None:
    """Return where the work was in this mount, the last of its places."""
    stays = told.records.stays.get(mount.work_id, ())
    there = [stay for stay in stays if _overlaps(stay, mount)]
    if not there:
        return None
    # A work that was moved on the very day it was taken out hung where it had been.
    before = [stay for stay in there if not _began_on_its_last_day(stay, mount)]
    return told.places[(before or there)[-1].place_id]


def _overlaps(stay: StayLine, mount: MountLine) -> bool:
    is_over = stay.ended and ends_before(stay.ended_last, mount.mounted_first)
    is_later = mount.ended and ends_before(mount.dismounted_last, stay.since_first)
    return not is_over and not is_later


def _began_on_its_last_day(stay: StayLine, mount: MountLine) -> bool:
    return (
        bool(mount.ended)
        and stay.since_first is not None
        and (stay.since_first == mount.dismounted_last)
    )


def _found_when_unframed(told: _Told, mount: MountLine) -> str | None:
    """Return each finding once, as it was seen last in this mount."""
    unframings = told.records.unframings.get(mount.work_id, ())
    during = [line for line in unframings if _is_of(told, mount, line)]
    sightings = [u for u in during if u.finding_id is not None and u.change != Change.NOT_SEEN]
    last = {line.finding_id: line for line in sightings}
    seen = [_sighting(line) for line in last.values()]
    if not seen and any(line.saw_inside for line in during):
        return NOTHING_FOUND
    return BETWEEN.join(seen) or None


def _is_of(told: _Told, mount: MountLine, line: UnframingLine) -> bool:
    """Say whether the work was in this mount when it was unframed, as far as is certain."""
    if line.visit_id in told.dismounted_at:
        return told.dismounted_at[line.visit_id] == mount.id
    if line.visit_id == mount.mounted_visit_id:
        return False
    if mount.ended and mount.dismounted_last is None:
        return False
    return not (
        ends_before(line.on_last, mount.mounted_first)
        or (mount.ended and ends_before(mount.dismounted_last, line.on_first))
    )


def _sighting(line: UnframingLine) -> str:
    how = line.change if line.change in _SAID_BY_CHANGE else line.severity
    return f"{line.term} ({how})" if how else str(line.term)


def _left_at_dismount(mount: MountLine, remains: Iterable[RemainLine]) -> str | None:
    visit = mount.dismounted_visit_id
    left = [r for r in remains if r.hold_id is None and r.left_visit_id == visit]
    return _joined(*map(_remain, left)) if visit is not None else None


def _left_by_hold(hold: HoldLine, remains: Iterable[RemainLine]) -> str | None:
    return _joined(*(_remain(remain) for remain in remains if remain.hold_id == hold.id))


def _remain(remain: RemainLine) -> str:
    return f"{remain.what} ({REMOVED_SINCE})" if remain.ended else remain.what


def _joined(*texts: Cell) -> str | None:
    return BETWEEN.join([str(text) for text in texts if text]) or None
