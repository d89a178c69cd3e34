"""The photographs of a work: all of them, one looked at closely, and how one is taken.

Taken with the device at hand or chosen from it; a script sends each in parts and goes on
where the network broke, and without it a plain form sends it whole.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session
from starlette.datastructures import UploadFile

from api.dependencies import (
    Database,
    Here,
    ReadSession,
    SignedIn,
    Today,
    WriteSession,
    requires,
)
from api.forms import Typed, TypedForm
from api.installation import Installation
from api.pages.dates_said import date_said
from api.pages.findings_on_photograph import FindingsOn, findings_on
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    date_to_type,
    differences,
    edtf,
    faults_beside,
    is_key,
    one_of,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.pages.photographs_shown import (
    TAKES,
    PhotographShown,
    Take,
    photograph_in_words,
    photographs_in_words,
    said_of,
)
from api.photograph_files import MOST_FORM_BYTES, keep_photograph_sent
from api.routes import Route, takes_up_to
from api.templating import show
from models.actions.findings_placed import findings_placed
from models.actions.photographs import (
    PhotographOnRecord,
    PhotographTold,
    add_photograph,
    correct_photograph,
    list_of_work,
    may_withdraw,
    off_record_of_work,
    put_photograph_back,
    read_photograph,
    withdraw_photograph,
)
from models.database import read_session
from models.errors import BadValue, Fault, Stale
from models.exchange.kept_photographs import PictureKept
from models.exchange.photograph_file import PART_PX, levels
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.tables.photographs import LONGEST_KEY
from models.tables.register import get_work
from models.tables.visible import Viewer
from models.vocabulary import PhotographStage, PhotographView

router = APIRouter(route_class=Route)

SEE_OTHER = 303
BYTES_PER_MB = 1_000_000
FIELDS = ("file", "view", "stage", "taken_on", "note")
CORRECTED = ("view", "stage", "taken_on", "note")
LABELS = {"view": "view", "stage": "stage", "taken_on": "taken on", "note": "note"}
CODES = {"in_the_future": "taken_on"}
VIEWS, STAGES = tuple(PhotographView), tuple(PhotographStage)
KeyAsked = Annotated[str, Query(max_length=LONGEST_KEY)]


@dataclass(frozen=True)
class OfWork:
    """The work that photographs are of."""

    id: int
    number: str
    title: str


@dataclass(frozen=True)
class OffRecordShown:
    """A photograph that was withdrawn: what it shows, and why."""

    id: int
    says: str
    reason: str


@dataclass(frozen=True)
class PhotographsPage:
    """What templates/photographs/list.html is given; within a draft, its key and the way back."""

    work: OfWork
    photographs: tuple[PhotographShown, ...]
    may_add: bool
    draft_key: str
    visit_id: str
    typed: Mapping[str, str]
    faults: tuple[Fault, ...] = ()
    takes: tuple[Take, ...] = TAKES
    views: tuple[str, ...] = VIEWS
    stages: tuple[str, ...] = STAGES
    off_record: tuple[OffRecordShown, ...] = ()
    withdrawn: str = ""


@dataclass(frozen=True)
class Closely:
    """What the script that looks closely needs to know of a picture."""

    width_px: int
    height_px: int
    levels: int
    part_px: int = PART_PX


@dataclass(frozen=True)
class PhotographPage:
    """What templates/photographs/photograph.html is given."""

    work: OfWork
    one: PhotographShown
    closely: Closely
    facts: tuple[tuple[str, str], ...]
    visit_id: int | None
    earlier: int | None
    later: int | None
    version: int
    typed: Mapping[str, str]
    may_correct: bool
    may_withdraw: bool
    findings_on: FindingsOn | None
    reason: str = ""
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()
    views: tuple[str, ...] = VIEWS
    stages: tuple[str, ...] = STAGES


@dataclass(frozen=True)
class _Sent:
    """Photographs that were kept and read before the transaction began, or why they were not."""

    kept: tuple[PictureKept, ...]
    refused: BadValue | None = None


def _keep_before(
    here: Here, engine: Database, viewer: SignedIn, work_id: PathId, form: Typed
) -> _Sent:
    with read_session(engine) as session:
        get_work(session, viewer, work_id)
    try:
        uploads = form.files.get("file", ())
        if not uploads:
            raise BadValue.at("/file", "No photograph was sent.", "Choose a photograph.")
        return _Sent(tuple(_keep_named(here, upload) for upload in uploads))
    except BadValue as error:
        return _Sent((), error)


def _keep_named(here: Installation, upload: UploadFile) -> PictureKept:
    """Keep a file that was sent; of many, whoever chose them is told which one was refused."""
    try:
        return keep_photograph_sent(here, upload)
    except BadValue as error:
        named = f"“{upload.filename}”: " if upload.filename else ""
        rights = " ".join(fault.right for fault in error.faults if fault.right)
        right = f"{rights} None of them was kept; choose them again without it.".strip()
        raise BadValue.at("/file", f"{named}{error.message}", right) from error


@router.get("/works/{work_id:int}/photographs", dependencies=[requires(Deed.READ)])
def of_work(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    draft: KeyAsked = "",
    visit: KeyAsked = "",
    withdrawn: KeyAsked = "",
) -> Response:
    """Show every photograph of a work, and take or choose another.

    `withdrawn` is the one that was taken off the record a moment ago.
    """
    page = _list_page(session, viewer, work_id, draft_key=draft, visit_id=visit)
    if page.may_add:
        off = off_record_of_work(session, viewer, work_id, today=day_number(today))
        said = tuple(OffRecordShown(o.id, said_of(o.view, o.stage), o.reason) for o in off)
        page = replace(page, off_record=said, withdrawn=withdrawn if is_key(withdrawn) else "")
    return show(request, "photographs/list.html", page)


@router.post(
    "/works/{work_id:int}/photographs",
    dependencies=[requires(Deed.PHOTOGRAPH), takes_up_to(MOST_FORM_BYTES)],
)
def added(
    request: Request,
    viewer: SignedIn,
    # Before the session: a file is kept and read before anybody else has to wait for it.
    sent: Annotated[_Sent, Depends(_keep_before)],
    session: WriteSession,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Keep what a plain form sent."""
    draft_key, visit_id = form["draft_key"][:LONGEST_KEY], form["visit"]
    page = _list_page(session, viewer, work_id, draft_key=draft_key, visit_id=visit_id)
    try:
        told = _told(form, work_id)
        if sent.refused:
            raise sent.refused
        for kept in sent.kept:
            add_photograph(session, viewer, told, kept, today=day_number(today))
    except Refusal as error:
        faults = faults_beside(error, FIELDS, CODES)
        again = replace(page, typed=typed_in(form, FIELDS), faults=faults)
        return show(request, "photographs/list.html", again, REFUSED)
    asked = f"?draft={draft_key}" if draft_key.isalnum() else ""
    return RedirectResponse(f"/works/{work_id}/photographs{asked}", SEE_OTHER)


