"""The register of works: put on record, found, corrected, withdrawn."""

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response
from pydantic import ConfigDict, Field
from pydantic.config import JsonDict

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.cursors import after_text
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import (
    Figure,
    In,
    Name,
    Note,
    Out,
    Page,
    PagingAsked,
    PathId,
    QueryText,
    cursor_of,
)
from api.rest.stale_states import shown_when_stale
from api.rest.visit_shapes import Edtf, Line
from api.routes import Route
from models.actions.works import (
    ImageTold,
    WorkOnRecord,
    WorksAsked,
    WorkTold,
    change_work,
    find_works,
    read_work,
    register_work,
    withdraw_work,
)
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.vocabulary import Replaceability, Surface, ValueBand

router = APIRouter(prefix="/api/works", tags=["works"], route_class=Route)

_EXAMPLE: JsonDict = {
    "number": "GH 1994.12",
    "title": "The Mill in Winter",
    "maker": "A. Nobody",
    "made": "1890~",
    "technique": "etching",
    "support": "laid paper",
    "surface": None,
    "height_mm": 212.5,
    "width_mm": 148,
    "image": {"left_mm": 20, "top_mm": 18.5, "height_mm": 160, "width_mm": 110},
    "replaceability": "small edition",
    "value_band": "normal",
    "light_class": None,
    "owner": "The Gannet House",
    "place": "Gannet House / Stair / North wall",
    "note": "",
}


class ImageIn(In):
    """The image or plate mark, from the sheet's upper left corner; all four or none."""

    left_mm: Figure | None = None
    top_mm: Figure | None = None
    height_mm: Figure | None = None
    width_mm: Figure | None = None


class WorkIn(In):
    """A work; only number and title must be said."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [_EXAMPLE, {"number": "GH 7", "title": "Untitled"}]}
    )

    number: Name
    title: Name
    maker: Line = ""
    made: Edtf | None = None
    technique: Name | None = None
    support: Line = ""
    surface: Surface | None = None
    height_mm: Figure | None = None
    width_mm: Figure | None = None
    image: ImageIn | None = None
    replaceability: Replaceability = Replaceability.UNIQUE
    value_band: ValueBand = ValueBand.NORMAL
    light_class: Annotated[int, Field(ge=1, le=8, strict=True)] | None = None
    owner: Name | None = None
    place: Name | None = None
    note: Note = ""

    def told(self) -> WorkTold:
        """Return the work as it is told on."""
        image = None if self.image is None else ImageTold(**dict(self.image))
        return WorkTold(**{**dict(self), "image": image})


class WorkChange(In):
    """A merge patch: what is absent stays, null clears. A place is not changed but moved to."""

    model_config = ConfigDict(
        json_schema_extra={"examples": [{"title": "The Weir", "height_mm": 210, "maker": None}]}
    )

    number: Name | None = None
    title: Name | None = None
    maker: Line | None = None
    made: Edtf | None = None
    technique: Name | None = None
    support: Line | None = None
    surface: Surface | None = None
    height_mm: Figure | None = None
    width_mm: Figure | None = None
    image: ImageIn | None = None
    replaceability: Replaceability | None = None
    value_band: ValueBand | None = None
    light_class: Annotated[int, Field(ge=1, le=8, strict=True)] | None = None
    owner: Name | None = None
    place: Name | None = None
    note: Note | None = None


class ImageOut(Out):
    """The image or plate mark on the sheet."""

    left_mm: float
    top_mm: float
    height_mm: float
    width_mm: float


class WorkOut(Out):
    """A work; `code` stands on its label for good."""

    id: int
    code: str
    version: int
    recorded_on: str | None
    number: str
    title: str
    maker: str
    made: str | None
    technique: str | None
    support: str
    surface: Surface | None
    height_mm: float | None
    width_mm: float | None
    image: ImageOut | None
    replaceability: Replaceability
    value_band: ValueBand
    light_class: int | None
    owner: str | None
    place: str | None
    note: str


class WorksPage(Page[WorkOut]):
    """A page of works; `near` are words on record near to what was asked, if none was found."""

    near: list[str]


class ReasonIn(In):
    """Why something is done that cannot be undone."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"reason": "entered twice"}]})

    reason: Name


def work_out(work: WorkOnRecord) -> WorkOut:
    """Return a work as it is sent."""
    recorded = None if work.recorded_on is None else day_date(work.recorded_on).isoformat()
    told = vars(work.told)
    image = None if work.told.image is None else ImageOut(**vars(work.told.image))
    return WorkOut(
        id=work.id,
        code=work.code,
        version=work.version,
        recorded_on=recorded,
        **{**told, "image": image},
    )


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_REGISTER)])
def add(
    session: WriteSession, viewer: SignedIn, today: Today, told: WorkIn, response: Response
) -> WorkOut:
    """Put a work on record."""
    work = register_work(session, viewer, told.told(), today=day_number(today))
    response.headers["Location"] = f"/api/works/{work.id}"
    set_etag(response, work.version)
    return work_out(work)


@router.get("", dependencies=[requires(Deed.READ)])
def found(
    session: ReadSession,
    viewer: SignedIn,
    paging: PagingAsked,
    q: QueryText = None,
    owner: QueryText = None,
    place: QueryText = None,
    number: Annotated[str | None, Query(max_length=100)] = None,
) -> WorksPage:
    """List the works, by number; `q` finds beginnings of words of number, title and maker."""
    asked = WorksAsked(
        number=number,
        q=q or "",
        owner=owner,
        place=place,
        limit=paging.limit,
        after=after_text(paging),
    )
    works = find_works(session, viewer, asked)
    return WorksPage(
        items=[work_out(work) for work in works.works],
        next=None if works.next_after is None else cursor_of((works.next_after,)),
        near=list(works.near),
    )


@router.get("/{work_id}", dependencies=[requires(Deed.READ)])
def one(session: ReadSession, viewer: SignedIn, work_id: PathId, response: Response) -> WorkOut:
    """Read one work."""
    work = read_work(session, viewer, work_id)
    set_etag(response, work.version)
    return work_out(work)


@router.patch("/{work_id}", dependencies=[requires(Deed.KEEP_REGISTER)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    seen: VersionSeen,
    told: WorkChange,
    response: Response,
) -> WorkOut:
    """Correct what is known of a work."""
    with shown_when_stale(work_out):
        work = change_work(
            session,
            viewer,
            work_id,
            told.model_dump(exclude_unset=True),
            based_on=seen,
            today=day_number(today),
        )
    set_etag(response, work.version)
    return work_out(work)


@router.post("/{work_id}/withdraw", status_code=204, dependencies=[requires(Deed.WITHDRAW)])
def withdrawn(
    session: WriteSession, viewer: SignedIn, today: Today, work_id: PathId, why: ReasonIn
) -> None:
    """Take a work off the register, with a reason."""
    withdraw_work(session, viewer, work_id, why.reason, today=day_number(today))
