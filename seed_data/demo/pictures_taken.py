"""Which photographs are there of the invented collection, and what had been found by then?

Every work has one at least: of the sheet when it was last out of its frame, of the frame
where nobody has opened it. Where a visit found something, there is one of that day, so
that an earlier one shows the earlier reach; where it was found on the back, one of the back.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from sqlmodel import Session, col, select

from models.actions.finding_outlines import record_corners
from models.actions.photographs import PhotographTold, add_photograph
from models.actions.window_edges import record_window_edge
from models.actions.works import ImageTold, WorkTold
from models.exchange.kept_photographs import PictureKept
from models.rules.record_values import Millimetres
from models.rules.visit_as_told import MountTold, SightingTold, VisitTold
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.vocabulary import (
    Change,
    LayerRole,
    PhotographStage,
    PhotographView,
    Severity,
    Side,
    VisitKind,
)
from seed_data.demo.builds import BLACK_BOARD, GROUNDWOOD, HOUSE, NOTHING_KNOWN
from seed_data.demo.deeds import Came, Deed, Visited, Walked
from seed_data.demo.drawn_images import Colour
from seed_data.demo.drawn_photographs import WOVE, Corners, MarkDrawn, SheetDrawn
from seed_data.demo.register import read_works

STRENGTH = {Severity.SLIGHT: 0.5, Severity.MODERATE: 0.75, Severity.SEVERE: 1.0}
# Too small to be drawn.
DUST = "dust inside the package"
# What the face and bevel of a window mat look like, where they do not look like new board.
MATS: dict[str, Colour] = {
    GROUNDWOOD: (0.85, 0.76, 0.60),
    NOTHING_KNOWN: (0.87, 0.81, 0.69),
    BLACK_BOARD: (0.17, 0.16, 0.16),
}


@dataclass(frozen=True, kw_only=True)
class PictureTaken:
    """A photograph of a work on a day; at its visit of that day if there was one."""

    number: str
    on: str
    view: PhotographView
    stage: PhotographStage | None
    marks: tuple[MarkDrawn, ...] = ()
    mat: Colour = WOVE

    @property
    def file_name(self) -> str:
        """Return the name that the file has."""
        said = "in frame" if self.stage is PhotographStage.IN_FRAME else str(self.view)
        return f"{self.number} {self.on} {said}.jpg".replace(" ", "_").replace("/", "-")


@dataclass(frozen=True, kw_only=True)
class PictureReady:
    """A photograph that is drawn and kept, and the corners of sheet and window on it."""

    taken: PictureTaken
    kept: PictureKept
    corners: Corners | None
    window: Corners | None = None


@dataclass
class _Life:
    """What has become of one work so far."""

    marks: list[MarkDrawn | None] = field(default_factory=list)
    mat: Colour = WOVE
    pictures: list[PictureTaken] = field(default_factory=list)
    last_sheet: PictureTaken | None = None

    def now(self) -> tuple[MarkDrawn, ...]:
        """Return what is there to be seen."""
        return tuple(mark for mark in self.marks if mark is not None)


def pictures_taken(deeds: Iterable[Deed]) -> list[PictureTaken]:
    """Return the photographs of all works; `deeds` in the order of their days."""
    lives: dict[str, _Life] = {}
    for deed in deeds:
        match deed:
            case Came():
                lives |= {number: _Life() for number in deed.numbers}
            case Visited():
                _visited(lives[deed.number], deed.number, deed.told)
            case Walked():
                for number, found in deed.except_for.items():
                    _see(lives[number], found.sightings)
                    if found.stop is not None:
                        _take(lives[number], number, deed.on, PhotographStage.IN_FRAME)
            case _:
                pass
    return [picture for work in read_works() for picture in _of_work(lives, work.told, work.came)]


def sheets() -> dict[str, SheetDrawn]:
    """Return the sheet of every work, by its number."""
    return {work.told.number: _sheet(work.told) for work in read_works()}


def record_pictures(
    session: Session,
    viewer: Viewer,
    works: Mapping[str, int],
    ready: Sequence[PictureReady],
    *,
    today: int,
) -> None:
    """Put the photographs on record, each at its visit, with its sheet and its window."""
    visits = _visits_by_day(session)
    for one in ready:
        work_id = works[one.taken.number]
        told = PhotographTold(
            work_id=work_id,
            view=one.taken.view,
            stage=one.taken.stage,
            visit_id=visits.get((work_id, one.taken.on)),
            taken_on=one.taken.on,
        )
        photograph = add_photograph(session, viewer, told, one.kept, today=today)
        if one.corners is not None:
            record_corners(session, viewer, photograph.id, one.corners)
        if one.window is not None:
            record_window_edge(session, viewer, photograph.id, one.window)


def _visits_by_day(session: Session) -> dict[tuple[int, str], int]:
    stand = select(Visit.id, Visit.work_id, Visit.on_edtf)
    stand = stand.where(col(Visit.withdrawn_reason).is_(None))
    return {
        (work_id, on): visit_id
        for visit_id, work_id, on in session.exec(stand)
        if visit_id is not None and on is not None
    }


def _of_work(lives: Mapping[str, _Life], told: WorkTold, came: str) -> Iterator[PictureTaken]:
    life = lives[told.number]
    if not life.pictures and life.last_sheet is None:
        _take(life, told.number, came, PhotographStage.IN_FRAME)
    yield from life.pictures
    if life.last_sheet is not None and life.last_sheet not in life.pictures:
        yield life.last_sheet


def _visited(life: _Life, number: str, told: VisitTold) -> None:
    life.mat = _mat_of(told.found) or life.mat
    _see(life, told.sightings)
    if told.by_unknown_hand or told.to_write_up:
        return
    if told.kind is not VisitKind.UNFRAMING or told.stop is not None:
        _take(life, number, told.on, PhotographStage.IN_FRAME)
    else:
        _opened(life, number, told)
    life.mat = _mat_of(told.mount) or life.mat


def _opened(life: _Life, number: str, told: VisitTold) -> None:
    stage = None if told.dismount else PhotographStage.MAT_LIFTED
    life.last_sheet = PictureTaken(
        number=number, on=told.on, view=PhotographView.RECTO, stage=stage, marks=life.now()
    )
    sides = {mark.side for mark in _told_anew(life, told.sightings)}
    if Side.RECTO in sides:
        if told.found is not None:
            _take(life, number, told.on, PhotographStage.IN_FRAME)
        life.pictures.append(life.last_sheet)
    if Side.VERSO in sides:
        back = replace(life.last_sheet, view=PhotographView.VERSO, stage=PhotographStage.VERSO)
        life.pictures.append(back)


def _told_anew(life: _Life, sightings: Sequence[SightingTold]) -> list[MarkDrawn]:
    """Return what this visit found new or grown and can be drawn, as it is now."""
    fresh = sum(one.finding is None for one in sightings)
    grown = [s.finding - 1 for s in sightings if s.finding and s.change is Change.GROWN]
    seen = [*life.marks[len(life.marks) - fresh :], *(life.marks[n] for n in grown)]
    return [mark for mark in seen if mark is not None and mark.term != DUST]


def _take(life: _Life, number: str, on: str, stage: PhotographStage) -> None:
    life.pictures.append(
        PictureTaken(
            number=number,
            on=on,
            view=PhotographView.RECTO,
            stage=stage,
            marks=life.now(),
            mat=life.mat,
        )
    )


def _see(life: _Life, sightings: Iterable[SightingTold]) -> None:
    """Let the sightings of a day change what is to be seen."""
    for one in sightings:
        if one.finding is None:
            reach = one.reach
            window = reach.mm if reach and reach.follows_window_edge else None
            mark = MarkDrawn(term=one.term or "", side=one.side, window_mm=window)
            life.marks.append(_mark(mark, one))
        elif one.change is Change.NO_LONGER_VISIBLE:
            life.marks[one.finding - 1] = None
        else:
            before = life.marks[one.finding - 1]
            life.marks[one.finding - 1] = None if before is None else _mark(before, one)


def _mark(before: MarkDrawn, one: SightingTold) -> MarkDrawn:
    region = one.region
    return replace(
        before,
        edge=one.reach.edge if one.reach else before.edge,
        reach_mm=one.reach.mm if one.reach else before.reach_mm,
        region_mm=(region.left_mm, region.top_mm, region.width_mm, region.height_mm)
        if region
        else before.region_mm,
        strength=STRENGTH[one.severity] if one.severity else before.strength,
    )


def _mat_of(told: MountTold | None) -> Colour | None:
    """Return what the window mat of a package looks like, None where there is no package."""
    if told is None:
        return None
    built = HOUSE[told.house_package] if told.house_package else told
    boards = [layer.material for layer in built.layers if layer.role is LayerRole.WINDOW_MAT]
    return MATS.get(boards[0] or "", WOVE) if boards else WOVE


def _sheet(told: WorkTold) -> SheetDrawn:
    image = told.image
    return SheetDrawn(
        number=told.number,
        title=told.title,
        technique=told.technique or "",
        support=told.support,
        height_mm=_mm(told.height_mm),
        width_mm=_mm(told.width_mm),
        image_mm=None if image is None else _box(image),
    )


def _box(image: ImageTold) -> tuple[float, float, float, float]:
    return _mm(image.left_mm), _mm(image.top_mm), _mm(image.height_mm), _mm(image.width_mm)


def _mm(told: Millimetres | None) -> float:
    assert told is not None, "every work of the demonstration was measured"
    return float(told)
