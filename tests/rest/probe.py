"""Routes of these tests: what every route of the program is given, seen from outside."""

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from pydantic import Field
from sqlalchemy import event
from sqlmodel import Session, col, select

from api.dependencies import ReadSession, Today, WriteSession, open_to_all, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import Figure, Id, In, Name, Out, Page, PagingAsked, PathId, QueryText
from api.routes import Route, takes_up_to
from models.actions.record_changes import lock, refuse_stale
from models.errors import Busy, NumberTaken, UnknownWord
from models.rules.permissions import Deed
from models.tables.people import Owner

router = APIRouter(prefix="/api/probe", route_class=Route)
LARGE_BYTES = 2 << 20


class LayerIn(In):
    role: Name
    figure: Figure = 0


class OwnerIn(In):
    name: Name
    layers: list[LayerIn] = Field(default=[], max_length=3)
    of: Id | None = None


class OwnerOut(Out):
    id: int
    name: str


def names(session: Session) -> list[str]:
    return list(session.exec(select(Owner.name).order_by(col(Owner.name))))


def _add(session: Session, name: str) -> OwnerOut:
    owner = Owner(name=name)
    session.add(owner)
    session.flush()
    assert owner.id is not None
    return OwnerOut(id=owner.id, name=name)


@router.post("/owners", status_code=201, dependencies=[requires(Deed.KEEP_OWNERS)])
def add_owner(session: WriteSession, told: OwnerIn, response: Response) -> OwnerOut:
    added = _add(session, told.name)
    response.headers["Location"] = f"/api/probe/owners/{added.id}"
    return added


@router.post("/refused-by-answer", dependencies=[requires(Deed.KEEP_OWNERS)])
def refused_by_answer(session: WriteSession) -> Response:
    _add(session, "Written before the refusal")
    return JSONResponse({"again": "please"}, 422)


@router.post("/refused-by-error", dependencies=[requires(Deed.KEEP_OWNERS)])
def refused_by_error(session: WriteSession) -> Response:
    _add(session, "Written before the refusal")
    raise NumberTaken("This number is taken.")


@router.post("/broken", dependencies=[requires(Deed.KEEP_OWNERS)])
def broken(session: WriteSession) -> Response:
    _add(session, "Written before the fall")
    raise ZeroDivisionError("a secret of the inside")


@router.post("/lost-at-commit", dependencies=[requires(Deed.KEEP_OWNERS)])
def lost_at_commit(session: WriteSession) -> OwnerOut:
    def fail(_session: Session) -> None:
        raise OSError("the disk is full")

    event.listen(session, "before_commit", fail)
    return _add(session, "Written to a full disk")


@router.post("/busy", dependencies=[requires(Deed.KEEP_OWNERS)])
def busy() -> Response:
    raise Busy("Too many at once.")


@router.post("/unknown-word", dependencies=[requires(Deed.KEEP_OWNERS)])
def unknown_word() -> Response:
    raise UnknownWord("material", "Cotten", ["Cotton rag"], "/mount/layers/0/material")


@router.get("/owners", dependencies=[requires(Deed.READ)])
def owners(session: ReadSession, paging: PagingAsked, q: QueryText = None) -> Page[OwnerOut]:
    rows = select(Owner).order_by(col(Owner.id)).limit(paging.one_more)
    if paging.after:
        rows = rows.where(col(Owner.id) > paging.after[0])
    found = session.exec(rows).all()
    return paging.page(found, lambda row: (row.id,), lambda row: OwnerOut(**row.model_dump()))


@router.patch("/owners/{owner_id}", dependencies=[requires(Deed.KEEP_OWNERS)])
def change_owner(
    session: WriteSession, owner_id: PathId, seen: VersionSeen, told: OwnerIn, response: Response
) -> OwnerOut:
    row = lock(session, Owner, owner_id, "owner")
    refuse_stale(row, seen, theirs={"name": row.name})
    row.name = told.name
    session.flush()
    set_etag(response, row.version)
    return OwnerOut(id=owner_id, name=row.name)


@router.get("/today", dependencies=[open_to_all])
def today(today: Today) -> str:
    return today.isoformat()


@router.get("/only-keepers", dependencies=[requires(Deed.KEEP_PEOPLE)])
def only_keepers() -> str:
    return "here"


@router.post("/small", dependencies=[requires(Deed.READ)])
def small(told: dict[str, str]) -> int:
    return len(told)


@router.post("/large", dependencies=[requires(Deed.READ), takes_up_to(LARGE_BYTES)])
async def large(request: Request) -> int:
    return len(await request.body())
