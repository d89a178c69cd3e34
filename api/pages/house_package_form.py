"""How does a keeper put a usual build on record, or change it?

Its layers front to back, its holds, and how the work is held: told row by row, or taken
from the package in which a work is now. What a row does not show, such as which side of a
layer faces the work, stays as it was as long as the row names the same material. A change is
a new edition.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed
from api.pages.form_answers import REFUSED, Refusal, faults_beside, is_key
from api.pages.form_shown import FormShown
from api.pages.package_typed import MOST_HOLDS, holds_now, layers_now
from api.pages.path_ids import PathId
from api.pages.row_reader import RowReader
from api.pages.work_page import records_of
from api.routes import Route
from api.templating import show
from models.actions.house_packages import (
    add_house_package,
    read_house_package,
    renew_house_package,
)
from models.actions.work_records import WorkRecords
from models.errors import HingebookError, NotFound
from models.rules.permissions import Deed
from models.rules.record_values import size_mm
from models.rules.visit_as_told import HoldTold, LayerTold, MountTold
from models.tables.bench_choices import Choice, Chosen, bench_choices
from models.tables.case_rows import HoldRow, LayerRow
from models.tables.visible import Viewer
from models.vocabulary import LayerRole
from seed_data.shipped import shipped_default_figures

router = APIRouter(prefix="/house-packages", route_class=Route)

TEMPLATE = "house_packages/form.html"
SEE_OTHER = 303
# Rows that stand blank below those that are told.
BLANK_LAYERS, BLANK_HOLDS = 3, 1
# A build that nobody has begun to tell: what most works lie in.
USUAL = (LayerRole.GLAZING, LayerRole.WINDOW_MAT, LayerRole.WORK, LayerRole.MOUNT_BOARD)


@dataclass(frozen=True)
class HousePackageFormPage:
    """What templates/house_packages/form.html is given; `path` is where it is sent."""

    path: str
    name: str
    edition: int
    work_id: str
    from_work: str
    form: FormShown
    layers: range
    holds: range
    roles: tuple[str, ...]
    methods: tuple[Chosen, ...]
    materials: tuple[Chosen, ...]


@router.get("/new", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def new_page(request: Request, session: ReadSession, viewer: SignedIn, work: str = "") -> Response:
    """Ask for a usual build, filled in from the package of a work where one is named."""
    build, number = _of_work(session, viewer, work)
    page = _page(session, "/house-packages/new", _typed(build), work=work, from_work=number)
    return show(request, TEMPLATE, page)


@router.post("/new", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def new_sent(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Put a usual build on record."""
    work = form["work"]
    old, number = _of_work(session, viewer, work)
    reader = RowReader(form)
    try:
        build = _build_typed(reader, old)
        reader.answers.refuse()
        figures = shipped_default_figures()
        package = add_house_package(
            session, viewer, form["name"], build, defaults=figures, at="/build"
        )
    except Refusal as error:
        page = _page(session, "/house-packages/new", form.fields, work=work, from_work=number)
        return show(request, TEMPLATE, _refused(page, reader, error), REFUSED)
    return RedirectResponse(f"/house-packages#build-{package.id}", SEE_OTHER)


