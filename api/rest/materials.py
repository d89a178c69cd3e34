"""The library of materials: their figures in editions, and where each is used."""

from collections.abc import Mapping
from typing import Annotated

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field, StringConstraints
from pydantic.config import JsonDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import after_text, after_use, page_of
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import (
    Figure,
    In,
    Name,
    Note,
    Out,
    Page,
    PagingAsked,
    PathId,
    QueryText,
)
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Line
from api.routes import Route
from models.actions.materials import (
    FiguresTold,
    MaterialOnRecord,
    MaterialsAsked,
    MaterialTold,
    add_material,
    change_material,
    correct_figures,
    list_editions,
    list_materials,
    read_material,
    uses_of_material,
)
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.material_uses import Use
from models.vocabulary import Freeing, PatResult
from seed_data.shipped import shipped_default_figures

router = APIRouter(prefix="/api/materials", tags=["materials"], route_class=Route)

_FIGURES: JsonDict = {
    "grade": "cotton rag board, buffered",
    "ph": 8.5,
    "alkaline_reserve_percent": 2.5,
    "kappa": 1.5,
    "pat": "passed",
    "pat_on": "2024-05-12",
    "buffered": True,
    "thickness_mm": 1.4,
    "sheet_height_mm": 1016,
    "sheet_width_mm": 813,
    "basis": {"ph": "common practice, no source"},
}
_MATERIAL: JsonDict = {
    "name": "Cotton rag mat board, 4-ply, buffered",
    "kind": "mat board",
    "claim": "museum quality",
    "figures": _FIGURES,
}
Basis = Annotated[
    dict[Annotated[str, StringConstraints(max_length=50)], Line], Field(max_length=50)
]


class FiguresIn(In):
    """What is known of a material; a grade is a row of the risk defaults, never a label."""

    model_config = ConfigDict(json_schema_extra={"examples": [_FIGURES]})

    grade: Name | None = None
    hold_grade: Name | None = None
    frees_by: Freeing | None = None
    ph: Figure | None = None
    alkaline_reserve_percent: Figure | None = None
    kappa: Figure | None = None
    pat: PatResult | None = None
    pat_on: Annotated[str, StringConstraints(max_length=10)] | None = None
    buffered: bool | None = None
    barrier: bool | None = None
    thickness_mm: Figure | None = None
    mass_g_per_m2: Figure | None = None
    sheet_height_mm: Figure | None = None
    sheet_width_mm: Figure | None = None
    uv_block_percent: Figure | None = None
    basis: Basis | None = None

    def told(self) -> FiguresTold:
        """Return the figures as they are told on."""
        given = {name: value for name, value in dict(self).items() if value is not None}
        return FiguresTold(**given)


class MaterialIn(In):
    """A material with the first edition of its figures."""

    model_config = ConfigDict(json_schema_extra={"examples": [_MATERIAL]})

    name: Name
    kind: Name
    claim: Line = ""
    caution: Note = ""
    note: Note = ""
    figures: FiguresIn = FiguresIn()

    def told(self) -> MaterialTold:
        """Return the material as it is told on, without its figures."""
        return MaterialTold(
            name=self.name,
            kind=self.kind,
            claim=self.claim,
            caution=self.caution,
            note=self.note,
        )


