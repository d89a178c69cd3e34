"""How does a photograph come on record, join its visit, get put right, and leave it?

The picture is kept and read before any of this, so that nothing slow holds up whoever wants
to write; here its row is written. Taken within an unfinished visit, it waits under the key
of the draft and joins the visit when that is finished; one that arrives later joins at once.
Whoever took it may take it back while their visit would still be theirs to mend; after that
it is the keeper's. The kept file stays.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.record_changes import (
    date_columns,
    date_kept,
    flush_unless_taken,
    key_of,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.actions.visits import get_visit
from models.errors import BadValue, RuleBroken
from models.exchange.kept_photographs import PictureKept
from models.rules.half_known_dates import HalfKnownDate, read_record_date
from models.rules.permissions import OPEN_FOR_DAYS, Deed, may, require
from models.rules.record_order import refuse_future
from models.rules.record_values import Faults, a_note
from models.tables.photographs import (
    LONGEST_FILE_NAME,
    LONGEST_KEY,
    ListedPhotograph,
    Photograph,
    get_photograph,
    latest_rectos,
    photograph_listed,
    photograph_of_upload,
    photographs_of_draft,
    photographs_of_visit,
    photographs_of_work,
    photographs_off_record,
    photographs_to_join,
    visit_of_draft,
)
from models.tables.register import get_work
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.vocabulary import PhotographStage, PhotographView

ONE_RECORD = "uq_photograph_upload_key"


@dataclass(frozen=True, kw_only=True)
class PhotographTold:
    """What is said of a photograph; without `taken_on` the camera's own date holds."""

    work_id: int
    view: PhotographView = PhotographView.RECTO
    stage: PhotographStage | None = None
    visit_id: int | None = None
    draft_key: str | None = None
    taken_on: str | None = None
    note: str = ""
    upload_key: str | None = None


@dataclass(frozen=True, kw_only=True)
class PhotographOnRecord:
    """A photograph as it is shown."""

    id: int
    version: int
    work_id: int
    visit_id: int | None
    draft_key: str | None
    view: PhotographView
    stage: PhotographStage | None
    sha256: str
    media_type: str
    byte_count: int
    file_name: str
    width_px: int
    height_px: int
    taken_on: str | None
    taken_by: str | None
    taken_by_id: int | None
    recorded_on: int | None
    note: str


@dataclass(frozen=True, kw_only=True)
class _Correction:
    view: PhotographView
    stage: PhotographStage | None = None
    taken_on: str | None = None
    note: str = ""


def add_photograph(
    session: Session, viewer: Viewer, told: PhotographTold, kept: PictureKept, *, today: int
) -> PhotographOnRecord:
    """Put a photograph on record; the same upload a second time is the same photograph.

    Raises NotFound, BadValue, RuleBroken.
    """
    require(viewer.role, Deed.PHOTOGRAPH)
    work = get_work(session, viewer, told.work_id)
    before = told.upload_key and photograph_of_upload(session, viewer, told.upload_key)
    if before:
        return read_photograph(session, viewer, key_of(before))
    photograph = Photograph(
        work_id=key_of(work),
        visit_id=_visit_of(session, viewer, told),
        draft_key=told.draft_key,
        upload_key=told.upload_key,
        person_id=viewer.person_id,
        recorded_on=today,
        view=told.view,
        sha256=kept.sha256,
        media_type=kept.media_type,
        byte_count=kept.byte_count,
        file_name=_file_name(kept),
        width_px=kept.width_px,
        height_px=kept.height_px,
    )
    write(photograph, _said(told.view, told.stage, told.note, _taken_on(told, kept, today)))
    session.add(photograph)
    again = RuleBroken("This photograph is being put on record already.", "under_way")
    flush_unless_taken(session, ONE_RECORD, again)
    return read_photograph(session, viewer, key_of(photograph))


