"""How is a visit made at the bench, so that nothing of it is ever lost?

All steps stand in one form. Each change posts the form to the visit's draft; without a
script "save and go on" does. Come back by any way, and what was typed is there. Finishing
records the visit once, however often it is sent. What is refused leads to the step and
field at fault, with everything that was typed. Was somebody quicker, both states are shown:
what is on record now, and what was typed, which is then told on top of it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import (
    MaybeSignedIn,
    Now,
    ReadSession,
    SignedIn,
    Today,
    TrialSession,
    WriteSession,
    requires,
)
from api.forms import Typed, TypedForm
from api.installation import installation_of
from api.pages.bench_steps import Step, step_named, step_of, steps_shown
from api.pages.forecast_shown import forecast_shown
from api.pages.form_answers import REFUSED, STALE, Refusal
from api.pages.form_shown import FormShown
from api.pages.package_swap import tried_package
from api.pages.package_typed import NO_NEW_MOUNT
from api.pages.path_ids import PathId
from api.pages.visit_form import (
    KEPT,
    OF_THE_PAGE,
    ToRecord,
    VisitFormPage,
    difference,
    is_mount_gone,
    kept_of,
    parts_that_are_gone,
    theirs_of,
    visit_form_page,
    with_another_kind,
    with_typed_of_kind,
    without_dismount,
)
from api.pages.visit_typed import VisitRead, read_package, read_visit
from api.pages.visits_shown import VisitShown, visit_shown
from api.pages.work_page import SEE_OTHER, records_of
from api.routes import Route
from api.templating import show
from models.actions.drafts import Draft, DraftTold, draft_of, finish_draft, save_draft
from models.actions.forecasts import forecast_now, sign_that_closes
from models.actions.named_records import mount_method_named
from models.actions.photographs import join_visit
from models.actions.sign_ins import Recognised, new_secret
from models.actions.visit_words import meant_by
from models.actions.visits import record_visit
from models.actions.work_records import WorkRecords
from models.errors import BadValue, Fault, HingebookError, NotFound, RuleBroken, Stale
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.rules.visit_as_told import VisitTold
from models.tables.drafts import open_drafts
from models.tables.terms import near_the_work
from models.tables.visible import Viewer
from models.tables.visit_notes import visit_note_rows
from models.vocabulary import SEEN_WHEN_OPENED, UNKNOWN_HOLD, VisitKind
from seed_data.shipped import shipped_default_figures

router = APIRouter(route_class=Route)

TEMPLATE = "visits/bench.html"
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
def visit_opened(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    work_id: PathId,
    kind: str = VisitKind.LOOK,
) -> Response:
    """Show the first step of a visit, begun with its first change; or the one that lies open."""
    of_kind = _kind(kind)
    on_bench = open_drafts(session, viewer, work_id=work_id)
    same = next((draft for draft in on_bench if draft.kind is of_kind), None)
    if same is not None:
        return RedirectResponse(f"/bench/{same.key}", SEE_OTHER)
    page = _page(request, session, viewer, recognised, work_id, of_kind, today)
    return show(request, TEMPLATE, replace(page, key=new_secret(), on_bench=tuple(on_bench)))


@router.get("/bench/{key}", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_taken_up(session: ReadSession, viewer: SignedIn, key: str) -> Response:
    """Lead to the step at which a visit was left."""
    draft = draft_of(session, viewer, key)
    step = step_named(next(iter(draft.typed.get("step", ())), ""), draft.kind)
    return _to(key, step)


@router.get("/bench/{key}/{step}", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_step(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    key: str,
    step: str,
) -> Response:
    """Show one step with all that was typed so far; a finished visit leads to its work."""
    draft = draft_of(session, viewer, key)
    if draft.visit_id is not None:
        return _recorded(draft.work_id, draft.visit_id)
    now = step_named(step, draft.kind)
    if step != now:
        return _to(key, now)
    page = _page(request, session, viewer, recognised, draft.work_id, draft.kind, today, now)
    return show(request, TEMPLATE, _as_saved(request, page, draft))


@router.post("/bench/{key}/kind", dependencies=[requires(Deed.RECORD_VISIT)])
def kind_changed(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    now: Now,
    key: str,
    form: Typed,
) -> Response:
    """Make it a visit of another kind, with all that was typed so far."""
    told = _told(form)
    kind = _kind(form["to_kind"])
    page = _page(request, session, viewer, recognised, told.work_id, kind, today)
    page = with_another_kind(page, told.typed)
    typed = {**page.form.values, **page.kept, "kind": [kind.value]}
    save_draft(session, viewer, key, replace(told, kind=kind, typed=typed), now=now)
    return _to(key, Step.START)


@router.post("/bench/{key}/tried", dependencies=[requires(Deed.RECORD_VISIT)])
def package_tried(
    request: Request,
    session: TrialSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    key: str,
    form: Typed,
) -> Response:
    """Show what the package told in the form would do; nothing is stored."""
    told, on = _told(form), day_number(today)
    page = _page(request, session, viewer, recognised, told.work_id, told.kind, today, Step.PACKAGE)
    page = replace(page, key=key)
    records = records_of(session, viewer, told.work_id)
    read: VisitRead | None = None
    try:
        _refuse_what_is_gone(records, form)
        read = read_package(form, records)
        tried = tried_package(session, viewer, records, read, today=on)
    except Refusal as error:
        return _refused(request, page, records, form, read, error)
    return show(request, TEMPLATE, replace(_with_typed(page, form), tried=tried))


@router.post("/bench/{key}/outcome", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_looked_through(
    request: Request,
    session: TrialSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    key: str,
    form: Typed,
) -> Response:
    """Show what would be recorded, and the next dates; nothing is stored."""
    told = _told(form)
    page = _page(request, session, viewer, recognised, told.work_id, told.kind, today, Step.FINISH)
    page = replace(page, key=key)
    records = records_of(session, viewer, told.work_id)
    read: VisitRead | None = None
    try:
        read = _read_all(session, form, told.kind, records, today=day_number(today))
        with session.begin_nested():
            stored = record_visit(session, viewer, told.work_id, read.told, today=day_number(today))
        outcome = _outcome(session, viewer, form, told, stored.visit_id, today)
    except Refusal as error:
        answer = _refused(request, page, records, form, read, error)
        # To a script this was a question: its answer is no error of the page that asked.
        answer.status_code = 200 if _is_asked_by_script(request) else answer.status_code
        return answer
    return show(request, TEMPLATE, replace(_with_typed(page, form), outcome=outcome))


@router.post("/bench/{key}/record", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_finished(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    now: Now,
    key: str,
    form: Typed,
) -> Response:
    """Record the visit, once; or show the step at fault with everything typed."""
    told, on = _told(form), day_number(today)
    records = records_of(session, viewer, told.work_id)
    read: VisitRead | None = None
    try:
        save_draft(session, viewer, key, told, now=now)
        read = _read_all(session, form, told.kind, records, today=on)
        with session.begin_nested():
            stored = record_visit(session, viewer, told.work_id, read.told, today=on)
        finish_draft(session, viewer, key, stored.visit_id, now=now)
        join_visit(session, key, stored.visit_id)
    except Refusal as error:
        if error.code == "recorded_already":
            return _recorded_already(session, viewer, key, told, error)
        if isinstance(error, Stale) and isinstance(error.theirs, Draft):
            return _changed_elsewhere(request, session, viewer, recognised, today, key, form, error)
        records = records_of(session, viewer, told.work_id)
        page = _page(
            request, session, viewer, recognised, told.work_id, told.kind, today, Step.FINISH
        )
        return _refused(request, replace(page, key=key), records, form, read, error)
    return _recorded(told.work_id, stored.visit_id)


# Below its neighbours: their addresses would be taken for steps.
@router.post("/bench/{key}/{step}", dependencies=[requires(Deed.RECORD_VISIT)])
def step_saved(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    now: Now,
    key: str,
    step: str,
    form: Typed,
    to: str = "",
) -> Response:
    """Save what was typed so far; a script is told the version, a person sees the next step."""
    told = _told(form)
    try:
        draft = save_draft(session, viewer, key, told, now=now)
    except Stale as error:
        return _changed_elsewhere(request, session, viewer, recognised, today, key, form, error)
    except RuleBroken as error:
        if not _is_asked_by_script(request):
            raise
        draft = draft_of(session, viewer, key)
        if draft.typed != told.typed:
            return JSONResponse({"code": error.code}, STALE)
    if _is_asked_by_script(request):
        return JSONResponse({"version": draft.version, "saved": _clock(request, draft.saved)})
    return _to(key, step_named(form["to"] or to or step, draft.kind))


def _page(
    request: Request,
    session: Session,
    viewer: Viewer,
    recognised: Recognised | None,
    work_id: int,
    kind: VisitKind,
    today: date,
    step: Step = Step.START,
) -> VisitFormPage:
    records = records_of(session, viewer, work_id)
    return visit_form_page(
        session, viewer, records, kind, name=_name(recognised), today=day_number(today), step=step
    )


def _as_saved(request: Request, page: VisitFormPage, draft: Draft) -> VisitFormPage:
    """Return the page with what lies in the draft."""
    page = with_typed_of_kind(page, draft.typed)
    return replace(
        page,
        key=draft.key,
        version=draft.version,
        kept=kept_of(draft.typed),
        saved=_clock(request, draft.saved),
    )


def _told(form: TypedForm) -> DraftTold:
    """Return what a page sends of a visit. Raises NotFound for a kind or work that cannot be."""
    work = form["work"]
    if not (work.isascii() and work.isdigit() and len(work) < 10):
        raise NotFound("work", work[:20])
    version = form["version"]
    seen = int(version) if version.isascii() and version.isdigit() and len(version) < 10 else 0
    typed = {name: list(v) for name, v in form.fields.items() if name not in OF_THE_PAGE}
    return DraftTold(int(work), _kind(form["kind"]), typed, seen, form["hand"][:100])


def _read_all(
    session: Session, form: TypedForm, kind: VisitKind, records: WorkRecords, *, today: int
) -> VisitRead:
    _refuse_what_is_gone(records, form)
    read = _read(session, form, kind, records)
    return replace(read, told=_kept_closed(records, read.told, form, today=today))


def _read(session: Session, form: TypedForm, kind: VisitKind, records: WorkRecords) -> VisitRead:
    """Return what was told. Raises BadValue with every text and every name that cannot be."""
    treats = any(any(v) for name, v in form.fields.items() if name.startswith("treatments/"))
    read = read_visit(form, kind, records, near_the_work(session) if treats else {})
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
    count = "An answer is" if len(faults) == 1 else f"{len(faults)} answers are"
    raise BadValue(f"{count} missing, or cannot be right.", faults)


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


def _outcome(
    session: Session,
    viewer: Viewer,
    form: TypedForm,
    told: DraftTold,
    visit_id: int,
    today: date,
) -> ToRecord:
    records = records_of(session, viewer, told.work_id)
    notes = visit_note_rows(session, viewer, [told.work_id])
    row = next(visit for visit in records.visits if visit.id == visit_id)
    forecast = forecast_now(session, records, today=day_number(today))
    shown = visit_shown(row, records, notes)
    untold = (
        *_untold(shown, records, told.kind),
        *_contradicted(session, records, visit_id),
        *_not_of_this_kind(form, told.kind),
    )
    return ToRecord(shown, forecast_shown(forecast, today=day_number(today)), untold)


def _untold(visit: VisitShown, records: WorkRecords, kind: VisitKind) -> Iterator[str]:
    """Give what an unframing that was not stopped does not tell of what lies inside."""
    if kind is not VisitKind.UNFRAMING or visit.stop_why or visit.to_write_up:
        return
    if not set(visit.seen) & set(SEEN_WHEN_OPENED):
        yield (
            "Nothing that lies inside is ticked under “Seen”: the dates stay as if nobody had"
            " opened it."
        )
    if not records.mounts:
        yield (
            "Nothing is told of its package under “Came off”: all that touches the work still"
            " counts as unknown."
        )


def _not_of_this_kind(form: TypedForm, kind: VisitKind) -> Iterator[str]:
    """Give what was told of an unframing, where the visit has become one of another kind since."""
    kept = {name.removeprefix(KEPT): values for name, values in kept_of(form.fields).items()}
    came_off = any(any(values) for name, values in kept.items() if name.startswith("dismount/"))
    if came_off or kept.get("mount/how", [NO_NEW_MOUNT])[0] not in ("", NO_NEW_MOUNT):
        yield (
            f"What is told under “Came off” and “New package” belongs to an unframing, and a {kind}"
            " does not record it: choose the unframing again under “Start”, or leave it so."
        )


def _contradicted(session: Session, records: WorkRecords, visit_id: int) -> Iterator[str]:
    """Give what does not go together in a mount of this visit: it may stand so from before."""
    for mount in records.mounts:
        holds = records.holds[mount.id]
        if mount.mounted_visit_id != visit_id or mount.method is None or not holds:
            continue
        usual = mount_method_named(session, mount.method).default_hold_grade
        if usual not in (None, "", UNKNOWN_HOLD) and all(hold.grade != usual for hold in holds):
            held_by = ", ".join(hold.material or hold.grade for hold in holds)
            yield (
                f"“How it is held” says {mount.method}, and what holds it is {held_by}: look at"
                " both again under “New package”."
            )


def _recorded_already(
    session: Session, viewer: Viewer, key: str, told: DraftTold, error: HingebookError
) -> Response:
    """Lead to the visit that this one became, unless something was typed after it."""
    draft = draft_of(session, viewer, key)
    if draft.typed != told.typed or draft.visit_id is None:
        raise error
    return _recorded(draft.work_id, draft.visit_id)


def _changed_elsewhere(
    request: Request,
    session: Session,
    viewer: Viewer,
    recognised: Recognised | None,
    today: date,
    key: str,
    form: TypedForm,
    error: HingebookError,
) -> Response:
    """Show what another page has saved meanwhile beside what was typed here."""
    theirs = draft_of(session, viewer, key)
    if _is_asked_by_script(request):
        return JSONResponse({"version": theirs.version}, STALE)
    told = _told(form)
    step = step_named(form["step"], told.kind)
    page = _page(request, session, viewer, recognised, theirs.work_id, told.kind, today, step)
    page = replace(
        _with_typed(page, form),
        key=theirs.key,
        version=theirs.version,
        refusal=error.message,
        elsewhere=difference(theirs.typed, told.typed),
    )
    return show(request, TEMPLATE, page, STALE)


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
    now = step_of(beside[0]) if beside else step_named(form["step"], page.kind)
    page = replace(
        _with_typed(page, form, beside),
        refusal=_refusal(error, beside),
        step=now,
        steps=steps_shown(page.kind, now, beside),
    )
    if isinstance(error, Stale):
        # Both states have been shown: what is sent next is told on top of the newest.
        before = page.form.beforehand
        newest: Mapping[str, Sequence[str]] = {
            **form.fields,
            **{name: before.get(name, [""]) for name in ("based_on", "mount_seen")},
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
    return "An answer is missing, or cannot be right." if is_beside else error.message


def _with_typed(
    page: VisitFormPage, form: TypedForm, faults: tuple[Fault, ...] = ()
) -> VisitFormPage:
    """Return the page with everything that was typed."""
    shown = FormShown(form.fields, faults, page.form.beforehand)
    version = form["version"]
    return replace(
        page,
        form=shown,
        kept=kept_of(form.fields),
        version=int(version) if version.isascii() and version.isdigit() else 0,
    )


def _refuse_what_is_gone(records: WorkRecords, form: TypedForm) -> None:
    """Raise Stale when something was told of a layer or hold that somebody took away since."""
    if parts_that_are_gone(records, form.fields):
        raise Stale(
            "Somebody changed this package since you opened it; look at what is there, and tell"
            " the visit on top of it."
        )


def _to(key: str, step: Step) -> Response:
    return RedirectResponse(f"/bench/{key}/{step}", SEE_OTHER)


def _recorded(work_id: int, visit_id: int) -> Response:
    return RedirectResponse(f"/works/{work_id}?visit={visit_id}", SEE_OTHER)


def _clock(request: Request, at: datetime) -> str:
    """Return the time of day at which something was saved, as the clock of the house shows it."""
    return f"{installation_of(request).settings.local(at):%H:%M}"


def _is_asked_by_script(request: Request) -> bool:
    return "application/json" in request.headers.get("accept", "")


def _kind(word: str) -> VisitKind:
    if word not in tuple(VisitKind):
        raise NotFound("kind of visit", word)
    return VisitKind(word)


def _name(recognised: Recognised | None) -> str:
    return "" if recognised is None else recognised.name
