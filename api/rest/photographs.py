"""Photographs: sent at once or in parts, read, put right and withdrawn."""

from typing import Annotated

from fastapi import APIRouter, BackgroundTasks, Depends, Form, Path, Query, Request, UploadFile
from fastapi.responses import Response
from pydantic import ConfigDict, Field

from api.dependencies import (
    Database,
    Here,
    ReadSession,
    SignedIn,
    Today,
    WriteSession,
    requires,
)
from api.photograph_files import MOST_FILE_BYTES, MOST_FORM_BYTES, keep_photograph_sent
from api.photograph_uploads import (
    MOST_PART_BYTES,
    UploadBegun,
    add_part,
    begin_upload,
    clear_upload,
    put_together,
    received_bytes,
    upload_begun,
)
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import LARGEST_WHOLE, LONGEST_LIST, Id, In, Note, Out, Page, PathId
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Edtf
from api.rest.works import ReasonIn
from api.routes import Route, takes_up_to
from models.actions.photographs import (
    PhotographOnRecord,
    PhotographTold,
    add_photograph,
    correct_photograph,
    list_of_work,
    photograph_made_of,
    read_photograph,
    withdraw_photograph,
)
from models.database import read_session
from models.errors import NotFound
from models.exchange.kept_photographs import PictureKept
from models.exchange.photograph_file import SIDES_PX
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.photographs import LONGEST_FILE_NAME, LONGEST_KEY
from models.tables.register import get_work
from models.vocabulary import PhotographStage, PhotographView

router = APIRouter(prefix="/api", tags=["photographs"], route_class=Route)

CREATED = 201
UploadKey = Annotated[str, Path(pattern="^[0-9a-f]{32}$")]
DraftKey = Annotated[str, Field(min_length=1, max_length=LONGEST_KEY)]
FileName = Annotated[str, Field(max_length=LONGEST_FILE_NAME)]
ByteCount = Annotated[int, Field(ge=1, le=LARGEST_WHOLE, strict=True)]
Offset = Annotated[int, Query(ge=0, le=MOST_FILE_BYTES)]
A_PART = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class PhotographSentIn(In):
    """A photograph with what it shows. Without `taken_on` the camera's own date holds."""

    file: UploadFile
    view: PhotographView = PhotographView.RECTO
    stage: PhotographStage | None = None
    visit: Annotated[int, Field(ge=1, le=2**53)] | None = None
    draft_key: DraftKey | None = None
    taken_on: Edtf | None = None
    note: Note = ""


class UploadIn(In):
    """A photograph of a work that is about to arrive in parts."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "work": 41,
                    "file_name": "verso.jpg",
                    "byte_count": 6_200_000,
                    "view": "verso",
                    "stage": "back off",
                }
            ]
        }
    )

    work: Id
    file_name: FileName = ""
    byte_count: ByteCount
    view: PhotographView = PhotographView.RECTO
    stage: PhotographStage | None = None
    visit: Id | None = None
    draft_key: DraftKey | None = None
    taken_on: Edtf | None = None
    note: Note = ""


class PhotographChange(In):
    """A merge patch of what is said of a photograph."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"view": "raking light", "taken_on": "2026-11~"}]}
    )

    view: PhotographView | None = None
    stage: PhotographStage | None = None
    taken_on: Edtf | None = None
    note: Note | None = None


class UploadOut(Out):
    """How far an upload is: go on from byte `received_bytes`. `photograph` once it is finished."""

    key: str
    byte_count: int
    received_bytes: int
    most_part_bytes: int = MOST_PART_BYTES
    photograph: int | None = None


class PhotographOut(Out):
    """A photograph; width and height of the upright picture. `pictures`: by longest side in px."""

    id: int
    version: int
    work: int
    visit: int | None
    draft_key: str | None
    view: PhotographView
    stage: PhotographStage | None
    taken_on: str | None
    by: str | None
    note: str
    file_name: str
    media_type: str
    byte_count: int
    sha256: str
    width_px: int
    height_px: int
    original: str
    pictures: dict[int, str]


