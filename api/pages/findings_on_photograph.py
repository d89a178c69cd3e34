"""Where do the findings of a work lie on its photographs, and how is that said and put right?

The page shows one photograph with everything that was found on its side, the newest
recto with known corners first; without any it shows a plain sheet of the right size.
Drawing needs the script beside it; reading, and the corners of sheet and window in figures,
do not.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response

from api.dependencies import Database, Here, ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.contrast_typed import contrast_told_said, contrast_written, difference_said
from api.pages.dates_said import date_said
from api.pages.findings_drawing import (
    DrawingShown,
    canvas_of,
    drawing_of,
    earlier_mark,
    told_to_script,
    window_offered,
)
from api.pages.findings_shown import where_said
from api.pages.form_answers import number, version_in, whole
from api.pages.outline_typed import outline_typed
from api.pages.path_ids import LARGEST, PathId
from api.photograph_contrasts import SHARP_PX, read_contrast
from api.routes import Route
from api.template_filters import mm
from api.templating import show
from models.actions.finding_outlines import place_finding, record_corners
from models.actions.findings_placed import FindingPlaced, Place, WorkPlaced, findings_placed
from models.actions.photograph_contrasts import keep_contrast
from models.actions.window_edges import record_window_edge
from models.errors import BadValue, Fault, NotFound
from models.rules.permissions import Deed, may
from models.rules.record_values import between, whole_between
from models.rules.sheet_corners import CORNER_NAMES, Point
from models.rules.visit_as_told import ContrastTold, OutlineTold
from models.tables.outlines import PhotographContrast, get_sighting
from models.tables.photographs import ListedPhotograph, Photograph, get_photograph
from models.tables.visible import Viewer
from models.vocabulary import Edge, OutlineShape, PhotographView

router = APIRouter(route_class=Route)

SEE_OTHER = 303
PREVIEW_PX = 960


@dataclass(frozen=True)
class ChoiceShown:
    """One photograph that can be chosen. `path` leads to it."""

    path: str
    picture: str
    said: str
    is_now: bool


@dataclass(frozen=True)
class RowShown:
    """One finding in the table below the picture.

    `earlier` are the marks of its earlier places on the picture, and when it was there.
    """

    id: int
    no: int
    term: str
    where: str
    state: str
    earlier: tuple[tuple[str, str], ...]
    extent: str
    is_measured: bool
    contrast: str
    is_drawn: bool
    drawn_from: str


@dataclass(frozen=True)
class FourCorners:
    """Four corners in figures: `fields` are name, words, left and top in percent as typed."""

    version: int
    fields: tuple[tuple[str, str, str, str], ...]
    is_known: bool


@dataclass(frozen=True)
class FindingsOn:
    """What templates/photographs/_findings_on.html is given, as `findings_on`."""

    work_id: int
    photograph_id: int | None
    said: str
    picture: str
    sharp_picture: str
    drawing: DrawingShown
    told: str
    rows: tuple[RowShown, ...]
    unplaced: int
    lacks: str
    may_draw: bool
    corners: FourCorners
    window: FourCorners
    window_offered: str
    edges: tuple[str, ...] = tuple(edge for edge in Edge if edge is not Edge.ALL)


@dataclass(frozen=True)
class FindingsPage:
    """What templates/photographs/findings.html is given."""

    work_id: int
    number: str
    title: str
    choices: tuple[ChoiceShown, ...]
    findings_on: FindingsOn | None
    faults: tuple[Fault, ...] = ()


@router.get("/works/{work_id:int}/findings", dependencies=[requires(Deed.READ)])
def findings_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    work_id: PathId,
    photograph: str = "",
    draft: str = "",
) -> Response:
    """Show the findings of a work on one of its photographs; of a draft, on one taken in it."""
    placed = findings_placed(session, viewer, work_id)
    chosen = taken_within(placed, draft) or chosen_photograph(placed, photograph)
    return show(request, "photographs/findings.html", _page(placed, chosen, viewer))


@router.post("/photographs/{photograph_id:int}/corners", dependencies=[requires(Deed.RECORD_VISIT)])
def corners_said(
    request: Request, session: WriteSession, viewer: SignedIn, photograph_id: PathId, form: Typed
) -> Response:
    """Keep where the corners of the sheet are."""
    photograph = get_photograph(session, viewer, photograph_id)
    try:
        record_corners(
            session, viewer, photograph_id, corners_typed(form), based_on=version_in(form)
        )
    except BadValue as error:
        return _refused(request, session, viewer, photograph.work_id, photograph_id, error)
    return _to(photograph.work_id, photograph_id)


@router.post(
    "/photographs/{photograph_id:int}/window-edge", dependencies=[requires(Deed.RECORD_VISIT)]
)
def window_said(
    request: Request, session: WriteSession, viewer: SignedIn, photograph_id: PathId, form: Typed
) -> Response:
    """Keep where the edge of the mat's window is, or take it back."""
    photograph = get_photograph(session, viewer, photograph_id)
    try:
        corners = () if form["take_back"] else corners_typed(form)
        record_window_edge(session, viewer, photograph_id, corners, based_on=version_in(form))
    except BadValue as error:
        return _refused(request, session, viewer, photograph.work_id, photograph_id, error)
    return _to(photograph.work_id, photograph_id)


