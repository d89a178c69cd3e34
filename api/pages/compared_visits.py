"""What is different between two visits to a work: findings, package, and how it looked?

Findings by what has become of them, with how strong they were and how far they reached
then and then; the package after each visit; and, where both visits have a photograph of
the same view, the two at one scale, which api/pages/compared_pictures.py lays.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.compared_pictures import (
    BACK_OF_FRAME,
    Asked,
    PictureOf,
    PicturesCompared,
    pictures_compared,
)
from api.pages.dates_said import date_said
from api.pages.findings_shown import where_said
from api.pages.package_drawing import PackageDrawing, package_drawing, scale_that_fits
from api.pages.path_ids import PathId
from api.pages.photographs_shown import said_of
from api.pages.visits_shown import hold_in_words, layer_said
from api.pages.work_page import WorkShown, records_of, work_shown
from api.pages.years_told import by_finding
from api.routes import Route
from api.templating import show
from models.actions.finding_outlines import sheet_of
from models.actions.findings_placed import (
    FindingPlaced,
    Windows,
    findings_as_seen,
    mat_window_mm,
)
from models.actions.in_force import figures_now
from models.actions.records_then import records_after_visit
from models.actions.window_edges import windows_on_sheet
from models.actions.work_records import WorkRecords, package_now, work_facts
from models.errors import NotFound
from models.rules.calendar_days import day_number
from models.rules.default_figures import DefaultFigures
from models.rules.package_verdict import package_verdict
from models.rules.permissions import Deed
from models.rules.record_values import size_mm
from models.rules.two_visits import Became, ComparedFinding, SeenThen, compared
from models.tables.case_rows import MountRow, SightingRow, VisitRow
from models.tables.outlines import (
    FindingOutline,
    PhotographLaid,
    outlines_of_work,
    photographs_laid,
)
from models.tables.photographs import Photograph
from models.tables.visible import Viewer
from models.vocabulary import LayerRole, Outcome, PhotographStage, PhotographView

router = APIRouter(route_class=Route)

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
    """The package after one of the visits; no drawing where nothing held the work."""

    mount: str
    parts: tuple[PartCompared, ...]
    drawing: PackageDrawing | None


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
    today: Today,
    work_id: PathId,
    before: str = "",
    after: str = "",
    view: str = "",
    edge: str = "",
    part: str = "",
) -> Response:
    """Show two visits beside each other; without a choice the last two that tell most."""
    records = records_of(session, viewer, work_id)
    taken = photographs_laid(session, viewer, work_id)
    choices = tuple(_choice(visit) for visit in reversed(records.visits))
    page = ComparePage(work_shown(records), choices, None, None, (), (), None)
    pair = _pair(records, taken, before, after)
    if pair is not None:
        then = tuple(
            records_after_visit(records, visit.id, today=day_number(today)) for visit in pair
        )
        page = _compared(
            session, viewer, page, _Two(records, pair, then, taken), Asked(view, edge, part)
        )
    return show(request, "works/compare.html", page)


def _choice(visit: VisitRow) -> VisitChoice:
    return VisitChoice(visit.id, f"{date_said(visit.on_edtf)}, {visit.kind}")


def _pair(
    records: WorkRecords, taken: Sequence[PhotographLaid], before: str, after: str
) -> tuple[VisitRow, VisitRow] | None:
    """Return the two visits in the order of time. Raises NotFound for one that there is not."""
    if len(records.visits) < 2:
        return None
    telling = _telling(records, taken)
    later = _named(records, after) or telling[-1]
    others = [visit for visit in telling if visit.id != later.id]
    earlier = _named(records, before) or others[-1]
    first, second = sorted((earlier, later), key=records.visits.index)
    return first, second


def _telling(records: WorkRecords, taken: Sequence[PhotographLaid]) -> list[VisitRow]:
    """Return the visits that tell most: with findings and photographs, with findings, or all."""
    found = {row.visit_id for row in records.sightings}
    pictured = {one.photograph.visit_id for one in taken}
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


@dataclass(frozen=True)
class _Two:
    """Two visits to a work in the order of time, and what was on record after each."""

    records: WorkRecords
    visits: tuple[VisitRow, VisitRow]
    then: tuple[WorkRecords, ...]
    taken: Sequence[PhotographLaid]

    @property
    def photographs(self) -> tuple[dict[str, PhotographLaid], dict[str, PhotographLaid]]:
        """The photographs that were taken at each, by view."""
        earlier, later = self.visits
        return _photographs_of(self.taken, earlier), _photographs_of(self.taken, later)


def _compared(
    session: Session, viewer: Viewer, page: ComparePage, two: _Two, asked: Asked
) -> ComparePage:
    earlier, later = two.visits
    before, after = two.then
    return ComparePage(
        work=page.work,
        choices=page.choices,
        before=_choice(earlier),
        after=_choice(later),
        groups=tuple(_groups(two.records, earlier, later)),
        packages=_packages(before, after, figures_now(session)),
        pictures=_pictures(session, viewer, two, asked),
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
        found_so = tuple(_finding(one, row, records, order[later.id]) for one, row in those)
        yield FindingGroup(became, found_so)


def _seen(row: SightingRow, visit: int) -> SeenThen:
    return SeenThen(visit, row.change, row.severity, size_mm(row.reach_um), row.extent_percent)


def _finding(
    one: ComparedFinding, row: SightingRow, records: WorkRecords, later: int
) -> FindingCompared:
    grown = one.grown_mm
    # A visit that did not look at it has it as a visit before left it, and says of which day.
    seen_on = date_said(records.visits[one.after.visit].on_edtf)
    since = "" if one.after.visit == later else f", as last seen {seen_on}"
    return FindingCompared(
        name=f"{row.finding_no} {row.term}",
        where=where_said(row),
        before="" if one.before is None else _state(one.before),
        after=f"{_state(one.after)}{since}",
        grown=f"{grown:+g} mm" if grown else "",
    )


def _state(seen: SeenThen) -> str:
    reach = "" if seen.reach_mm is None else f"{seen.reach_mm:g} mm"
    extent = "" if seen.extent_percent is None else f"{seen.extent_percent:g} % of the sheet"
    return ", ".join(part for part in (seen.severity or "", reach, extent) if part) or seen.change


def _packages(
    before: WorkRecords, after: WorkRecords, figures: DefaultFigures
) -> tuple[PackageCompared, PackageCompared]:
    """Return the package after each visit, drawn at the smaller of both scales."""
    parts = list(_parts(before)), list(_parts(after))
    scale = min(scale_that_fits(package_now(then)) for then in (before, after))
    return (
        _package(before, _marked(parts[0], parts[1]), _drawn(before, figures, "before", scale)),
        _package(after, _marked(parts[1], parts[0]), _drawn(after, figures, "after", scale)),
    )


def _package(
    then: WorkRecords, parts: tuple[PartCompared, ...], drawing: PackageDrawing
) -> PackageCompared:
    mount = then.current_mount
    return PackageCompared(_mount_said(mount), parts, None if mount is None else drawing)


def _drawn(then: WorkRecords, figures: DefaultFigures, name: str, scale: int) -> PackageDrawing:
    """Return the drawing of a package; how it is judged is by the figures of today."""
    package, on = package_now(then), then.visits[-1].on_first or 0
    verdict = package_verdict(package, work_facts(then), figures, on)
    return package_drawing(package, verdict, name=f"package-{name}", scale=scale)


def _marked(own: Sequence[str], other: Sequence[str]) -> tuple[PartCompared, ...]:
    return tuple(PartCompared(says, says not in other) for says in own)


def _mount_said(mount: MountRow | None) -> str:
    if mount is None:
        return "in no mount on record"
    return f"mount {mount.mount_no}, {mount.method or 'nobody said how'}"


def _parts(then: WorkRecords) -> Iterator[str]:
    """Give the layers and holds of the mount that held the work when a visit was over."""
    mount = then.current_mount
    if mount is None:
        return
    for layer in then.layers[mount.package_id]:
        if layer.role is not LayerRole.WORK and not layer.ended:
            yield layer_said(layer)
    for hold in then.holds[mount.id]:
        if hold.outcome in (None, Outcome.TRIED_AND_LEFT):
            yield f"held by {hold_in_words(hold)}"


def _photographs_of(taken: Iterable[PhotographLaid], visit: VisitRow) -> dict[str, PhotographLaid]:
    """Return one photograph of each view that was taken at a visit: the barest, then newest."""
    those = [one for one in taken if one.photograph.visit_id == visit.id]
    those.sort(key=lambda one: _BAREST_FIRST.index(one.photograph.stage))
    found: dict[str, PhotographLaid] = {}
    for one in those:
        found.setdefault(_view(one.photograph), one)
    order = list(PhotographView)
    return dict(sorted(found.items(), key=lambda named: order.index(named[1].photograph.view)))


def _view(photograph: Photograph) -> str:
    """Return what can be compared: the back of a frame is not the verso of a sheet."""
    view, stage = photograph.view, photograph.stage
    is_back_of_frame = view is PhotographView.VERSO and stage in _FRAME_BACK
    return BACK_OF_FRAME if is_back_of_frame else said_of(view, None)


def _pictures(session: Session, viewer: Viewer, two: _Two, asked: Asked) -> PicturesCompared | None:
    then, now = two.photographs
    views = tuple(name for name in then if name in now)
    if not views:
        return None
    chosen = asked.view if asked.view in views else views[0]
    outlines = outlines_of_work(session, viewer, two.records.work.id)
    sheet, windows = sheet_of(two.records.work), _windows(two)
    before, after = (
        PictureOf(
            taken[chosen],
            _choice(visit).says,
            () if chosen == BACK_OF_FRAME else _findings_of(records, outlines, windows),
            mat_window_mm(records),
        )
        for taken, visit, records in zip((then, now), two.visits, two.then, strict=True)
    )
    return pictures_compared(before, after, sheet, Asked(chosen, asked.edge, asked.part), views)


def _windows(two: _Two) -> Windows:
    """Return where on the sheet the windows of this work were, the oldest photograph first."""
    taken = {one.photograph.id or 0: one for one in reversed(two.taken)}
    places = windows_on_sheet(
        {number: one.photograph for number, one in taken.items()},
        {number: one.corners for number, one in taken.items() if one.corners is not None},
        {number: one.window for number, one in taken.items() if one.window is not None},
        sheet_of(two.records.work),
    )
    return Windows({number: taken[number].photograph.visit_id for number in places}, places)


def _findings_of(
    then: WorkRecords, outlines: Mapping[int, FindingOutline], windows: Windows
) -> tuple[FindingPlaced, ...]:
    """Return where the findings were, by the visits so far in their order."""
    order = {visit.id: number for number, visit in enumerate(then.visits)}
    rows = sorted(then.sightings, key=lambda row: order[row.visit_id])
    return findings_as_seen(rows, sheet_of(then.work), outlines, windows)
