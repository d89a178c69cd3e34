"""Where works went, and when: moves of one work or of several at once."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict, Field
from pydantic.config import JsonDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import LONGEST_LIST, Id, In, Name, Note, Out, Page, PathId
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Edtf
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.stays import (
    MoveTold,
    StayOnRecord,
    correct_stay,
    list_stays,
    move_works,
    withdraw_stay,
)
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(prefix="/api", tags=["moves"], route_class=Route)

_EXAMPLE: JsonDict = {
    "place": "Gannet House / Study",
    "on": "2026-11-20",
    "by": "R. Imaginary",
    "note": "out of the sun",
}


class MoveIn(In):
    """A move; with `until` (EDTF) a stay that is over, told afterwards."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [_EXAMPLE, {"place": "Gannet House", "on": "1995~", "until": "2003"}]
        }
    )

    place: Name
    on: Edtf
    until: Edtf | None = None
    by: Name | None = None
    note: Note = ""

    def told(self) -> MoveTold:
        """Return the move as it is told on."""
        return MoveTold(place=self.place, on=self.on, until=self.until, by=self.by, note=self.note)


class MovesIn(MoveIn):
    """One move of several works, all or none."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"works": [41, 42], **_EXAMPLE}]})

    works: list[Id] = Field(min_length=1, max_length=LONGEST_LIST)


class MoveChange(In):
    """A merge patch: what is absent stays, null clears."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"on": "2019-03"}]})

    place: Name | None = None
    on: Edtf | None = None
    until: Edtf | None = None
    by: Name | None = None
    note: Note | None = None


class MoveOut(Out):
    """A stay that began with a move; `current` is where the work is now."""

    id: int
    version: int
    work: int
    place: str
    on: str | None
    until: str | None
    current: bool
    by: str | None
    note: str


def move_out(stay: StayOnRecord) -> MoveOut:
    """Return a stay as it is sent."""
    told = vars(stay.told)
    return MoveOut(
        id=stay.id, version=stay.version, work=stay.work_id, current=not stay.ended, **told
    )


@router.post("/works/{work_id}/moves", status_code=201, dependencies=[requires(Deed.MOVE_WORK)])
def move(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    told: MoveIn,
    response: Response,
) -> MoveOut:
    """Record where a work went."""
    (stay,) = move_works(session, viewer, [work_id], told.told(), today=day_number(today))
    response.headers["Location"] = f"/api/moves/{stay.id}"
    set_etag(response, stay.version)
    return move_out(stay)


@router.post("/moves", status_code=201, dependencies=[requires(Deed.MOVE_WORK)])
def move_several(
    session: WriteSession, viewer: SignedIn, today: Today, told: MovesIn
) -> Page[MoveOut]:
    """Record where several works went together."""
    stays = move_works(session, viewer, told.works, told.told(), today=day_number(today))
    return Page(items=[move_out(stay) for stay in stays], next=None)


@router.get("/works/{work_id}/moves", dependencies=[requires(Deed.READ)])
def moves(session: ReadSession, viewer: SignedIn, work_id: PathId) -> Page[MoveOut]:
    """List where a work has been, the current place last."""
    stays = list_stays(session, viewer, work_id)
    return Page(items=[move_out(stay) for stay in stays], next=None)


@router.patch("/moves/{move_id}", dependencies=[requires(Deed.MOVE_WORK)])
def correct(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    move_id: PathId,
    seen: VersionSeen,
    told: MoveChange,
    response: Response,
) -> MoveOut:
    """Correct a move."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(move_out):
        stay = correct_stay(
            session, viewer, move_id, changes, based_on=seen, today=day_number(today)
        )
    set_etag(response, stay.version)
    return move_out(stay)


@router.post("/moves/{move_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, move_id: PathId, why: ReasonIn
) -> None:
    """Take back a move that never was."""
    withdraw_stay(session, viewer, move_id, why.reason, today=day_number(today))
