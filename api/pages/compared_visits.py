"""What is different between two visits to a work: findings, package, and how it looked?

Findings by what has become of them, with how strong they were and how far they reached
then and then; the package after each visit; and, where both visits have a photograph of
the same view, the two at one scale, laid upon each other by the corners of the sheet.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, requires
from api.pages.dates_said import date_said
from api.pages.findings_drawing import Canvas, DrawingShown, drawing_of
from api.pages.findings_shown import where_said
from api.pages.path_ids import PathId
from api.pages.photographs_shown import said_of
from api.pages.visits_shown import hold_in_words, layer_said
from api.pages.work_page import WorkShown, records_of, work_shown
from api.pages.years_told import by_finding
from api.routes import Route
from api.templating import show
from models.actions.finding_outlines import fractions
from models.actions.findings_placed import FindingPlaced, findings_as_seen
from models.actions.work_records import WorkRecords
from models.errors import NotFound
from models.rules.finding_outline import Sheet
from models.rules.flat_picture import Matrix, laid_by_corners, laid_whole
from models.rules.permissions import Deed
from models.rules.record_values import size_mm
from models.rules.sheet_corners import sheet_on_photograph
from models.rules.two_visits import Became, ComparedFinding, SeenThen, compared
from models.tables.case_rows import LayerRow, MountRow, SightingRow, VisitRow
from models.tables.outlines import (
    FindingOutline,
    PhotographCorners,
    corners_of_photographs,
    outlines_of_work,
)
from models.tables.visible import Viewer
from models.tables.visit_notes import PHOTOGRAPH, VisitNoteRow, visit_note_rows
from models.vocabulary import Edge, LayerRole, Outcome, PhotographStage, PhotographView, Side

router = APIRouter(route_class=Route)

WHOLE = "whole sheet"
# A margin is shown so far in, and so much beyond the sheet is shown around it.
STRIP_MM, AROUND_MM = 80.0, 12.0
# A sheet that nobody measured is shown so high.
ASSUMED_HEIGHT_MM = 300.0
_EDGES = (Edge.LEFT, Edge.RIGHT, Edge.TOP, Edge.BOTTOM)
# Of photographs of one view, the one on which most of the sheet is bare.
_BAREST_FIRST = (
    None,
    PhotographStage.MAT_LIFTED,
    PhotographStage.VERSO,
    PhotographStage.CLOSED,
    PhotographStage.IN_FRAME,
    PhotographStage.BACK_OFF,
)
_FRAME_BACK = (PhotographStage.IN_FRAME, PhotographStage.BACK_OFF)


@dataclass(frozen=True)
class VisitChoice:
    """A visit that can be compared."""

    id: int
    says: str


@dataclass(frozen=True)
class FindingCompared:
    """One finding; `before` and `after` say how strong and how far in."""

    name: str
    where: str
    before: str
    after: str
    grown: str


@dataclass(frozen=True)
class FindingGroup:
    """The findings of which the same became."""

    became: str
    findings: tuple[FindingCompared, ...]


@dataclass(frozen=True)
class PartCompared:
    """A layer or hold as it was after one of the visits; `is_other`: not so after the other."""

    says: str
    is_other: bool


@dataclass(frozen=True)
class PackageCompared:
    """The package after one of the visits."""

    mount: str
    parts: tuple[PartCompared, ...]


@dataclass(frozen=True)
class PictureCompared:
    """A photograph laid upon the sheet by a matrix; its size in pixels."""

    id: int
    width_px: int
    height_px: int
    matrix: str
    is_by_corners: bool
    drawing: DrawingShown


@dataclass(frozen=True)
class PicturesCompared:
    """Two photographs of one view in millimetres of the sheet, and the part that is shown."""

    view: str
    views: tuple[str, ...]
    edge: str
    edges: tuple[str, ...]
    left: float
    top: float
    width: float
    height: float
    before: PictureCompared
    after: PictureCompared

    @property
    def box(self) -> str:
        """Return what is shown as SVG writes it."""
        return f"{self.left:g} {self.top:g} {self.width:g} {self.height:g}"


@dataclass(frozen=True)
class ComparePage:
    """What templates/works/compare.html is given; no `before` where there are no two visits."""

    work: WorkShown
    choices: tuple[VisitChoice, ...]
    before: VisitChoice | None
    after: VisitChoice | None
    groups: tuple[FindingGroup, ...]
    packages: tuple[PackageCompared, ...]
    pictures: PicturesCompared | None


@router.get("/works/{work_id:int}/compare", dependencies=[requires(Deed.READ)])
def compare_visits(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    work_id: PathId,
    before: str = "",
    after: str = "",
    view: str = "",
    edge: str = "",
) -> Response:
    """Show two visits beside each other; without a choice the last two that tell most."""
    records = records_of(session, viewer, work_id)
    notes = visit_note_rows(session, viewer, [work_id])
    choices = tuple(_choice(visit) for visit in reversed(records.visits))
    page = ComparePage(work_shown(records), choices, None, None, (), (), None)
    pair = _pair(records, notes, before, after)
    if pair is not None:
        page = _compared(session, viewer, page, records, notes, pair, view, edge)
    return show(request, "works/compare.html", page)


def _choice(visit: VisitRow) -> VisitChoice:
    return VisitChoice(visit.id, f"{date_said(visit.on_edtf)}, {visit.kind}")


def _pair(
    records: WorkRecords, notes: Sequence[VisitNoteRow], before: str, after: str
) -> tuple[VisitRow, VisitRow] | None:
    """Return the two visits in the order of time. Raises NotFound for one that there is not."""
    if len(records.visits) < 2:
        return None
    telling = _telling(records, notes)
    later = _named(records, after) or telling[-1]
    others = [visit for visit in telling if visit.id != later.id]
    earlier = _named(records, before) or others[-1]
    first, second = sorted((earlier, later), key=records.visits.index)
    return first, second


def _telling(records: WorkRecords, notes: Sequence[VisitNoteRow]) -> list[VisitRow]:
    """Return the visits that tell most: with findings and photographs, with findings, or all."""
    found = {row.visit_id for row in records.sightings}
    pictured = {note.visit_id for note in notes if note.kind == PHOTOGRAPH}
    for wanted in (found & pictured, found, pictured):
        telling = [visit for visit in records.visits if visit.id in wanted]
        if len(telling) > 1:
            return telling
    return list(records.visits)


def _named(records: WorkRecords, typed: str) -> VisitRow | None:
    if not typed:
        return None
    found = next((visit for visit in records.visits if str(visit.id) == typed), None)
    if found is None:
        raise NotFound("visit", typed[:20])
    return found


def _compared(
    session: Session,
    viewer: Viewer,
    page: ComparePage,
    records: WorkRecords,
    notes: Sequence[VisitNoteRow],
    pair: tuple[VisitRow, VisitRow],
    view: str,
    edge: str,
) -> ComparePage:
    earlier, later = pair
    photographs = _photographs_of(notes, earlier), _photographs_of(notes, later)
    asked = _Pictured(records, pair, photographs)
    return ComparePage(
        work=page.work,
        choices=page.choices,
        before=_choice(earlier),
        after=_choice(later),
        groups=tuple(_groups(records, earlier, later)),
        packages=_packages(records, earlier, later),
        pictures=_pictures(session, viewer, asked, view, edge),
    )


def _groups(records: WorkRecords, earlier: VisitRow, later: VisitRow) -> Iterator[FindingGroup]:
    """Give the findings by what has become of them, what is worst first."""
    order = {visit.id: number for number, visit in enumerate(records.visits)}
    found: list[tuple[ComparedFinding, SightingRow]] = []
    for rows in by_finding(records):
        seen = [_seen(row, order[row.visit_id]) for row in rows]
        one = compared(seen, order[earlier.id], order[later.id])
        if one is not None:
            found.append((one, rows[-1]))
    ranks = list(Became)
    found.sort(key=lambda pair: (ranks.index(pair[0].became), pair[1].finding_no))
    for became, those in groupby(found, key=lambda pair: pair[0].became):
        yield FindingGroup(became, tuple(_finding(one, row) for one, row in those))


def _seen(row: SightingRow, visit: int) -> SeenThen:
    return SeenThen(visit, row.change, row.severity, size_mm(row.reach_um), row.extent_percent)


def _finding(one: ComparedFinding, row: SightingRow) -> FindingCompared:
    grown = one.grown_mm
    return FindingCompared(
        name=f"{row.finding_no} {row.term}",
        where=where_said(row),
        before="" if one.before is None else _state(one.before),
        after=_state(one.after),
        grown=f"{grown:+g} mm" if grown else "",
    )


def _state(seen: SeenThen) -> str:
    reach = "" if seen.reach_mm is None else f"{seen.reach_mm:g} mm"
    extent = "" if seen.extent_percent is None else f"{seen.extent_percent:g} % of the sheet"
    return ", ".join(part for part in (seen.severity or "", reach, extent) if part) or seen.change


def _packages(
    records: WorkRecords, earlier: VisitRow, later: VisitRow
) -> tuple[PackageCompared, PackageCompared]:
    mounts = _mount_after(records, earlier), _mount_after(records, later)
    then = [list(_parts(records, m, v)) for m, v in zip(mounts, (earlier, later), strict=True)]
    return (
        PackageCompared(_mount_said(mounts[0]), _marked(then[0], then[1])),
        PackageCompared(_mount_said(mounts[1]), _marked(then[1], then[0])),
    )


def _marked(own: Sequence[str], other: Sequence[str]) -> tuple[PartCompared, ...]:
    return tuple(PartCompared(says, says not in other) for says in own)


def _mount_after(records: WorkRecords, visit: VisitRow) -> MountRow | None:
    """Return the mount that held the work when a visit was over."""
    held = [mount for mount in records.mounts if _had_begun(mount, visit)]
    return next((mount for mount in reversed(held) if not _was_over(mount, visit)), None)


def _had_begun(mount: MountRow, visit: VisitRow) -> bool:
    if mount.mounted_visit_id == visit.id or mount.mounted_first is None:
        return True
    return visit.on_first is not None and mount.mounted_first <= visit.on_first


def _was_over(mount: MountRow, visit: VisitRow) -> bool:
    if not mount.ended:
        return False
    if mount.dismounted_visit_id == visit.id:
        return True
    on, over = visit.on_first, mount.dismounted_last
    return on is not None and over is not None and over <= on


def _mount_said(mount: MountRow | None) -> str:
    if mount is None:
        return "in no mount on record"
    return f"mount {mount.mount_no}, {mount.method or 'nobody said how'}"


def _parts(records: WorkRecords, mount: MountRow | None, visit: VisitRow) -> Iterator[str]:
    """Give the layers and holds of a mount as they were when a visit was over."""
    if mount is None:
        return
    for layer in records.layers[mount.package_id]:
        if layer.role is not LayerRole.WORK and _was_in(layer, visit):
            yield layer_said(layer)
    for hold in records.holds[mount.id]:
        if mount.ended or hold.outcome in (None, Outcome.TRIED_AND_LEFT):
            yield f"held by {hold_in_words(hold)}"


def _was_in(layer: LayerRow, visit: VisitRow) -> bool:
    on = visit.on_first
    later = layer.fitted_first is not None and on is not None and layer.fitted_first > on
    if later and layer.fitted_visit_id != visit.id:
        return False
    if not layer.ended:
        return True
    gone = layer.removed_last
    return layer.removed_visit_id != visit.id and (gone is None or on is None or gone > on)


def _photographs_of(notes: Iterable[VisitNoteRow], visit: VisitRow) -> dict[str, VisitNoteRow]:
    """Return one photograph of each view that was taken at a visit: the barest, then newest."""
    those = [note for note in notes if note.kind == PHOTOGRAPH and note.visit_id == visit.id]
    those.sort(key=lambda note: (_BAREST_FIRST.index(_stage(note)), -note.id))
    found: dict[str, VisitNoteRow] = {}
    for note in those:
        found.setdefault(_view(note), note)
    order = list(PhotographView)
    return dict(sorted(found.items(), key=lambda one: order.index(PhotographView(one[1].what))))


def _stage(note: VisitNoteRow) -> PhotographStage | None:
    return None if note.kept is None else PhotographStage(note.kept)


def _view(note: VisitNoteRow) -> str:
    """Return what can be compared: the back of a frame is not the verso of a sheet."""
    view, stage = PhotographView(note.what), _stage(note)
    is_back_of_frame = view is PhotographView.VERSO and stage in _FRAME_BACK
    return "Back of the frame" if is_back_of_frame else said_of(view, None)


@dataclass(frozen=True)
class _Pictured:
    """Two visits to a work, and the photographs that were taken at each, by view."""

    records: WorkRecords
    visits: tuple[VisitRow, VisitRow]
    photographs: tuple[dict[str, VisitNoteRow], dict[str, VisitNoteRow]]


def _pictures(
    session: Session, viewer: Viewer, asked: _Pictured, view: str, edge: str
) -> PicturesCompared | None:
    then, now = asked.photographs
    views = tuple(name for name in then if name in now)
    if not views:
        return None
    chosen = view if view in views else views[0]
    pair = then[chosen], now[chosen]
    corners = corners_of_photographs(session, viewer, [note.id for note in pair])
    outlines = outlines_of_work(session, viewer, asked.records.work.id)
    sheet = _sheet(asked.records, pair[0])
    before, after = (
        _picture(note, corners.get(note.id), sheet, _findings_after(asked.records, visit, outlines))
        for note, visit in zip(pair, asked.visits, strict=True)
    )
    shown = edge if edge in _EDGES else WHOLE
    left, top, width, height = _frame(shown, *sheet)
    edges = (WHOLE, *(str(one) for one in _EDGES))
    return PicturesCompared(
        chosen, views, shown, edges, left, top, width, height, before=before, after=after
    )


def _findings_after(
    records: WorkRecords, visit: VisitRow, outlines: Mapping[int, FindingOutline]
) -> tuple[FindingPlaced, ...]:
    """Return where the findings were when a visit was over."""
    so_far = records.visits[: records.visits.index(visit) + 1]
    numbers = {one.id: number for number, one in enumerate(so_far)}
    rows = [row for row in records.sightings if row.visit_id in numbers]
    rows.sort(key=lambda row: numbers[row.visit_id])
    width, height = size_mm(records.work.width_um), size_mm(records.work.height_um)
    sheet = Sheet(width, height) if width and height else None
    return findings_as_seen(rows, sheet, outlines)


def _sheet(records: WorkRecords, note: VisitNoteRow) -> tuple[float, float]:
    """Return width and height of the sheet in mm; in the proportion of a picture if unknown."""
    width, height = size_mm(records.work.width_um), size_mm(records.work.height_um)
    if width and height:
        return width, height
    return ASSUMED_HEIGHT_MM * (note.width_px or 1) / (note.height_px or 1), ASSUMED_HEIGHT_MM


def _picture(
    note: VisitNoteRow,
    corners: PhotographCorners | None,
    sheet: tuple[float, float],
    findings: Sequence[FindingPlaced],
) -> PictureCompared:
    width_px, height_px = note.width_px or 1, note.height_px or 1
    size = {"width_px": width_px, "height_px": height_px}
    matrix = (
        laid_whole(width_px=width_px, height_px=height_px, width_mm=sheet[0], height_mm=sheet[1])
        if corners is None
        else laid_by_corners(
            fractions(corners),
            width_px=width_px,
            height_px=height_px,
            width_mm=sheet[0],
            height_mm=sheet[1],
        )
    )
    return PictureCompared(
        note.id,
        **size,
        matrix=_said(matrix),
        is_by_corners=corners is not None,
        drawing=_drawing(note, corners, sheet, findings),
    )


def _drawing(
    note: VisitNoteRow,
    corners: PhotographCorners | None,
    sheet: tuple[float, float],
    findings: Sequence[FindingPlaced],
) -> DrawingShown:
    """Return the findings as they lie on one of the photographs; none on the back of a frame."""
    is_verso = note.what == PhotographView.VERSO or _stage(note) is PhotographStage.VERSO
    side = Side.VERSO if is_verso else Side.RECTO
    known = () if corners is None else fractions(corners)
    seen = (
        sheet_on_photograph(known, width_mm=sheet[0], height_mm=sheet[1], side=side)
        if known
        else None
    )
    canvas = Canvas(note.width_px or 1, note.height_px or 1, side, seen, known, note.id)
    is_frame_back = is_verso and _stage(note) in _FRAME_BACK
    return drawing_of(canvas, () if is_frame_back else findings)


def _said(matrix: Matrix) -> str:
    # Rounded first, and nothing added, so that no nought has a sign.
    return " ".join(f"{round(figure, 9) + 0:.6g}" for figure in matrix)


def _frame(edge: str, width: float, height: float) -> tuple[float, float, float, float]:
    """Return left, top, width and height of what is shown, in mm of the sheet."""
    left, top, right, bottom = -AROUND_MM, -AROUND_MM, width + AROUND_MM, height + AROUND_MM
    if edge == Edge.LEFT:
        right = min(STRIP_MM, right)
    elif edge == Edge.RIGHT:
        left = max(width - STRIP_MM, left)
    elif edge == Edge.TOP:
        bottom = min(STRIP_MM, bottom)
    elif edge == Edge.BOTTOM:
        top = max(height - STRIP_MM, top)
    return left, top, right - left, bottom - top
