"""An unknown board taken as what its bench tests say, and that taken back: for programs."""

from fastapi import APIRouter
from pydantic import ConfigDict

from api.dependencies import SignedIn, Today, WriteSession, requires
from api.rest.shapes import Out, PathId
from api.routes import Route
from models.actions.grade_decisions import decide_grade, take_back_grade
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(prefix="/api/layers", tags=["layers"], route_class=Route)


class GradeDecidedOut(Out):
    """What the layer is taken as from now on; `likely` is a share of 1."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "layer_id": 12,
                    "grade": "groundwood board",
                    "likely": 0.864,
                    "tests": "bevel colour: brown",
                    "grade_before": None,
                }
            ]
        }
    )

    layer_id: int
    grade: str
    likely: float
    tests: str
    grade_before: str | None


@router.post(
    "/{layer_id}/grade-decision", status_code=201, dependencies=[requires(Deed.RECORD_VISIT)]
)
def decided(
    session: WriteSession, viewer: SignedIn, today: Today, layer_id: PathId
) -> GradeDecidedOut:
    """Take an unknown board as what its tests say, by the ladder of the house."""
    done = decide_grade(session, viewer, layer_id, today=day_number(today))
    return GradeDecidedOut(**vars(done))


@router.delete(
    "/{layer_id}/grade-decision", status_code=204, dependencies=[requires(Deed.RECORD_VISIT)]
)
def taken_back(session: WriteSession, viewer: SignedIn, today: Today, layer_id: PathId) -> None:
    """Take the decision that stands back; the layer says again what it said before."""
    take_back_grade(session, viewer, layer_id, today=day_number(today))
