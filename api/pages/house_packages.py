"""Which packages does the house build every day?

The usual builds with their layers and holds; a visit fits one by its name, with the lots
in use. A build that is not made any more is ended; what was built by it stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.house_packages import (
    HousePackageOnRecord,
    end_house_package,
    list_house_packages,
)
from models.rules.permissions import Deed, may
from models.rules.visit_as_told import HoldTold, LayerTold
from models.vocabulary import LayerRole

router = APIRouter(prefix="/house-packages", route_class=Route)

SEE_OTHER = 303


@dataclass(frozen=True)
class PartShown:
    """A layer or a hold in words."""

    role: str
    made_of: str
    is_the_work: bool = False


@dataclass(frozen=True)
class BuildShown:
    """A usual build, front to back."""

    id: int
    name: str
    edition: int
    method: str
    layers: tuple[PartShown, ...]
    holds: tuple[PartShown, ...]
    note: str


@dataclass(frozen=True)
class BuildsPage:
    """What templates/house_packages/list.html is given."""

    builds: tuple[BuildShown, ...]
    may_keep: bool


@router.get("", dependencies=[requires(Deed.READ)])
def listed(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show the usual builds."""
    page = BuildsPage(
        builds=tuple(_shown(build) for build in list_house_packages(session, viewer)),
        may_keep=may(viewer.role, Deed.KEEP_HOUSE_PACKAGES),
    )
    return show(request, "house_packages/list.html", page)


@router.post("/{package_id:int}/end", dependencies=[requires(Deed.KEEP_HOUSE_PACKAGES)])
def ended(session: WriteSession, viewer: SignedIn, package_id: PathId) -> Response:
    """Offer a usual build no more."""
    end_house_package(session, viewer, package_id)
    return RedirectResponse("/house-packages", SEE_OTHER)


def _shown(package: HousePackageOnRecord) -> BuildShown:
    build = package.build
    return BuildShown(
        id=package.id,
        name=package.name,
        edition=package.edition,
        method=build.method or "",
        layers=_layers(build.layers),
        holds=tuple(_hold(hold) for hold in build.holds),
        note=build.note,
    )


def _layers(layers: Sequence[LayerTold]) -> tuple[PartShown, ...]:
    return tuple(
        PartShown(layer.role, layer.material or layer.grade or "", layer.role is LayerRole.WORK)
        for layer in layers
    )


def _hold(hold: HoldTold) -> PartShown:
    count = f"{hold.count} \N{MULTIPLICATION SIGN} " if hold.count else ""
    where = f"{count}{hold.position}".strip()
    return PartShown(where or "hold", hold.material or hold.grade or "")