def correct_photograph(
    session: Session,
    viewer: Viewer,
    photograph_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> PhotographOnRecord:
    """Correct `view`, `stage`, `taken_on` or `note`. Raises NotFound, Stale, BadValue."""
    require(viewer.role, Deed.PHOTOGRAPH)
    photograph = get_photograph(session, viewer, photograph_id, to_change=True)
    refuse_stale(photograph, based_on, theirs=read_photograph(session, viewer, key_of(photograph)))
    said = _Correction(
        view=photograph.view,
        stage=photograph.stage,
        taken_on=photograph.taken_on_edtf,
        note=photograph.note,
    )
    new = merged(said, changes)
    faults = Faults()
    on = faults.read_if_given("/taken_on", read_record_date, new.taken_on)
    note = faults.read("/note", a_note, new.note)
    faults.refuse()
    if on != date_kept(photograph, "taken_on"):
        _refuse_future(on, today)
    write(photograph, _said(new.view, new.stage, note or "", on))
    session.flush()
    return read_photograph(session, viewer, photograph_id)


def withdraw_photograph(
    session: Session, viewer: Viewer, photograph_id: int, reason: str, *, today: int
) -> None:
    """Take a photograph off the record, with a reason; its file stays kept.

    Raises NotFound, BadValue, and NotAllowed for one that is not, or no longer, one's own.
    """
    photograph = get_photograph(session, viewer, photograph_id, to_change=True)
    require(viewer.role, _deed(photograph.person_id, photograph.recorded_on, viewer, today))
    withdraw(photograph, reason)
    session.flush()


def put_photograph_back(
    session: Session, viewer: Viewer, photograph_id: int, *, today: int
) -> Photograph:
    """Put a photograph that was withdrawn back on record, where it was.

    Raises NotFound, and NotAllowed for who may not withdraw it.
    """
    photograph = get_photograph(session, viewer, photograph_id, to_change=True, withdrawn=True)
    require(viewer.role, _deed(photograph.person_id, photograph.recorded_on, viewer, today))
    photograph.withdrawn_reason = None
    session.flush()
    return photograph


def may_withdraw(photograph: PhotographOnRecord, viewer: Viewer, *, today: int) -> bool:
    """Say whether this person may take the photograph back today."""
    deed = _deed(photograph.taken_by_id, photograph.recorded_on, viewer, today)
    return may(viewer.role, deed)


def join_visit(session: Session, draft_key: str, visit_id: int) -> int:
    """Give the photographs of a draft to the visit it has become; return how many there were."""
    visit = session.get_one(Visit, visit_id)
    photographs = photographs_to_join(session, draft_key, visit.work_id)
    for photograph in photographs:
        photograph.visit_id = visit_id
    session.flush()
    return len(photographs)


def read_photograph(session: Session, viewer: Viewer, photograph_id: int) -> PhotographOnRecord:
    """Return one photograph. Raises NotFound when it is not this person's to see."""
    require(viewer.role, Deed.READ)
    return _shown(photograph_listed(session, viewer, photograph_id))


def photograph_made_of(
    session: Session, viewer: Viewer, upload_key: str
) -> PhotographOnRecord | None:
    """Return the photograph that an upload has become, None while it has not."""
    require(viewer.role, Deed.READ)
    found = photograph_of_upload(session, viewer, upload_key)
    return None if found is None else read_photograph(session, viewer, key_of(found))


def list_of_work(session: Session, viewer: Viewer, work_id: int) -> tuple[PhotographOnRecord, ...]:
    """Return the photographs of a work, the newest first. Raises NotFound."""
    require(viewer.role, Deed.READ)
    get_work(session, viewer, work_id)
    return _all_shown(photographs_of_work(session, viewer, work_id))


@dataclass(frozen=True)
class OffRecord:
    """A photograph that was withdrawn, and why."""

    id: int
    view: PhotographView
    stage: PhotographStage | None
    reason: str


def off_record_of_work(
    session: Session, viewer: Viewer, work_id: int, *, today: int
) -> tuple[OffRecord, ...]:
    """Return the photographs of a work that this person may put back, the newest first."""
    return tuple(
        OffRecord(key_of(one), one.view, one.stage, one.withdrawn_reason or "")
        for one in photographs_off_record(session, viewer, work_id)
        if may(viewer.role, _deed(one.person_id, one.recorded_on, viewer, today))
    )


def list_of_visit(
    session: Session, viewer: Viewer, visit_id: int
) -> tuple[PhotographOnRecord, ...]:
    """Return the photographs taken at a visit, the newest first; none of what is not seen."""
    require(viewer.role, Deed.READ)
    return _all_shown(photographs_of_visit(session, viewer, visit_id))


def list_of_draft(
    session: Session, viewer: Viewer, draft_key: str
) -> tuple[PhotographOnRecord, ...]:
    """Return the photographs taken within a visit that is not finished, the newest first."""
    require(viewer.role, Deed.READ)
    return _all_shown(photographs_of_draft(session, viewer, draft_key))


def photographs_shown(
    session: Session, viewer: Viewer, work_id: int
) -> tuple[PhotographOnRecord, ...]:
    """Return the photographs of a work that is known to be seen, in one statement."""
    return _all_shown(photographs_of_work(session, viewer, work_id))


def latest_recto_of(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> dict[int, int]:
    """Return for each work the key of its newest photograph of the front; one statement."""
    found = latest_rectos(session, viewer, work_ids) if work_ids else {}
    return {work_id: key_of(photograph) for work_id, photograph in found.items()}


def _file_name(kept: PictureKept) -> str | None:
    return " ".join(kept.file_name.split())[-LONGEST_FILE_NAME:] or None


def _said(
    view: PhotographView, stage: PhotographStage | None, note: str, on: HalfKnownDate | None
) -> dict[str, object]:
    said = {"view": PhotographView(view), "stage": stage and PhotographStage(stage)}
    return {**said, "note": a_note(note), **date_columns("taken_on", on)}


def _taken_on(told: PhotographTold, kept: PictureKept, today: int) -> HalfKnownDate | None:
    if told.taken_on is not None:
        faults = Faults()
        on = faults.read("/taken_on", read_record_date, told.taken_on)
        faults.refuse()
        _refuse_future(on, today)
        return on
    camera = None if kept.taken_on is None else read_record_date(kept.taken_on)
    # A camera whose clock runs ahead says nothing about the day.
    is_past = camera is not None and camera.first_day is not None and camera.first_day <= today
    return camera if is_past else None


def _refuse_future(on: HalfKnownDate | None, today: int) -> None:
    if on is not None:
        refuse_future(on, today, "photograph")


def _visit_of(session: Session, viewer: Viewer, told: PhotographTold) -> int | None:
    if told.visit_id is not None:
        visit = get_visit(session, viewer, told.visit_id)
        if visit.work_id != told.work_id or visit.withdrawn_reason is not None:
            message = "This visit is not one of the work in the photograph."
            raise BadValue.at("/visit", message, "Name a visit of the same work, or none.")
        return key_of(visit)
    if told.draft_key is None:
        return None
    if not 1 <= len(told.draft_key) <= LONGEST_KEY:
        raise BadValue.at("/draft_key", f"The key of a draft has 1 to {LONGEST_KEY} characters.")
    return visit_of_draft(session, told.draft_key, told.work_id)


def _deed(person_id: int | None, recorded_on: int | None, viewer: Viewer, today: int) -> Deed:
    is_open = person_id == viewer.person_id and today - (recorded_on or 0) <= OPEN_FOR_DAYS
    return Deed.PHOTOGRAPH if is_open else Deed.WITHDRAW


def _all_shown(found: Sequence[ListedPhotograph]) -> tuple[PhotographOnRecord, ...]:
    return tuple(_shown(one) for one in found)


def _shown(found: ListedPhotograph) -> PhotographOnRecord:
    photograph = found.photograph
    return PhotographOnRecord(
        id=key_of(photograph),
        version=photograph.version,
        work_id=photograph.work_id,
        visit_id=photograph.visit_id,
        draft_key=photograph.draft_key,
        view=photograph.view,
        stage=photograph.stage,
        sha256=photograph.sha256,
        media_type=photograph.media_type,
        byte_count=photograph.byte_count,
        file_name=photograph.file_name or "",
        width_px=photograph.width_px,
        height_px=photograph.height_px,
        taken_on=photograph.taken_on_edtf,
        taken_by=found.taken_by,
        taken_by_id=photograph.person_id,
        recorded_on=photograph.recorded_on,
        note=photograph.note,
    )
