"""How is a visit recorded at the bench, without a script?

One form, sent whole. What is refused comes back with everything that was typed,
each fault beside its field. Was somebody quicker, both states are shown: what is
on record now, and what was typed, which is then told on top of it. A package can
be tried before the visit is finished: the visit is told to the record, the verdict
read, and all of it dropped again.
"""

from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import (
    MaybeSignedIn,
    ReadSession,
    SignedIn,
    Today,
    WriteSession,
    requires,
)
from api.forms import Typed, TypedForm
from api.pages.forecast_shown import forecast_shown
from api.pages.form_answers import REFUSED, STALE, Refusal
from api.pages.form_shown import FormShown
from api.pages.package_shown import package_shown
from api.pages.path_ids import PathId
from api.pages.visit_form import (
    Tried,
    VisitFormPage,
    is_mount_gone,
    kept_of,
    parts_that_are_gone,
    theirs_of,
    visit_form_page,
    with_another_kind,
    without_dismount,
)
from api.pages.visit_typed import VisitRead, read_package, read_visit
from api.pages.work_page import SEE_OTHER, records_of
from api.routes import Route
from api.templating import show
from models.actions.forecasts import forecast_now, sign_that_closes
from models.actions.sign_ins import Recognised
from models.actions.visit_words import meant_by
from models.actions.visits import record_visit
from models.actions.work_records import WorkRecords
from models.errors import BadValue, Fault, HingebookError, NotFound, RuleBroken, Stale
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.visit_as_told import VisitTold
from models.tables.visible import Viewer
from models.vocabulary import VisitKind
from seed_data.shipped import shipped_default_figures

router = APIRouter(route_class=Route)

TEMPLATE = "visits/form.html"
# Beside which field a broken rule stands.
FIELD_OF = {
    **dict.fromkeys(("in_the_future", "before_it_was_made", "ended_before_it_began"), "on"),
    "dismount_before_mount": "dismount/done",
    "two_current_mounts": "dismount/done",
    "overlap": "mount/how",
    "no_package": "added",
    "does_not_wait": "stop",
    "no_box": "kind",
    "needs_unframing": "kind",
    "cannot_be_seen": "seen",
}


