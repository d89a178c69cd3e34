"""What would a planned package do to a work, and when would it have to be looked at?

All is worked out from the body alone and nothing is stored, so that a package can
be judged before it exists. What is left out takes a default that the answer names.
"""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Body
from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from api.dependencies import ReadSession, Today, requires
from api.rest.shapes import LONGEST_LIST, In, Name, Note
from api.routes import Route
from models.actions.package_previews import preview_of
from models.rules.package_preview import (
    HoldPlanned,
    LayerPlanned,
    MountPlanned,
    PackagePlan,
    PackagePreview,
    PlacePlanned,
    WorkPlanned,
)
from models.rules.permissions import Deed
from models.vocabulary import (
    Distance,
    LayerRole,
    LayerSide,
    PlaceUse,
    Replaceability,
    Shown,
    Surface,
)

router = APIRouter(prefix="/api/forecasts", tags=["forecasts"], route_class=Route)


def _written(given: object) -> object:
    # A number would be taken for seconds since 1970.
    if given is not None and not isinstance(given, str):
        raise PydanticCustomError("date_parsing", "A day is written as text.")
    return given


Day = Annotated[date | None, BeforeValidator(_written)]
Millimetres = Annotated[float, Field(gt=0, le=20_000)]
LightFigure = Annotated[float, Field(ge=0, le=1e6)]

EXAMPLE = {
    "today": "2026-11-25",
    "work": {"replaceability": "unique", "width_mm": 420, "height_mm": 300},
    "place": {"use": "display", "temperature_c": 20, "rh_percent": 50},
    "mount": {
        "mounted_on": "2020-11-25",
        "method": "corner pockets",
        "holds": [{"grade": "corner pockets or edge strips", "count": 4}],
        "layers": [{"role": "window mat", "grade": "groundwood board"}, {"role": "work"}],
    },
    "last_seen": {"front": "2026-05-01", "margins": None},
    "experience": {"acid migration/groundwood board": 1.0},
}


class PlannedWorkIn(In):
    """The work; a surface that is not told is that of its technique."""

    replaceability: Replaceability | None = None
    technique: Annotated[str, Field(max_length=100)] | None = None
    light_class: Annotated[int, Field(ge=1, le=8)] | None = None
    surface: Surface | None = None
    width_mm: Millimetres | None = None
    height_mm: Millimetres | None = None


class PlannedPlaceIn(In):
    """The place where it is to be."""

    use: PlaceUse | None = None
    temperature_c: Annotated[float, Field(ge=-30, le=60)] | None = None
    rh_percent: Annotated[float, Field(ge=0, le=100)] | None = None
    lux: LightFigure | None = None
    hours_per_day: Annotated[float, Field(ge=0, le=24)] | None = None
    days_per_year: Annotated[float, Field(ge=0, le=366)] | None = None
    uv_uw_per_lm: LightFigure | None = None


class PlannedHoldIn(In):
    """A hold by its grade."""

    grade: Name
    count: Annotated[int, Field(ge=1, le=1000)] | None = None
    covers_all: bool = False


class PlannedLayerIn(In):
    """A layer; distance and side follow from the order where they are left out."""

    role: LayerRole
    grade: Name | None = None
    distance: Distance | None = None
    side: LayerSide | None = None
    fitted_on: Day = None
    covers_all: bool = False


class PlannedMountIn(In):
    """The mount: layers front to back, the work among them; adhesives are layers."""

    mounted_on: Day = None
    method: Note | None = None
    holds: list[PlannedHoldIn] = Field(default_factory=list, max_length=LONGEST_LIST)
    layers: list[PlannedLayerIn] = Field(default_factory=list, max_length=LONGEST_LIST)


class PreviewIn(In):
    """A planned package, its work and its place; every part may be left out."""

    today: Day = None
    work: PlannedWorkIn = PlannedWorkIn()
    place: PlannedPlaceIn = PlannedPlaceIn()
    mount: PlannedMountIn = PlannedMountIn()
    last_seen: dict[Shown, Day] = Field(default_factory=dict)
    experience: dict[Name, float] = Field(default_factory=dict, max_length=LONGEST_LIST)

    def as_told(self) -> PackagePlan:
        """Return the plan as the rules are told it."""
        work, mount = self.work.model_dump(), self.mount
        return PackagePlan(
            today=self.today,
            work=WorkPlanned(**work | {"technique": self.work.technique or ""}),
            place=PlacePlanned(**self.place.model_dump()),
            mount=MountPlanned(
                mounted_on=mount.mounted_on,
                method=mount.method or "",
                holds=tuple(HoldPlanned(**hold.model_dump()) for hold in mount.holds),
                layers=tuple(LayerPlanned(**layer.model_dump()) for layer in mount.layers),
            ),
            last_seen=self.last_seen,
            experience=self.experience,
        )


@router.post("/preview", dependencies=[requires(Deed.READ)])
def preview(
    session: ReadSession,
    today: Today,
    plan: Annotated[PreviewIn, Body(examples=[EXAMPLE])],
) -> PackagePreview:
    """Judge a planned package; nothing is stored."""
    return preview_of(session, plan.as_told(), today=today)
