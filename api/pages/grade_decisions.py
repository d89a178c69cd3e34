"""How does somebody take an unknown board as what its tests say, from the page of a work?"""

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from api.dependencies import SignedIn, Today, WriteSession, requires
from api.forms import Typed
from api.pages.path_ids import PathId
from api.routes import Route
from models.actions.grade_decisions import decide_grade, take_back_grade
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(
    prefix="/works/{work_id:int}/layers/{layer_id:int}/grade-decision", route_class=Route
)

SEE_OTHER = 303


@router.post("", dependencies=[requires(Deed.RECORD_VISIT)])
def decided(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    layer_id: PathId,
    form: Typed,
) -> Response:
    """Take the layer as what its tests say."""
    form.require_clean()
    decide_grade(session, viewer, layer_id, today=day_number(today))
    return RedirectResponse(f"/works/{work_id}#package", SEE_OTHER)


@router.post("/take-back", dependencies=[requires(Deed.RECORD_VISIT)])
def taken_back(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    layer_id: PathId,
    form: Typed,
) -> Response:
    """Take the decision back."""
    form.require_clean()
    take_back_grade(session, viewer, layer_id, today=day_number(today))
    return RedirectResponse(f"/works/{work_id}#package", SEE_OTHER)
