"""Recalls: a material or a lot found bad, every work it touches, and its lifting."""

from fastapi import APIRouter
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import after_number
from api.rest.shapes import Out, Page, PagingAsked, PathId
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.recalls import (
    RecallOnRecord,
    lift_recall,
    list_recalls,
    read_recall,
    recall_lot,
    recall_material,
    works_touched,
)
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.tables.works import Work

router = APIRouter(prefix="/api", tags=["recalls"], route_class=Route)


class TouchedOut(Out):
    """A work that what was recalled touches."""

    id: int | None
    number: str


class RecallOut(Out):
    """A recall, open until it is lifted."""

    id: int
    material: str
    material_id: int
    lot: str | None
    lot_id: int | None
    called_on: str | None
    reason: str
    lifted_on: str | None
    lifted_reason: str


class RecallWithWorksOut(RecallOut):
    """A recall and the works it touches, as far as whoever asks sees them."""

    works: list[TouchedOut]


def _facts(recall: RecallOnRecord) -> dict[str, object]:
    called, lifted = (
        None if day is None else day_date(day).isoformat()
        for day in (recall.called_on, recall.lifted_on)
    )
    return vars(recall) | {"called_on": called, "lifted_on": lifted}


def _with_works(recall: RecallOnRecord, works: list[Work]) -> RecallWithWorksOut:
    touched = [TouchedOut(id=work.id, number=work.number) for work in works]
    return RecallWithWorksOut.model_validate(_facts(recall) | {"works": touched})


@router.post(
    "/materials/{material_id}/recall", status_code=201, dependencies=[requires(Deed.RECALL)]
)
def call_material(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    material_id: PathId,
    why: ReasonIn,
    response: Response,
) -> RecallWithWorksOut:
    """Recall a material in every lot of it."""
    recall = recall_material(session, viewer, material_id, why.reason, today=day_number(today))
    response.headers["Location"] = f"/api/recalls/{recall.id}"
    return _with_works(recall, works_touched(session, viewer, recall))


@router.post("/lots/{lot_id}/recall", status_code=201, dependencies=[requires(Deed.RECALL)])
def call_lot(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    lot_id: PathId,
    why: ReasonIn,
    response: Response,
) -> RecallWithWorksOut:
    """Recall one lot of a material."""
    recall = recall_lot(session, viewer, lot_id, why.reason, today=day_number(today))
    response.headers["Location"] = f"/api/recalls/{recall.id}"
    return _with_works(recall, works_touched(session, viewer, recall))


@router.post("/recalls/{recall_id}/lift", dependencies=[requires(Deed.RECALL)])
def lift(
    session: WriteSession, viewer: SignedIn, today: Today, recall_id: PathId, why: ReasonIn
) -> RecallWithWorksOut:
    """Lift a recall, with a reason."""
    recall = lift_recall(session, viewer, recall_id, why.reason, today=day_number(today))
    return _with_works(recall, works_touched(session, viewer, recall))


@router.get("/recalls", dependencies=[requires(Deed.READ)])
def listed(
    session: ReadSession, viewer: SignedIn, paging: PagingAsked, open_only: bool = False
) -> Page[RecallOut]:
    """List the recalls, newest first."""
    before = after_number(paging)
    recalls = list_recalls(session, viewer, open_only=open_only)
    rest = [recall for recall in recalls if before is None or recall.id < before]
    return paging.page(
        rest, lambda recall: (recall.id,), lambda recall: RecallOut.model_validate(_facts(recall))
    )


@router.get("/recalls/{recall_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, recall_id: PathId) -> RecallWithWorksOut:
    """Read one recall with the works it touches."""
    recall = read_recall(session, viewer, recall_id)
    return _with_works(recall, works_touched(session, viewer, recall))