def photograph_out(one: PhotographOnRecord) -> PhotographOut:
    """Return a photograph as it is sent."""
    return PhotographOut(
        id=one.id,
        version=one.version,
        work=one.work_id,
        visit=one.visit_id,
        draft_key=one.draft_key,
        view=one.view,
        stage=one.stage,
        taken_on=one.taken_on,
        by=one.taken_by,
        note=one.note,
        file_name=one.file_name,
        media_type=one.media_type,
        byte_count=one.byte_count,
        sha256=one.sha256,
        width_px=one.width_px,
        height_px=one.height_px,
        original=f"/photographs/{one.id}/original",
        pictures={side: f"/photographs/{one.id}/{side}" for side in SIDES_PX},
    )


def _added(response: Response, one: PhotographOnRecord) -> PhotographOut:
    response.headers["Location"] = f"/api/photographs/{one.id}"
    set_etag(response, one.version)
    return photograph_out(one)


class _Sent:
    """A photograph that was kept and read before the transaction began."""

    def __init__(self, told: PhotographTold, kept: PictureKept) -> None:
        self.told = told
        self.kept = kept


def _keep_before(
    here: Here,
    engine: Database,
    viewer: SignedIn,
    work_id: PathId,
    sent: Annotated[PhotographSentIn, Form(media_type="multipart/form-data")],
) -> _Sent:
    with read_session(engine) as session:
        get_work(session, viewer, work_id)
    told = PhotographTold(
        work_id=work_id,
        view=sent.view,
        stage=sent.stage,
        visit_id=sent.visit,
        draft_key=sent.draft_key,
        taken_on=sent.taken_on,
        note=sent.note,
    )
    return _Sent(told, keep_photograph_sent(here, sent.file))


@router.post(
    "/works/{work_id}/photographs",
    status_code=CREATED,
    dependencies=[requires(Deed.PHOTOGRAPH), takes_up_to(MOST_FORM_BYTES)],
)
def add(
    viewer: SignedIn,
    # Before the session: a file is kept and read before anybody else has to wait for it.
    sent: Annotated[_Sent, Depends(_keep_before)],
    session: WriteSession,
    today: Today,
    response: Response,
) -> PhotographOut:
    """Add a photograph, sent whole: JPEG, PNG, TIFF, WebP or HEIC of up to 100 MB."""
    one = add_photograph(session, viewer, sent.told, sent.kept, today=day_number(today))
    return _added(response, one)


@router.get("/works/{work_id}/photographs", dependencies=[requires(Deed.READ)])
def of_work(session: ReadSession, viewer: SignedIn, work_id: PathId) -> Page[PhotographOut]:
    """List the photographs of a work, the newest first, at most a thousand."""
    found = list_of_work(session, viewer, work_id)[:LONGEST_LIST]
    return Page(items=[photograph_out(one) for one in found], next=None)


@router.get("/photographs/{photograph_id}", dependencies=[requires(Deed.READ)])
def one(
    session: ReadSession, viewer: SignedIn, photograph_id: PathId, response: Response
) -> PhotographOut:
    """Read what is said of a photograph, and where its pictures are."""
    found = read_photograph(session, viewer, photograph_id)
    set_etag(response, found.version)
    return photograph_out(found)