@router.post("/sightings/{sighting_id:int}/outline", dependencies=[requires(Deed.RECORD_VISIT)])
def finding_drawn(
    request: Request, session: WriteSession, viewer: SignedIn, sighting_id: PathId, form: Typed
) -> Response:
    """Keep what a sighting on record was drawn to cover."""
    sighted = get_sighting(session, viewer, sighting_id)
    told: OutlineTold | None = None
    try:
        told = outline_typed(form["outline"])
        place_finding(session, viewer, sighting_id, told, based_on=version_in(form))
    except BadValue as error:
        photograph = None if told is None else told.photograph
        return _refused(request, session, viewer, sighted.finding.work_id, photograph, error)
    return _to(sighted.finding.work_id, told.photograph)


def _contrast_read(here: Here, engine: Database, viewer: SignedIn, form: Typed) -> ContrastTold:
    """Read both places before the transaction: what is slow never holds up whoever writes."""
    photograph_id = whole_between(1, LARGEST, "photograph")(whole(form["photograph"]))
    stain, clean = (_place(form[f"{name}_x"], form[f"{name}_y"]) for name in ("stain", "clean"))
    return read_contrast(here, engine, viewer, photograph_id, (stain, clean))


def _place(x: str, y: str) -> Point:
    """Return a place in fractions of the picture. Raises BadValue."""
    check = between(0, 1, "of the picture")
    return check(number(x)), check(number(y))


@router.get("/photographs/{photograph_id:int}/contrast", dependencies=[requires(Deed.RECORD_VISIT)])
def contrast_asked(
    here: Here,
    engine: Database,
    viewer: SignedIn,
    photograph_id: PathId,
    stain_x: str = "",
    stain_y: str = "",
    clean_x: str = "",
    clean_y: str = "",
) -> Response:
    """Tell the script of a visit what two places show: in words, and as its field keeps it."""
    stain, clean = _place(stain_x, stain_y), _place(clean_x, clean_y)
    told = read_contrast(here, engine, viewer, photograph_id, (stain, clean))
    return JSONResponse({"said": contrast_told_said(told), "kept": contrast_written(told)})


@router.post("/sightings/{sighting_id:int}/contrast", dependencies=[requires(Deed.RECORD_VISIT)])
def contrast_read(
    read: Annotated[ContrastTold, Depends(_contrast_read)],
    session: WriteSession,
    viewer: SignedIn,
    sighting_id: PathId,
    form: Typed,
) -> Response:
    """Keep how far a stain is from clean paper, as a photograph shows them."""
    sighted = get_sighting(session, viewer, sighting_id)
    keep_contrast(session, viewer, sighting_id, read, based_on=version_in(form))
    return _to(sighted.finding.work_id, read.photograph)


def _to(work_id: int, photograph_id: int | None) -> Response:
    which = "" if photograph_id is None else f"?photograph={photograph_id}"
    return RedirectResponse(f"/works/{work_id}/findings{which}#findings-on", SEE_OTHER)