class MaterialChange(In):
    """A merge patch of all but the figures: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"claim": None, "note": "thin"}]})

    name: Name | None = None
    kind: Name | None = None
    claim: Line | None = None
    caution: Note | None = None
    note: Note | None = None


class FiguresOut(Out):
    """An edition of what is known of a material."""

    grade: str | None
    hold_grade: str | None
    frees_by: Freeing | None
    ph: float | None
    alkaline_reserve_percent: float | None
    kappa: float | None
    pat: PatResult
    pat_on: str | None
    buffered: bool | None
    barrier: bool
    thickness_mm: float | None
    mass_g_per_m2: float | None
    sheet_height_mm: float | None
    sheet_width_mm: float | None
    uv_block_percent: float | None
    basis: Mapping[str, str] | None


class MaterialOut(Out):
    """A material with the newest edition of its figures."""

    id: int
    version: int
    name: str
    kind: str
    claim: str
    caution: str
    note: str
    edition: int
    figures: FiguresOut
    recalled: bool


class EditionOut(Out):
    """An edition of the figures of a material."""

    edition: int
    figures: FiguresOut


class UseOut(Out):
    """A use on one work: in a layer, a hold or a treatment; `since` and `until` in EDTF."""

    work: str
    work_id: int
    kind: str
    id: int
    place: str
    lot: str | None
    since: str | None
    until: str | None
    current: bool


def material_out(material: MaterialOnRecord) -> MaterialOut:
    """Return a material as it is sent."""
    return MaterialOut(
        id=material.id,
        version=material.version,
        edition=material.edition,
        figures=_figures_out(material.figures),
        recalled=material.is_recalled,
        **vars(material.told),
    )


def _figures_out(figures: FiguresTold) -> FiguresOut:
    return FiguresOut.model_validate(figures, from_attributes=True)


def use_out(use: Use) -> UseOut:
    """Return a use as it is sent."""
    return UseOut(
        work=use.work_number,
        work_id=use.work_id,
        kind=use.kind,
        id=use.row_id,
        place=use.place,
        lot=use.lot,
        since=use.since_edtf,
        until=use.until_edtf,
        current=use.is_current,
    )


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_MATERIALS)])
def add(
    session: WriteSession, viewer: SignedIn, told: MaterialIn, response: Response
) -> MaterialOut:
    """Add a material with the first edition of its figures."""
    figures = told.figures.told()
    material = add_material(
        session, viewer, told.told(), figures, defaults=shipped_default_figures()
    )
    response.headers["Location"] = f"/api/materials/{material.id}"
    set_etag(response, material.version)
    return material_out(material)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    session: ReadSession,
    viewer: SignedIn,
    paging: PagingAsked,
    q: QueryText = None,
    kind: QueryText = None,
) -> Page[MaterialOut]:
    """List the library by name."""
    asked = MaterialsAsked(q=q or "", kind=kind, limit=paging.limit, after=after_text(paging))
    materials, on = list_materials(session, viewer, asked)
    return page_of([material_out(m) for m in materials], None if on is None else (on,))


@router.get("/{material_id}", dependencies=[requires(Deed.READ)])
def one(
    session: ReadSession, viewer: SignedIn, material_id: PathId, response: Response
) -> MaterialOut:
    """Read one material."""
    material = read_material(session, viewer, material_id)
    set_etag(response, material.version)
    return material_out(material)


@router.patch("/{material_id}", dependencies=[requires(Deed.KEEP_MATERIALS)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    seen: VersionSeen,
    told: MaterialChange,
    response: Response,
) -> MaterialOut:
    """Correct a material; its figures get a new edition instead."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(material_out):
        material = change_material(
            session, viewer, material_id, changes, based_on=seen, today=day_number(today)
        )
    set_etag(response, material.version)
    return material_out(material)


@router.post(
    "/{material_id}/figures", status_code=201, dependencies=[requires(Deed.KEEP_MATERIALS)]
)
def new_edition(
    session: WriteSession, viewer: SignedIn, today: Today, material_id: PathId, told: FiguresIn
) -> MaterialOut:
    """Add an edition that differs from the newest in the figures sent, and in no other."""
    material = correct_figures(
        session,
        viewer,
        material_id,
        told.model_dump(exclude_unset=True),
        defaults=shipped_default_figures(),
        today=day_number(today),
    )
    return material_out(material)


@router.get("/{material_id}/figures", dependencies=[requires(Deed.READ)])
def editions(session: ReadSession, viewer: SignedIn, material_id: PathId) -> Page[EditionOut]:
    """List every edition of the figures of a material, oldest first."""
    known = list_editions(session, viewer, material_id)
    items = [EditionOut(edition=n, figures=_figures_out(figures)) for n, figures in known]
    return Page(items=items, next=None)


@router.get("/{material_id}/uses", dependencies=[requires(Deed.READ)])
def uses(
    session: ReadSession, viewer: SignedIn, material_id: PathId, paging: PagingAsked
) -> Page[UseOut]:
    """List every layer, hold and treatment in which a material is or was, by work."""
    found, on = uses_of_material(
        session, viewer, material_id, limit=paging.limit, after=after_use(paging)
    )
    return page_of([use_out(use) for use in found], on)
