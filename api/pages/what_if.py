"""What if the package, the hold or the place of a work were another? Nothing is stored.

A plain form that asks by its address: what would be another stands in it, and the
answer stands beside what is.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.forecast_shown import ForecastShown, forecast_shown
from api.pages.form_answers import REFUSED, faults_beside
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from api.typed_text import without_forbidden
from models.actions.what_if import TAKEN_OUT, WhatIf, WhatIfJudged, judge_what_if
from models.errors import BadValue, Fault
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.tables.materials import materials
from models.vocabulary import LayerRole

router = APIRouter(route_class=Route)

LAYER = "layer_"
FIELDS = ("front", "behind", "spacer", "hold", "place")
LONGEST = 500


@dataclass(frozen=True)
class LayerAsked:
    """One layer of the package, and the field that swaps it."""

    field: str
    role: str
    material: str
    typed: str


@dataclass(frozen=True)
class WhatIfPage:
    """What templates/works/_what_if.html and templates/works/what_if.html are given."""

    work_id: int
    number: str
    title: str
    layers: tuple[LayerAsked, ...]
    holds: tuple[str, ...]
    place: str
    typed: Mapping[str, str]
    materials: tuple[str, ...]
    taken_out: str
    is_asked: bool
    now: ForecastShown
    then: ForecastShown
    may_visit: bool
    faults: tuple[Fault, ...] = ()


@router.get("/works/{work_id:int}/what-if", dependencies=[requires(Deed.READ)])
def what_if(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId
) -> Response:
    """Show what would become of a work in another package or place."""
    now = day_number(today)
    typed = {
        name: without_forbidden(text)[:LONGEST].strip()
        for name, text in request.query_params.items()
        if name in FIELDS or _layer_number(name) is not None
    }
    faults: tuple[Fault, ...] = ()
    try:
        judged = judge_what_if(session, viewer, work_id, _asked(typed), today=now)
    except BadValue as error:
        faults = faults_beside(error, tuple(typed))
        judged = judge_what_if(session, viewer, work_id, WhatIf(), today=now)
    page = WhatIfPage(
        work_id=work_id,
        number=judged.records.work.number,
        title=judged.records.work.title,
        layers=_layers(judged, typed),
        holds=tuple(hold.material or hold.grade for hold in judged.package.holds),
        place=judged.place,
        typed={name: typed.get(name, "") for name in FIELDS},
        materials=tuple(material.name for material in materials(session)),
        taken_out=TAKEN_OUT,
        is_asked=any(typed.values()) and not faults,
        now=forecast_shown(judged.as_it_is, today=now),
        then=forecast_shown(judged.as_it_would_be, today=now),
        may_visit=may(viewer.role, Deed.RECORD_VISIT),
        faults=faults,
    )
    return show(request, "works/what_if.html", page, REFUSED if faults else 200)


def _asked(typed: Mapping[str, str]) -> WhatIf:
    numbers = {_layer_number(name): text for name, text in typed.items()}
    layers = {number: text for number, text in numbers.items() if number is not None}
    return WhatIf(layers=layers, **{name: typed.get(name, "") for name in FIELDS})


def _layer_number(name: str) -> int | None:
    number = name.removeprefix(LAYER)
    is_one = name.startswith(LAYER) and number.isascii() and number.isdigit() and len(number) < 10
    return int(number) if is_one else None


def _layers(judged: WhatIfJudged, typed: Mapping[str, str]) -> tuple[LayerAsked, ...]:
    return tuple(
        LayerAsked(
            field=f"{LAYER}{layer.key}",
            role=layer.role,
            material=layer.material or layer.grade or "not recorded",
            typed=typed.get(f"{LAYER}{layer.key}", ""),
        )
        for layer in judged.package.layers
        if layer.role is not LayerRole.WORK and isinstance(layer.key, int)
    )