def _refused(
    request: Request,
    session: WriteSession,
    viewer: Viewer,
    work_id: int,
    photograph_id: int | None,
    error: BadValue,
) -> Response:
    placed = findings_placed(session, viewer, work_id)
    chosen = chosen_photograph(placed, str(photograph_id or ""))
    faults = tuple(Fault("", fault.message, fault.right) for fault in error.faults)
    page = _page(placed, chosen, viewer, faults or (Fault("", error.message),))
    return show(request, "photographs/findings.html", page, 422)


def corners_typed(form: TypedForm) -> tuple[Point, ...]:
    """Return four corners as fractions, typed in percent of the picture. Raises BadValue."""
    return tuple(
        (_percent(form, f"{name}_x"), _percent(form, f"{name}_y")) for name in _corner_names()
    )


def _corner_names() -> tuple[str, ...]:
    return tuple(name.replace(" ", "_") for name in CORNER_NAMES)


def _percent(form: TypedForm, name: str) -> float:
    if not form[name].strip():
        message = f"Where is the {name[:-2].replace('_', ' ')} corner?"
        raise BadValue.at(f"/{name}", message, "Tap all four, or type all eight figures.")
    return number(form[name]) / 100


def taken_within(placed: WorkPlaced, draft_key: str) -> Photograph | None:
    """Return the newest photograph that was taken within a visit, of the front if there is one."""
    photographs = [listed.photograph for listed in placed.photographs]
    taken = [p for p in photographs if p.draft_key and p.draft_key == draft_key]
    return min(taken, key=lambda p: p.view is not PhotographView.RECTO, default=None)


def chosen_photograph(placed: WorkPlaced, named: str) -> Photograph | None:
    """Return the photograph that was named, else the one that shows most. Raises NotFound."""
    photographs = [listed.photograph for listed in placed.photographs]
    if named:
        found = next((p for p in photographs if str(p.id) == named), None)
        if found is None:
            raise NotFound("photograph", named)
        return found
    # Newest first already: one on which findings can be placed, of the front, in plain light.
    ranked = sorted(
        photographs,
        key=lambda p: (p.id not in placed.corners, p.view is not PhotographView.RECTO),
    )
    return ranked[0] if ranked else None


def _page(
    placed: WorkPlaced,
    chosen: Photograph | None,
    viewer: Viewer,
    faults: tuple[Fault, ...] = (),
) -> FindingsPage:
    work = placed.work
    return FindingsPage(
        work_id=work.id or 0,
        number=work.number,
        title=work.title,
        choices=tuple(_choice(listed, chosen) for listed in placed.photographs),
        findings_on=findings_on(placed, chosen, viewer),
        faults=faults,
    )


def _choice(listed: ListedPhotograph, chosen: Photograph | None) -> ChoiceShown:
    photograph = listed.photograph
    return ChoiceShown(
        path=f"/works/{photograph.work_id}/findings?photograph={photograph.id}",
        picture=f"/photographs/{photograph.id}/320",
        said=photograph_said(photograph),
        is_now=chosen is not None and photograph.id == chosen.id,
    )


def photograph_said(photograph: Photograph) -> str:
    """Return what a photograph shows: "recto, mat lifted, 20 May 2024"."""
    parts = (photograph.view, photograph.stage, date_said(photograph.taken_on_edtf))
    return ", ".join(dict.fromkeys(str(part) for part in parts if part))


def findings_on(placed: WorkPlaced, chosen: Photograph | None, viewer: Viewer) -> FindingsOn | None:
    """Return one photograph with its findings; None where there is nothing to draw upon."""
    canvas = canvas_of(chosen, placed)
    if canvas is None:
        return None
    here = [finding for finding in placed.findings if finding.side is canvas.side]
    drawing = drawing_of(canvas, here)
    number = 0 if chosen is None else chosen.id or 0
    corners, window = placed.corners.get(number), placed.windows.get(number)
    return FindingsOn(
        work_id=placed.work.id or 0,
        photograph_id=None if chosen is None else chosen.id,
        said="A plain sheet" if chosen is None else photograph_said(chosen),
        picture="" if chosen is None else f"/photographs/{chosen.id}/{PREVIEW_PX}",
        sharp_picture="" if chosen is None else f"/photographs/{chosen.id}/{SHARP_PX}",
        drawing=drawing,
        told=told_to_script(canvas, placed),
        rows=tuple(_row(placed, finding, drawing) for finding in here),
        unplaced=len(placed.findings) - len(here),
        lacks=_lacks(placed, chosen),
        may_draw=may(viewer.role, Deed.RECORD_VISIT),
        corners=_four(canvas.corners, 0 if corners is None else corners.version),
        window=_four(canvas.window, 0 if window is None else window.version),
        window_offered=_window_offered(placed, number),
    )