@router.get("/{package_id:int}/change", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def change_page(
    request: Request, session: ReadSession, viewer: SignedIn, package_id: PathId
) -> Response:
    """Show a usual build to be changed."""
    package = read_house_package(session, viewer, package_id)
    path = f"/house-packages/{package_id}/change"
    page = _page(session, path, _typed(package.build))
    return show(request, TEMPLATE, replace(page, name=package.name, edition=package.edition))


@router.post("/{package_id:int}/change", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def change_sent(
    request: Request, session: WriteSession, viewer: SignedIn, package_id: PathId, form: Typed
) -> Response:
    """Keep the next edition of a usual build."""
    package = read_house_package(session, viewer, package_id)
    reader = RowReader(form)
    try:
        build = _build_typed(reader, package.build)
        reader.answers.refuse()
        figures = shipped_default_figures()
        renewed = renew_house_package(
            session, viewer, package_id, build, defaults=figures, at="/build"
        )
    except Refusal as error:
        page = _page(session, f"/house-packages/{package_id}/change", form.fields)
        page = replace(page, name=package.name, edition=package.edition)
        return show(request, TEMPLATE, _refused(page, reader, error), REFUSED)
    return RedirectResponse(f"/house-packages#build-{renewed.id}", SEE_OTHER)


def _page(
    session: Session,
    path: str,
    typed: Mapping[str, Sequence[str]],
    *,
    work: str = "",
    from_work: str = "",
) -> HousePackageFormPage:
    form, choices = FormShown(typed), bench_choices(session)
    return HousePackageFormPage(
        path=path,
        name="",
        edition=0,
        work_id=work,
        from_work=from_work,
        form=form,
        layers=range(len(form.rows("layer", 0)) + BLANK_LAYERS),
        holds=range(len(form.rows("hold", 0)) + BLANK_HOLDS),
        roles=tuple(LayerRole),
        methods=choices[Choice.METHOD],
        materials=choices[Choice.MATERIAL],
    )


def _refused(
    page: HousePackageFormPage, reader: RowReader, error: HingebookError
) -> HousePackageFormPage:
    """Return the page with what is wrong in the row in which it was typed."""
    if faults := getattr(error, "faults", ()):
        error.faults = tuple(  # type: ignore[attr-defined]
            replace(one, pointer=_field_of(reader, one.pointer)) for one in faults
        )
    shown = faults_beside(error, _fields(page), {"name_taken": "name"})
    return replace(page, form=replace(page.form, faults=shown))


def _field_of(reader: RowReader, pointer: str) -> str:
    """Return the field in which a part of the build was typed: what it is made of, if no other."""
    *_, part, nth, name = ["", "", *pointer.split("/")][-3:]
    if (row := reader.fields.get(f"/{part}/{nth}")) is not None:
        return f"/{row}/{name if name in ('count', 'role', 'position') else 'material'}"
    return "/method" if name == "method" else pointer


def _fields(page: HousePackageFormPage) -> list[str]:
    of_layers = [f"layer/{n}/{name}" for n in page.layers for name in ("order", "role", "material")]
    of_holds = [
        f"hold/{n}/{name}" for n in page.holds for name in ("material", "position", "count")
    ]
    return ["name", "method", "note", *of_layers, *of_holds]


def _typed(build: MountTold) -> dict[str, Sequence[str]]:
    """Return a build as it would be typed."""
    typed = {"method": [build.method or ""], "note": [build.note]}
    for n, layer in enumerate(build.layers):
        made_of = layer.material or layer.grade or ""
        typed |= {
            f"layer/{n}/order": [str(n + 1)],
            f"layer/{n}/role": [layer.role.value],
            f"layer/{n}/material": [made_of],
        }
    for n, hold in enumerate(build.holds):
        typed |= {
            f"hold/{n}/material": [hold.material or hold.grade or ""],
            f"hold/{n}/position": [hold.position],
            f"hold/{n}/count": [str(hold.count) if hold.count else ""],
        }
    return {name: tuple(values) for name, values in typed.items()}


def _build_typed(reader: RowReader, old: MountTold) -> MountTold:
    """Return the build that was typed; `old` is what its rows stood for beforehand."""
    layers: list[tuple[float, str, LayerTold]] = []
    for at in reader.rows("layer"):
        role = reader.word(f"{at}/role", LayerRole)
        if role is None:
            if reader.text(f"{at}/material"):
                reader.wrong(
                    f"{at}/role", "Nobody has said what it is.", "Choose one, or clear it."
                )
            continue
        order = reader.figure(f"{at}/order")
        last = float(len(layers) + 1)
        layers.append((last if order is None else order, at, _layer(reader, at, role, old)))
    layers.sort(key=lambda row: row[0])
    for nth, (_, at, _) in enumerate(layers):
        reader.told_at(f"/layers/{nth}", at)
    return replace(
        old,
        method=reader.text("method"),
        layers=tuple(layer for _, _, layer in layers),
        holds=tuple(_holds(reader, old)),
        note=reader.note("note"),
    )


def _layer(reader: RowReader, at: str, role: LayerRole, old: MountTold) -> LayerTold:
    if role is LayerRole.WORK:
        return LayerTold(role=role)
    made_of, nth = reader.text(f"{at}/material"), int(at.rpartition("/")[2])
    before = old.layers[nth] if nth < len(old.layers) else None
    if before is not None and made_of == (before.material or before.grade):
        return replace(before, role=role)
    return LayerTold(role=role, material=made_of)


def _holds(reader: RowReader, old: MountTold) -> list[HoldTold]:
    told: list[HoldTold] = []
    for at in reader.rows("hold"):
        made_of = reader.text(f"{at}/material")
        position = reader.line(f"{at}/position")
        count = reader.whole(f"{at}/count", 1, MOST_HOLDS, "count")
        if not (made_of or position or count):
            continue
        nth = int(at.rpartition("/")[2])
        before = old.holds[nth] if nth < len(old.holds) else None
        is_same = before is not None and made_of == (before.material or before.grade)
        hold = before if before is not None and is_same else HoldTold(material=made_of)
        reader.told_at(f"/holds/{len(told)}", at)
        told.append(replace(hold, position=position, count=count))
    return told


def _of_work(session: Session, viewer: Viewer, work: str) -> tuple[MountTold, str]:
    """Return the build of the package in which a work is now, with its number; else a usual one."""
    if not work:
        return MountTold(layers=tuple(LayerTold(role=role) for role in USUAL)), ""
    if not is_key(work):
        raise NotFound("work", work[:20])
    records = records_of(session, viewer, int(work))
    return _build_of(records), records.work.number


def _build_of(records: WorkRecords) -> MountTold:
    """Return how a work is built in, without what belongs to it alone."""
    mount = records.current_mount
    return MountTold(
        method=None if mount is None else mount.method,
        layers=tuple(_as_told(row) for row in layers_now(records) if not row.belongs_to_work),
        in_front=None if mount is None else mount.in_front,
        behind=None if mount is None else mount.behind,
        held=None if mount is None else mount.held,
        holds=tuple(_hold_as_told(row) for row in holds_now(records)),
    )


def _as_told(row: LayerRow) -> LayerTold:
    return LayerTold(
        role=row.role,
        material=row.material,
        grade=None if row.material else row.grade,
        side=row.side,
        distance=row.distance,
        covers_all=row.covers_all,
    )


def _hold_as_told(row: HoldRow) -> HoldTold:
    return HoldTold(
        material=row.material,
        grade=None if row.material else row.grade,
        adhesive_grade=None if row.material else row.adhesive_grade,
        position=row.position,
        count=row.hold_count,
        clearance_mm=size_mm(row.clearance_um),
        covers_all=row.covers_all,
    )