@router.get("/photographs/{photograph_id:int}", dependencies=[requires(Deed.READ)])
def one(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    photograph_id: PathId,
) -> Response:
    """Show one photograph, to be looked at closely."""
    found = read_photograph(session, viewer, photograph_id)
    page = _page(session, viewer, found, today=day_number(today))
    return show(request, "photographs/photograph.html", page)


@router.post("/photographs/{photograph_id:int}", dependencies=[requires(Deed.PHOTOGRAPH)])
def corrected(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    photograph_id: PathId,
    form: Typed,
) -> Response:
    """Correct what is said of a photograph."""
    found = read_photograph(session, viewer, photograph_id)
    typed = typed_in(form, CORRECTED)
    page = replace(_page(session, viewer, found, today=day_number(today)), typed=typed)
    try:
        correct_photograph(
            session,
            viewer,
            photograph_id,
            _changes(form),
            based_on=version_in(form),
            today=day_number(today),
        )
    except Stale:
        quicker = differences(LABELS, typed, _typed(found))
        stale = replace(page, differences=quicker)
        return show(request, "photographs/photograph.html", stale, STALE)
    except Refusal as error:
        faults = faults_beside(error, CORRECTED, CODES)
        refused = replace(page, faults=faults, version=version_in(form))
        return show(request, "photographs/photograph.html", refused, REFUSED)
    return RedirectResponse(f"/photographs/{photograph_id}", SEE_OTHER)