@router.get("/works/{work_id:int}/visits/new", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_form(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work_id: PathId,
    kind: str = VisitKind.LOOK,
) -> Response:
    """Show the form of a visit of one kind."""
    records = records_of(session, viewer, work_id)
    of_kind = _kind(kind)
    page = visit_form_page(
        session, viewer, records, of_kind, name=_name(recognised), today=day_number(today)
    )
    return show(request, TEMPLATE, page)


@router.post("/works/{work_id:int}/visits", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Record the visit, or show the form again with what is wrong."""
    kind, on = _kind(form["kind"]), day_number(today)
    records = records_of(session, viewer, work_id)
    read: VisitRead | None = None
    try:
        _refuse_what_is_gone(records, form)
        read = _read(session, form, kind, records)
        read = replace(read, told=_kept_closed(records, read.told, form, today=on))
        with session.begin_nested():
            stored = record_visit(session, viewer, work_id, read.told, today=on)
    except Refusal as error:
        records = records_of(session, viewer, work_id)
        page = visit_form_page(session, viewer, records, kind, name=_name(recognised), today=on)
        return _refused(request, page, records, form, read, error)
    return RedirectResponse(f"/works/{work_id}?visit={stored.visit_id}", SEE_OTHER)


@router.get("/works/{work_id:int}/visits", dependencies=[requires(Deed.READ)])
@router.get("/works/{work_id:int}/visits/kind", dependencies=[requires(Deed.READ)])
def loaded_again(work_id: PathId) -> Response:
    """Lead to the work from the address of a form that was sent."""
    return RedirectResponse(f"/works/{work_id}", SEE_OTHER)


@router.post("/works/{work_id:int}/visits/kind", dependencies=[requires(Deed.RECORD_VISIT)])
def kind_changed(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Show the form of another kind of visit with what was typed so far; nothing is stored."""
    request.state.keep = False
    kind, on = _kind(form["to_kind"]), day_number(today)
    records = records_of(session, viewer, work_id)
    page = visit_form_page(session, viewer, records, kind, name=_name(recognised), today=on)
    page = replace(with_another_kind(page, form.fields), repeat_key=form.repeat_key or None)
    return show(request, TEMPLATE, page)


@router.post("/works/{work_id:int}/visits/new", dependencies=[requires(Deed.RECORD_VISIT)])
def package_tried(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work_id: PathId,
    form: Typed,
) -> Response:
    """Show what the package told in the form would do; nothing is stored."""
    request.state.keep = False
    kind, on = _kind(form["kind"]), day_number(today)
    records = records_of(session, viewer, work_id)
    page = visit_form_page(session, viewer, records, kind, name=_name(recognised), today=on)
    read: VisitRead | None = None
    try:
        _refuse_what_is_gone(records, form)
        read = read_package(form, records)
        tried = _tried(session, viewer, work_id, read, today=on)
    except Refusal as error:
        return _refused(request, page, records, form, read, error)
    return show(request, TEMPLATE, replace(_with_typed(page, form), tried=tried))


def _read(session: Session, form: TypedForm, kind: VisitKind, records: WorkRecords) -> VisitRead:
    """Return what was told. Raises BadValue with every text and every name that cannot be."""
    read = read_visit(form, kind, records)
    if not read.unread:
        return read
    named = {fault.pointer for fault in read.unread}
    try:
        meant_by(session, read.told, shipped_default_figures())
        of_words: tuple[Fault, ...] = ()
    except BadValue as error:
        of_words = tuple(read.beside(fault) for fault in error.faults)
    # A text that cannot be read is missing in what was told: that is not said twice.
    faults = (*read.unread, *(fault for fault in of_words if fault.pointer not in named))
    count = "A value" if len(faults) == 1 else f"{len(faults)} values"
    raise BadValue(f"{count} cannot be right.", faults)


def _kept_closed(
    records: WorkRecords, told: VisitTold, form: TypedForm, *, today: int
) -> VisitTold:
    """Return the visit of a package that a sign keeps closed: a stop, or told from old notes.

    Raises RuleBroken (`does_not_wait`) for an unframing that would be begun now.
    """
    sign = sign_that_closes(records, today=today)
    if told.kind is not VisitKind.UNFRAMING or told.stop is not None or sign is None:
        return told
    if form["stop/from_notes"]:
        return replace(told, reason=told.reason or "told from old notes")
    raise RuleBroken(
        f"{sign.sentence} The package stays closed: record the stop, or tick that this is told"
        " from old notes.",
        "does_not_wait",
    )


def _tried(session: Session, viewer: Viewer, work_id: int, read: VisitRead, *, today: int) -> Tried:
    record_visit(session, viewer, work_id, read.told, today=today)
    records = records_of(session, viewer, work_id)
    forecast = forecast_now(session, records, today=today)
    return Tried(forecast_shown(forecast, today=today), package_shown(records, forecast.verdict))


def _refused(
    request: Request,
    page: VisitFormPage,
    records: WorkRecords,
    form: TypedForm,
    read: VisitRead | None,
    error: HingebookError,
) -> Response:
    faults = error.faults if isinstance(error, BadValue) else ()
    if error.code in FIELD_OF and not faults:
        faults = (Fault(f"/{FIELD_OF[error.code]}", error.message),)
    beside = faults if read is None else tuple(read.beside(fault) for fault in faults)
    page = replace(_with_typed(page, form, beside), refusal=_refusal(error, beside))
    if isinstance(error, Stale):
        # Both states have been shown: what is sent next is told on top of the newest.
        now = page.form.beforehand
        newest = {
            **form.fields,
            **{name: now.get(name, [""]) for name in ("based_on", "mount_seen")},
        }
        if is_mount_gone(records, form.fields):
            newest = without_dismount(newest)
        page = replace(
            page,
            form=replace(page.form, values=newest),
            theirs=theirs_of(records, form.fields),
        )
    return show(request, TEMPLATE, page, REFUSED if isinstance(error, BadValue) else STALE)


def _refusal(error: HingebookError, beside: tuple[Fault, ...]) -> str:
    """Return the sentence above the form; what stands beside a field is not said twice."""
    is_beside = len(beside) == 1 and beside[0].message == error.message
    return "A value cannot be right." if is_beside else error.message


def _with_typed(
    page: VisitFormPage, form: TypedForm, faults: tuple[Fault, ...] = ()
) -> VisitFormPage:
    """Return the page with everything that was typed."""
    shown = FormShown(form.fields, faults, page.form.beforehand)
    kept = kept_of(form.fields)
    return replace(page, form=shown, kept=kept, repeat_key=form.repeat_key or None)


def _refuse_what_is_gone(records: WorkRecords, form: TypedForm) -> None:
    """Raise Stale when something was told of a layer or hold that somebody took away since."""
    if parts_that_are_gone(records, form.fields):
        raise Stale(
            "Somebody changed this package since you opened it; look at what is there, and tell"
            " the visit on top of it."
        )


def _kind(word: str) -> VisitKind:
    if word not in tuple(VisitKind):
        raise NotFound("kind of visit", word)
    return VisitKind(word)


def _name(recognised: Recognised | None) -> str:
    return "" if recognised is None else recognised.name
