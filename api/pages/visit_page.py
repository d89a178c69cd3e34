"""What does one visit say, and how is it put right, written up, or taken back?

Words left for later are added to it; what was wrong is put right, the old value
stays in the log; a visit that never was is taken back with a reason, by a keeper.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.dates_said import date_said
from api.pages.findings_shown import FindingShown, findings_shown
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    edtf,
    typed_in,
    whole,
)
from api.pages.form_shown import FormShown
from api.pages.path_ids import PathId
from api.pages.photographs_shown import PhotographShown, photographs_noted
from api.pages.row_reader import RowReader
from api.pages.visit_form import NEW_FINDINGS, CauseAsked, Words, bench_words, causes_asked
from api.pages.visit_typed import (
    LONGEST_MINUTES,
    UNKNOWN_HAND,
    fault_beside,
    seen_typed,
    sightings_typed,
)
from api.pages.visits_shown import VisitShown, visit_shown
from api.pages.work_page import SEE_OTHER, WorkShown, records_of, work_shown
from api.routes import Route
from api.templating import show
from models.actions.in_force import in_force
from models.actions.visit_corrections import correct_visit, withdraw_visit, write_up_visit
from models.actions.visits import get_visit
from models.errors import BadValue, Fault, HingebookError, RuleBroken
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, deed_of_correction, may
from models.rules.record_values import whole_between
from models.tables.visible import Viewer
from models.tables.visit_notes import visit_note_rows
from models.tables.visits import Visit
from models.vocabulary import Change, Side

router = APIRouter(route_class=Route)

WRITE_UP, CORRECT, WITHDRAW = "write up", "correct", "withdraw"
CORRECTED = {
    "on": "on",
    "by": "by",
    "minutes": "minutes",
    "reason": "why it was examined",
    "whole_summary": "what it looked like",
}


@dataclass(frozen=True)
class VisitPage:
    """What templates/visits/visit.html is given; `refused` names the form that was refused."""

    work: WorkShown
    visit: VisitShown | None
    visit_id: int
    on: str
    withdrawn: str
    may_correct: bool
    may_withdraw: bool
    findings: tuple[FindingShown, ...]
    photographs: tuple[PhotographShown, ...]
    words: Words
    form: FormShown
    refusal: str = ""
    refused: str = ""
    repeat_key: str | None = None
    # Where somebody who put it right was quicker.
    differences: tuple[Difference, ...] = ()
    # Asked while words are added; of earlier findings whose cause nobody has confirmed.
    causes: Mapping[int, CauseAsked] = field(default_factory=dict)


@dataclass(frozen=True)
class Told:
    """Which form was sent, and into which of its fields each part of the record was typed."""

    deed: str
    fields: Mapping[str, str]


@router.get("/visits/{visit_id:int}", dependencies=[requires(Deed.READ)])
def visit_page(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, visit_id: PathId
) -> Response:
    """Show one visit."""
    page = _page(session, viewer, visit_id, today=day_number(today))
    return show(request, "visits/visit.html", page)


@router.post("/visits/{visit_id:int}/write-up", dependencies=[requires(Deed.RECORD_VISIT)])
def write_up_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    visit_id: PathId,
    form: Typed,
) -> Response:
    """Add to a visit what was left for later."""
    on, reader = day_number(today), RowReader(form)
    work_id = get_visit(session, viewer, visit_id).work_id
    before = records_of(session, viewer, work_id).sightings

    def write_up() -> None:
        summary, sightings = reader.note("summary"), sightings_typed(reader, before)
        reader.answers.refuse()
        write_up_visit(
            session,
            viewer,
            visit_id,
            summary=summary,
            seen=seen_typed(form),
            sightings=sightings,
            today=on,
        )

    return _answer(
        request, session, viewer, visit_id, form, write_up, Told(WRITE_UP, reader.fields), today=on
    )


@router.post("/visits/{visit_id:int}/correct", dependencies=[requires(Deed.RECORD_VISIT)])
def correction_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    visit_id: PathId,
    form: Typed,
) -> Response:
    """Put a visit right."""
    on = day_number(today)

    def correct() -> None:
        changes, based_on = _changes(form)
        correct_visit(session, viewer, visit_id, changes, based_on=based_on, today=on)

    return _answer(
        request,
        session,
        viewer,
        visit_id,
        form,
        correct,
        Told(CORRECT, {"/summary": "whole_summary"}),
        today=on,
    )


@router.post("/visits/{visit_id:int}/withdraw", dependencies=[requires(Deed.WITHDRAW)])
def withdrawal_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    visit_id: PathId,
    form: Typed,
) -> Response:
    """Take back a visit that never was."""
    on = day_number(today)

    def withdraw() -> None:
        withdraw_visit(session, viewer, visit_id, form["reason_to_withdraw"], today=on)

    return _answer(
        request,
        session,
        viewer,
        visit_id,
        form,
        withdraw,
        Told(WITHDRAW, {"": "reason_to_withdraw"}),
        today=on,
    )


def _answer(
    request: Request,
    session: Session,
    viewer: Viewer,
    visit_id: int,
    form: TypedForm,
    do: Callable[[], None],
    told: Told,
    *,
    today: int,
) -> Response:
    """Do it and lead back to the visit, or show the visit again with what is wrong."""
    try:
        form.require_clean()
        with session.begin_nested():
            do()
    except Refusal as error:
        page = _page(session, viewer, visit_id, today=today, refused=(told, form, error))
        status = REFUSED if isinstance(error, BadValue) else STALE
        return show(request, "visits/visit.html", page, status)
    return RedirectResponse(f"/visits/{visit_id}", SEE_OTHER)


def _page(
    session: Session,
    viewer: Viewer,
    visit_id: int,
    *,
    today: int,
    refused: tuple[Told, TypedForm, HingebookError] | None = None,
) -> VisitPage:
    visit = get_visit(session, viewer, visit_id)
    records = records_of(session, viewer, visit.work_id)
    notes = visit_note_rows(session, viewer, [visit.work_id])
    findings = findings_shown(records, notes)
    shown = next((visit_shown(r, records, notes) for r in records.visits if r.id == visit_id), None)
    beforehand = {} if shown is None else _beforehand(shown, visit, findings)
    page = VisitPage(
        work=work_shown(records),
        visit=shown,
        visit_id=visit_id,
        on=date_said(visit.on_edtf),
        withdrawn=visit.withdrawn_reason or "",
        may_correct=_may_correct(viewer, visit, today),
        may_withdraw=may(viewer.role, Deed.WITHDRAW),
        findings=findings,
        photographs=photographs_noted(n for n in notes if n.visit_id == visit_id),
        words=bench_words(session, visit.kind),
        form=FormShown(beforehand, beforehand=beforehand),
        causes=causes_asked(records, in_force(session), today=today) if visit.to_write_up else {},
    )
    return page if refused is None else _with_refusal(page, *refused)


def _with_refusal(page: VisitPage, told: Told, form: TypedForm, error: HingebookError) -> VisitPage:
    faults = error.faults if isinstance(error, BadValue) else ()
    if isinstance(error, BadValue) and not faults:
        faults = (Fault("", error.message),)
    faults = tuple(fault_beside(fault, told.fields) for fault in faults)
    values: dict[str, Sequence[str]] = {**page.form.values, **form.fields}
    if isinstance(error, RuleBroken):
        # Both states are shown: what is typed next is told on top of the newest.
        values["based_on"] = page.form.values.get("based_on", [""])
        if told.deed == CORRECT:
            now = {name: page.form.value(name) for name in CORRECTED}
            page = replace(page, differences=differences(CORRECTED, typed_in(form, now), now))
    values = values if "seen" in form.fields else {**values, "seen": []}
    return replace(
        page,
        form=FormShown(values, faults, page.form.beforehand),
        refusal=error.message,
        refused=told.deed,
        repeat_key=form.repeat_key or None,
    )


def _beforehand(
    visit: VisitShown, row: Visit, findings: tuple[FindingShown, ...]
) -> dict[str, list[str]]:
    return {
        "based_on": [str(row.version)],
        "on": [visit.on],
        "by": [visit.by],
        "minutes": ["" if visit.minutes is None else str(visit.minutes)],
        "reason": [visit.reason],
        "whole_summary": [visit.summary],
        "seen": list(visit.seen),
        **{f"finding/{finding.id}/change": [str(Change.NOT_SEEN)] for finding in findings},
        **{f"new/{i}/change": [str(Change.NEW)] for i in range(NEW_FINDINGS)},
        **{f"new/{i}/side": [str(Side.RECTO)] for i in range(NEW_FINDINGS)},
    }


def _changes(form: TypedForm) -> tuple[Mapping[str, object], int]:
    """Return what is put right, and on which version it is based."""
    answers = Answers(form)
    minutes = whole_between(0, LONGEST_MINUTES, "number of minutes")
    by = answers.if_typed("by")
    changes: dict[str, object] = {
        "on": answers.needed("on", edtf, ""),
        "by": None if by == UNKNOWN_HAND else by,
        "by_unknown_hand": by == UNKNOWN_HAND,
        "minutes": answers.read("minutes", lambda text: minutes(whole(text))),
        "reason": form["reason"],
        "summary": form["whole_summary"],
        "seen": seen_typed(form),
    }
    based_on = answers.needed("based_on", whole, 0)
    answers.refuse()
    return changes, based_on


def _may_correct(viewer: Viewer, visit: Visit, today: int) -> bool:
    deed = deed_of_correction(
        is_own=visit.recorded_by_id == viewer.person_id,
        recorded_on=visit.recorded_on or 0,
        today=today,
    )
    return may(viewer.role, deed)
