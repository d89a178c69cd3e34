"""How are the windows of a mat told: how many there are, how large, where, and what each shows?

A mat with several windows, or one that somebody measured. It needs no script: there are
always some blank rows, and how many windows there are may be told without any size.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Difference,
    differences,
    figure_to_type,
    version_in,
)
from api.pages.path_ids import PathId
from api.pages.row_reader import RowReader
from api.pages.visits_shown import layer_said
from api.pages.work_page import WorkShown, records_of, work_shown
from api.routes import Route
from api.templating import show
from models.actions.package_corrections import tell_windows
from models.actions.work_records import WorkRecords
from models.errors import BadValue, Fault, NotFound, Stale
from models.rules.mat_windows import HAS_WINDOWS, LONGEST_SHOWS, MOST_WINDOWS, read_windows
from models.rules.permissions import Deed
from models.rules.visit_as_told import WindowTold
from models.tables.case_rows import LayerRow
from models.tables.visible import Viewer

router = APIRouter(prefix="/works/{work_id:int}/layers/{layer_id:int}/windows", route_class=Route)

SEE_OTHER = 303
# So many rows there are at least, and so many blank ones below those that are told.
LEAST_ROWS, BLANK_ROWS = 3, 1
_LABELS = {
    "height_mm": "height",
    "width_mm": "width",
    "left_mm": "from the left",
    "top_mm": "from the top",
    "shows": "what it shows",
}


@dataclass(frozen=True)
class MatWindowsPage:
    """What templates/works/mat_windows.html is given; `rows` are the numbers of the rows."""

    work: WorkShown
    layer_id: int
    layer: str
    version: int
    rows: tuple[int, ...]
    typed: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@router.get("", dependencies=[requires(Deed.RECORD_VISIT)])
def told_so_far(
    request: Request, session: ReadSession, viewer: SignedIn, work_id: PathId, layer_id: PathId
) -> Response:
    """Show what is told of the windows."""
    records, layer = _layer(session, viewer, work_id, layer_id)
    page = _page(records, layer, _as_typed(read_windows(layer.windows)))
    return show(request, "works/mat_windows.html", page)


@router.post("", dependencies=[requires(Deed.RECORD_VISIT)])
def told(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    work_id: PathId,
    layer_id: PathId,
    form: Typed,
) -> Response:
    """Keep what is told of the windows."""
    records, layer = _layer(session, viewer, work_id, layer_id)
    typed = {name: form[name] for name in ("count", *_names(MOST_WINDOWS))}
    try:
        tell_windows(session, viewer, layer_id, _windows(form), based_on=version_in(form))
    except BadValue as error:
        page = _page(records, layer, typed, error.faults)
        return show(request, "works/mat_windows.html", page, REFUSED)
    except Stale as error:
        page = replace(
            _page(records, layer, typed, (Fault("", error.message),)),
            differences=_differences(typed, _as_typed(read_windows(layer.windows))),
        )
        return show(request, "works/mat_windows.html", page, STALE)
    return RedirectResponse(f"/works/{work_id}#package", SEE_OTHER)


def _layer(
    session: Session, viewer: Viewer, work_id: int, layer_id: int
) -> tuple[WorkRecords, LayerRow]:
    """Return a mat of this work. Raises NotFound for any other layer."""
    records = records_of(session, viewer, work_id)
    for layers in records.layers.values():
        for layer in layers:
            if layer.id == layer_id and layer.role in HAS_WINDOWS:
                return records, layer
    raise NotFound("mat", layer_id)


def _names(count: int) -> list[str]:
    return [f"{row}/{name}" for row in range(count) for name in _LABELS]


def _as_typed(windows: Sequence[WindowTold]) -> dict[str, str]:
    typed = {"count": str(len(windows) or "")}
    for row, window in enumerate(windows):
        typed |= {
            f"{row}/{name}": figure_to_type(getattr(window, name))
            for name in _LABELS
            if name != "shows"
        }
        typed[f"{row}/shows"] = window.shows
    return typed


def _page(
    records: WorkRecords,
    layer: LayerRow,
    typed: Mapping[str, str],
    faults: tuple[Fault, ...] = (),
) -> MatWindowsPage:
    told = [row for row in range(MOST_WINDOWS) if _is_told(typed, row)]
    count = typed.get("count", "").strip()
    named = int(count) if count.isascii() and count.isdigit() and len(count) < 3 else 0
    many = max(max(told, default=-1) + 1, named) + BLANK_ROWS
    rows = range(min(max(many, LEAST_ROWS), MOST_WINDOWS))
    return MatWindowsPage(
        work=work_shown(records),
        layer_id=layer.id,
        layer=layer_said(layer),
        version=layer.version,
        rows=tuple(rows),
        typed={name: typed.get(name, "") for name in ("count", *_names(len(rows)))},
        faults=faults,
    )


def _differences(typed: Mapping[str, str], now: Mapping[str, str]) -> tuple[Difference, ...]:
    labels = {
        f"{row}/{name}": f"window {row + 1}, {label}"
        for row in range(MOST_WINDOWS)
        for name, label in _LABELS.items()
    }
    labels = {"count": "how many windows", **labels}
    return differences(labels, typed, {**dict.fromkeys(labels, ""), **now})


def _is_told(typed: Mapping[str, str], row: int) -> bool:
    return any(typed.get(f"{row}/{name}", "").strip() for name in _LABELS)


def _windows(form: TypedForm) -> tuple[WindowTold, ...]:
    """Return the windows as told; a blank row is one of those that were only counted.

    Raises BadValue.
    """
    reader = RowReader(form)
    count = reader.whole("count", 0, MOST_WINDOWS, "number of windows")
    typed = {name: form[name] for name in _names(MOST_WINDOWS)}
    last = max((row for row in range(MOST_WINDOWS) if _is_told(typed, row)), default=-1)
    windows = [
        WindowTold(
            height_mm=reader.length(f"{row}/height_mm"),
            width_mm=reader.length(f"{row}/width_mm"),
            left_mm=reader.length(f"{row}/left_mm"),
            top_mm=reader.length(f"{row}/top_mm"),
            shows=reader.line(f"{row}/shows", LONGEST_SHOWS),
        )
        for row in range(max(last + 1, count or 0))
    ]
    if count is not None and last >= count:
        message = f"{count} windows, and something is told of number {last + 1}."
        fewer = BadValue.at("", message, "Count them anew, or clear the row.")
        reader.answers.faults.note("/count", fewer)
    reader.answers.refuse()
    return tuple(windows)