def _window_offered(placed: WorkPlaced, number: int) -> str:
    """Return as what a window could be taken over, empty where it is marked or nothing is known."""
    is_marked = number in placed.windows_mm
    if is_marked or number not in placed.corners or not window_offered(placed, number):
        return ""
    first = next(iter(placed.windows_mm), None)
    named = [p.photograph for p in placed.photographs if p.photograph.id == first]
    return f"As on {photograph_said(named[0])}" if named else "As the mat is on record"


def _four(corners: Sequence[Point], version: int) -> FourCorners:
    known = corners or (None,) * 4
    fields = (
        (
            name.replace(" ", "_"),
            name,
            "" if corner is None else f"{100 * corner[0]:g}",
            "" if corner is None else f"{100 * corner[1]:g}",
        )
        for name, corner in zip(CORNER_NAMES, known, strict=True)
    )
    return FourCorners(version, tuple(fields), bool(corners))


def _lacks(placed: WorkPlaced, chosen: Photograph | None) -> str:
    """Return what must be known before findings can be carried to this photograph."""
    if placed.sheet is None:
        return "The size of the sheet is not on record: findings lie only where they were drawn."
    if chosen is not None and chosen.id not in placed.corners:
        return (
            "Nobody has said where the corners of the sheet are on this photograph:"
            " set them once, and every finding finds its place."
        )
    return ""


def _row(placed: WorkPlaced, finding: FindingPlaced, drawing: DrawingShown) -> RowShown:
    drawn = [shape for shape in drawing.shapes if shape.finding_id == finding.finding_id]
    last = finding.last
    reach = "" if last.reach_um is None else f"{mm(last.reach_um)} mm in"
    state = [last.change, last.severity, reach, date_said(last.on_edtf)]
    contrast = placed.contrasts.get(last.id)
    measured = finding.places[-1].extent_percent if finding.places else None
    extent = measured if last.extent_percent is None else last.extent_percent
    return RowShown(
        id=finding.finding_id,
        no=finding.no,
        term=finding.term,
        where=where_said(last),
        state=", ".join(str(part) for part in state if part),
        earlier=_earlier(finding, {shape.label for shape in drawn}),
        extent="" if extent is None else f"{extent:.{1 if extent < 10 else 0}f} %",
        is_measured=last.extent_percent is None and measured is not None,
        contrast="" if contrast is None else contrast_said(contrast),
        is_drawn=bool(drawn),
        drawn_from=_drawn_from(finding),
    )


def _earlier(finding: FindingPlaced, drawn: Collection[str]) -> tuple[tuple[str, str], ...]:
    """Return the marks of the earlier places that are drawn, each with its date and reach."""
    marked = ((earlier_mark(finding, at), one) for at, one in enumerate(finding.places[:-1]))
    return tuple((mark, _earlier_said(place)) for mark, place in marked if mark in drawn)


def _earlier_said(place: Place) -> str:
    reach = "" if place.reach_mm is None else f", {place.reach_mm:.4g} mm in"
    return f"{date_said(place.on_edtf)}{reach}"


def _drawn_from(finding: FindingPlaced) -> str:
    """Return alongside what a band is drawn that follows a window."""
    is_band = bool(finding.places) and finding.places[-1].shape is OutlineShape.BAND
    if not (is_band and finding.follows_window_edge):
        return ""
    if finding.places[-1].is_along_window:
        return "drawn alongside the window's edge, as it is marked on a photograph"
    return "drawn alongside the sheet's edge: nobody has marked the window's edge"


def contrast_said(contrast: PhotographContrast) -> str:
    """Return how far a stain is from clean paper, as a photograph shows it."""
    return difference_said(*contrast.labs)
