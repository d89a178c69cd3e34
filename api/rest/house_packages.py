"""House packages: the usual builds, named and in editions, told in the words of a mount."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict
from pydantic.config import JsonDict

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.rest.cursors import after_number
from api.rest.shapes import In, Name, Out, Page, PagingAsked, PathId
from api.rest.visit_shapes import MountIn
from api.routes import Route
from models.actions.house_packages import (
    HousePackageOnRecord,
    add_house_package,
    end_house_package,
    list_house_packages,
    read_house_package,
    renew_house_package,
)
from models.rules.permissions import Deed
from models.rules.visit_as_told import HoldTold, LayerTold
from models.vocabulary import Answer, Distance, KnownBy, LayerRole, LayerSide
from seed_data.shipped import shipped_default_figures

router = APIRouter(prefix="/api/house-packages", tags=["house packages"], route_class=Route)

_BOARD = "Cotton rag mat board, 4-ply, buffered"
_BUILD: JsonDict = {
    "method": "T-hinge",
    "holds": [{"material": "Wheat starch paste on Japanese paper", "position": "top", "count": 2}],
    "layers": [
        {"role": "window mat", "material": _BOARD},
        {"role": "work"},
        {"role": "mount board", "material": _BOARD},
    ],
}


class HousePackageIn(In):
    """A usual build; it names no lots, for the lot in use is taken when it is built."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"name": "House float", "build": _BUILD}]}
    )

    name: Name
    build: MountIn


class EditionIn(In):
    """The next edition of a usual build."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"build": _BUILD}]})

    build: MountIn


class UsualLayerOut(Out):
    """A layer of a usual build."""

    role: LayerRole
    material: str | None
    grade: str | None
    side: LayerSide | None
    distance: Distance | None
    known_by: KnownBy | None
    covers_all: bool
    belongs_to_work: bool
    note: str


class UsualHoldOut(Out):
    """A hold of a usual build."""

    material: str | None
    grade: str | None
    adhesive_grade: str | None
    position: str
    count: int | None
    clearance_mm: float | None
    known_by: KnownBy | None
    covers_all: bool
    note: str


class BuildOut(Out):
    """A usual build, in the words of a mount; layers front to back with the work among them."""

    method: str | None
    layers: list[UsualLayerOut]
    front: Answer | None
    back: Answer | None
    holds: list[UsualHoldOut]
    held: Answer | None
    note: str


class HousePackageOut(Out):
    """An edition of a usual build; only one that has not ended is offered."""

    id: int
    name: str
    edition: int
    ended: bool
    build: BuildOut


def house_package_out(package: HousePackageOnRecord) -> HousePackageOut:
    """Return a usual build as it is sent."""
    build = package.build
    return HousePackageOut(
        id=package.id,
        name=package.name,
        edition=package.edition,
        ended=package.ended,
        build=BuildOut(
            method=build.method,
            layers=[_layer_out(layer) for layer in build.layers],
            front=build.in_front,
            back=build.behind,
            holds=[_hold_out(hold) for hold in build.holds],
            held=build.held,
            note=build.note,
        ),
    )


def _layer_out(layer: LayerTold) -> UsualLayerOut:
    return UsualLayerOut.model_validate(layer, from_attributes=True)


def _hold_out(hold: HoldTold) -> UsualHoldOut:
    return UsualHoldOut.model_validate(hold, from_attributes=True)


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def add(
    session: WriteSession, viewer: SignedIn, told: HousePackageIn, response: Response
) -> HousePackageOut:
    """Add a usual build."""
    build = told.build.told("/build")
    package = add_house_package(
        session, viewer, told.name, build, defaults=shipped_default_figures(), at="/build"
    )
    response.headers["Location"] = f"/api/house-packages/{package.id}"
    return house_package_out(package)


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    session: ReadSession, viewer: SignedIn, paging: PagingAsked, ended: bool = False
) -> Page[HousePackageOut]:
    """List the usual builds, as they were added; with `ended` every edition there was."""
    after = after_number(paging) or 0
    packages = list_house_packages(session, viewer, current_only=not ended)
    rest = sorted((p for p in packages if p.id > after), key=lambda package: package.id)
    return paging.page(rest, lambda package: (package.id,), house_package_out)


@router.get("/{package_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, package_id: PathId) -> HousePackageOut:
    """Read one edition of a usual build."""
    return house_package_out(read_house_package(session, viewer, package_id))


@router.post(
    "/{package_id}/editions",
    status_code=201,
    dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)],
)
def renew(
    session: WriteSession,
    viewer: SignedIn,
    package_id: PathId,
    told: EditionIn,
    response: Response,
) -> HousePackageOut:
    """Add a new edition of a usual build, which ends the one before it."""
    build = told.build.told("/build")
    package = renew_house_package(
        session, viewer, package_id, build, defaults=shipped_default_figures(), at="/build"
    )
    response.headers["Location"] = f"/api/house-packages/{package.id}"
    return house_package_out(package)


@router.post("/{package_id}/end", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def end(session: WriteSession, viewer: SignedIn, package_id: PathId) -> HousePackageOut:
    """Offer a usual build no more; what was built by it stays."""
    return house_package_out(end_house_package(session, viewer, package_id))