@router.patch("/photographs/{photograph_id}", dependencies=[requires(Deed.PHOTOGRAPH)])
def correct(
    session: WriteSession,
    viewer: SignedIn,
    photograph_id: PathId,
    seen: VersionSeen,
    told: PhotographChange,
    today: Today,
    response: Response,
) -> PhotographOut:
    """Correct the view, the stage, the date or the note."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(photograph_out):
        found = correct_photograph(
            session, viewer, photograph_id, changes, based_on=seen, today=day_number(today)
        )
    set_etag(response, found.version)
    return photograph_out(found)


@router.post(
    "/photographs/{photograph_id}/withdraw",
    status_code=204,
    dependencies=[requires(Deed.PHOTOGRAPH)],
)
def withdrawn(
    session: WriteSession, viewer: SignedIn, photograph_id: PathId, why: ReasonIn, today: Today
) -> None:
    """Withdraw a photograph; its file stays kept. A framer: their own, for 14 days."""
    withdraw_photograph(session, viewer, photograph_id, why.reason, today=day_number(today))


@router.post("/photograph-uploads", status_code=CREATED, dependencies=[requires(Deed.PHOTOGRAPH)])
def begin(
    session: ReadSession, here: Here, viewer: SignedIn, sent: UploadIn, response: Response
) -> UploadOut:
    """Begin to send a photograph in parts; its key leads on. It waits for seven days."""
    get_work(session, viewer, sent.work)
    told = PhotographTold(
        work_id=sent.work,
        view=sent.view,
        stage=sent.stage,
        visit_id=sent.visit,
        draft_key=sent.draft_key,
        taken_on=sent.taken_on,
        note=sent.note,
    )
    key = begin_upload(here, viewer, told, file_name=sent.file_name, byte_count=sent.byte_count)
    response.headers["Location"] = f"/api/photograph-uploads/{key}"
    return UploadOut(key=key, byte_count=sent.byte_count, received_bytes=0)


@router.get("/photograph-uploads/{key}", dependencies=[requires(Deed.PHOTOGRAPH)])
def state(session: ReadSession, here: Here, viewer: SignedIn, key: UploadKey) -> UploadOut:
    """Ask how much of a photograph has arrived."""
    done = photograph_made_of(session, viewer, key)
    if done:
        return _whole(key, done)
    begun = upload_begun(here, viewer, key)
    there = received_bytes(here, key)
    return UploadOut(key=key, byte_count=begun.byte_count, received_bytes=there)


async def _body(request: Request) -> bytes:
    return await request.body()


@router.post(
    "/photograph-uploads/{key}/parts",
    dependencies=[requires(Deed.PHOTOGRAPH), takes_up_to(MOST_PART_BYTES)],
    openapi_extra=A_PART,
)
def part(
    here: Here,
    viewer: SignedIn,
    key: UploadKey,
    offset: Offset,
    content: Annotated[bytes, Depends(_body)],
) -> UploadOut:
    """Send the bytes from `offset` on; 409 with `received_bytes` when others are wanted."""
    there = add_part(here, viewer, key, offset, content)
    begun = upload_begun(here, viewer, key)
    return UploadOut(key=key, byte_count=begun.byte_count, received_bytes=there)


class _Arrived:
    """An upload that was put together; `kept` is None when that was done before."""

    def __init__(self, begun: UploadBegun | None, kept: PictureKept | None) -> None:
        self.begun = begun
        self.kept = kept


def _put_together_before(
    here: Here, engine: Database, viewer: SignedIn, key: UploadKey
) -> _Arrived:
    with read_session(engine) as session:
        if photograph_made_of(session, viewer, key):
            return _Arrived(None, None)
    return _Arrived(*put_together(here, viewer, key))


@router.post(
    "/photograph-uploads/{key}/finish",
    status_code=CREATED,
    dependencies=[requires(Deed.PHOTOGRAPH)],
)
def finish(
    viewer: SignedIn,
    here: Here,
    key: UploadKey,
    arrived: Annotated[_Arrived, Depends(_put_together_before)],
    session: WriteSession,
    today: Today,
    response: Response,
    afterwards: BackgroundTasks,
) -> PhotographOut:
    """Put the photograph on record, once all of it is there; a second time it is the same one."""
    if arrived.begun and arrived.kept:
        one = add_photograph(
            session, viewer, arrived.begun.told, arrived.kept, today=day_number(today)
        )
    else:
        found = photograph_made_of(session, viewer, key)
        if found is None:
            raise NotFound("upload", key)
        one = found
    # Only when the record is kept: until then the parts could be needed again.
    afterwards.add_task(clear_upload, here, key)
    return _added(response, one)


def _whole(key: str, done: PhotographOnRecord) -> UploadOut:
    return UploadOut(
        key=key, byte_count=done.byte_count, received_bytes=done.byte_count, photograph=done.id
    )