@router.post("/photographs/{photograph_id:int}/withdraw", dependencies=[requires(Deed.PHOTOGRAPH)])
def withdrawn(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    photograph_id: PathId,
    form: Typed,
) -> Response:
    """Withdraw a photograph, with a reason."""
    found = read_photograph(session, viewer, photograph_id)
    try:
        form.require_clean()
        withdraw_photograph(session, viewer, photograph_id, form["reason"], today=day_number(today))
    except Refusal as error:
        faults = faults_beside(error, ("reason",), {})
        page = _page(session, viewer, found, today=day_number(today))
        refused = replace(page, reason=form["reason"] or " ", faults=faults)
        return show(request, "photographs/photograph.html", refused, REFUSED)
    return RedirectResponse(
        f"/works/{found.work_id}/photographs?withdrawn={photograph_id}", SEE_OTHER
    )


@router.post("/photographs/{photograph_id:int}/put-back", dependencies=[requires(Deed.PHOTOGRAPH)])
def put_back(
    session: WriteSession, viewer: SignedIn, today: Today, photograph_id: PathId
) -> Response:
    """Put a photograph that was withdrawn back on record."""
    found = put_photograph_back(session, viewer, photograph_id, today=day_number(today))
    return RedirectResponse(f"/works/{found.work_id}/photographs", SEE_OTHER)


def _told(form: TypedForm, work_id: int) -> PhotographTold:
    answers = Answers(form)
    told = PhotographTold(
        work_id=work_id,
        view=answers.needed("view", one_of(PhotographView), PhotographView.RECTO),
        stage=answers.read("stage", one_of(PhotographStage)),
        visit_id=int(form["visit"]) if is_key(form["visit"]) else None,
        draft_key=form["draft_key"][:LONGEST_KEY] or None,
        taken_on=answers.read("taken_on", edtf),
        note=answers.text("note"),
    )
    answers.refuse()
    return told


def _changes(form: TypedForm) -> dict[str, object]:
    answers = Answers(form)
    changes: dict[str, object] = {
        "view": answers.needed("view", one_of(PhotographView), PhotographView.RECTO),
        "stage": answers.read("stage", one_of(PhotographStage)),
        "taken_on": answers.read("taken_on", edtf),
        "note": answers.text("note"),
    }
    answers.refuse()
    return changes


def _list_page(
    session: Session, viewer: Viewer, work_id: int, *, draft_key: str, visit_id: str
) -> PhotographsPage:
    work = get_work(session, viewer, work_id)
    found = list_of_work(session, viewer, work_id)
    return PhotographsPage(
        work=OfWork(work_id, work.number, work.title),
        photographs=photographs_in_words(found),
        may_add=may(viewer.role, Deed.PHOTOGRAPH),
        draft_key=draft_key,
        visit_id=visit_id if is_key(visit_id) else "",
        typed=dict.fromkeys(FIELDS, "") | {"view": PhotographView.RECTO.value},
    )


def _page(
    session: Session, viewer: Viewer, found: PhotographOnRecord, *, today: int
) -> PhotographPage:
    placed = findings_placed(session, viewer, found.work_id)
    photographs = [listed.photograph for listed in placed.photographs]
    ids = [one.id for one in photographs]
    at = ids.index(found.id)
    return PhotographPage(
        work=OfWork(found.work_id, placed.work.number, placed.work.title),
        one=photograph_in_words(found),
        closely=Closely(found.width_px, found.height_px, levels(found.width_px, found.height_px)),
        facts=_facts(found),
        visit_id=found.visit_id,
        earlier=ids[at + 1] if at + 1 < len(ids) else None,
        later=ids[at - 1] if at > 0 else None,
        version=found.version,
        typed=_typed(found),
        may_correct=may(viewer.role, Deed.PHOTOGRAPH),
        may_withdraw=may_withdraw(found, viewer, today=today),
        findings_on=findings_on(placed, photographs[at], viewer),
    )


def _facts(found: PhotographOnRecord) -> tuple[tuple[str, str], ...]:
    told = (
        ("View", found.view.value),
        ("Stage", "" if found.stage is None else found.stage.value),
        ("Taken", date_said(found.taken_on)),
        ("By", found.taken_by or ""),
        ("Size", f"{found.width_px} px wide, {found.height_px} px high"),
        ("File", f"{found.file_name}  {found.byte_count / BYTES_PER_MB:.1f} MB".strip()),
        ("SHA-256", found.sha256),
    )
    return tuple((label, value) for label, value in told if value)


def _typed(found: PhotographOnRecord) -> dict[str, str]:
    return {
        "view": found.view.value,
        "stage": "" if found.stage is None else found.stage.value,
        "taken_on": date_to_type(found.taken_on),
        "note": found.note,
    }
