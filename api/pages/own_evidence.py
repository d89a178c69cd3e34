"""What do the house's own mounts say beside the default figures, in words, and is it used?

For each grade: how many mounts were found marked where how many were expected, how
often that is against the default, the typical time by default and as now used, and a
bar from the least to the most that can well be meant. Each grade has a page that names
the mounts that spoke, as far as a person may see their works, and the keeper's switch.
"""

from dataclasses import dataclass, replace
from itertools import groupby
from math import log2
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed
from api.pages.forecast_shown import unit_said
from api.pages.form_answers import REFUSED, STALE, Refusal, faults_beside, version_in
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.own_evidence import (
    MOST_NAMED,
    GradeEvidence,
    MountNamed,
    SwitchState,
    grade_evidence,
    mounts_named,
    own_evidence,
    switch_own_evidence,
)
from models.errors import Fault, NotFound, Stale, UnknownWord
from models.risk.experience import FEWEST_SHOWN
from models.rules.permissions import Deed, may
from models.tables.own_evidence import EVERYTHING, scope_of
from models.tables.visible import Viewer

router = APIRouter(prefix="/own-evidence", route_class=Route)

SEE_OTHER = 303
# The drawing reaches from an eighth of the default to eight times as often, in octaves.
OCTAVES, WIDTH = 3, 240
FIELDS = ("reason",)
# Within so much of the default nobody would tell the difference.
ABOUT_AS_OFTEN = 0.05


@dataclass(frozen=True)
class BarShown:
    """The interval of a factor as a bar, its middle, and the default, in units of the drawing."""

    left: str
    width: str
    middle: str


@dataclass(frozen=True)
class GradeShown:
    """What is said of one grade; no bar and no interval under five mounts."""

    grade: str
    path: str
    sentence: str
    times: str
    state: str
    bar: BarShown | None
    mounts: int
    harmed: int
    expected: str
    often: str
    interval: str


@dataclass(frozen=True)
class MechanismShown:
    """The grades of one mechanism."""

    mechanism: str
    grades: tuple[GradeShown, ...]


@dataclass(frozen=True)
class SwitchForm:
    """The switch of one scope, as it stands and as somebody typed."""

    scope: str
    is_off: bool
    said: str
    version: int
    may_switch: bool
    typed: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class EvidencePage:
    """What templates/own_evidence/list.html is given."""

    mechanisms: tuple[MechanismShown, ...]
    fewest: int
    switch: SwitchForm


@dataclass(frozen=True)
class GradePage:
    """What templates/own_evidence/grade.html is given."""

    mechanism: str
    grade: GradeShown
    named: tuple[MountNamed, ...]
    more: str
    switch: SwitchForm


@router.get("", dependencies=[requires(Deed.READ)])
def listed(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show default beside own experience, grade by grade."""
    return show(request, "own_evidence/list.html", _page(session, viewer))


@router.get("/grade", dependencies=[requires(Deed.READ)])
def one_grade(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    of: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Show one grade with the mounts that spoke."""
    return show(request, "own_evidence/grade.html", _grade_page(session, viewer, of))


@router.post("/switch", dependencies=[requires(Deed.SWITCH_OWN_EVIDENCE)])
def switched(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Switch own evidence of a scope off or on."""
    scope, is_off = form["scope"], form["switch"] == "off"
    try:
        form.require_clean()
        switch_own_evidence(
            session,
            viewer,
            scope,
            is_off=is_off,
            reason=form["reason"],
            based_on=version_in(form),
        )
    except Stale as error:
        return _refused(request, session, viewer, form, (Fault("", error.message),), STALE)
    except Refusal as error:
        faults = faults_beside(error, FIELDS)
        return _refused(request, session, viewer, form, faults, REFUSED)
    return RedirectResponse(_path(scope), SEE_OTHER)


def _refused(
    request: Request,
    session: Session,
    viewer: Viewer,
    form: Typed,
    faults: tuple[Fault, ...],
    status: int,
) -> Response:
    scope, typed = form["scope"], form["reason"]
    if scope == EVERYTHING:
        page = _page(session, viewer)
        page = replace(page, switch=replace(page.switch, typed=typed, faults=faults))
        return show(request, "own_evidence/list.html", page, status)
    of_grade = _grade_page(session, viewer, scope)
    of_grade = replace(of_grade, switch=replace(of_grade.switch, typed=typed, faults=faults))
    return show(request, "own_evidence/grade.html", of_grade, status)


def _page(session: Session, viewer: Viewer) -> EvidencePage:
    found = own_evidence(session)
    by_mechanism = groupby(found.grades, lambda one: one.mechanism)
    return EvidencePage(
        mechanisms=tuple(
            MechanismShown(mechanism, tuple(_shown(one) for one in those))
            for mechanism, those in by_mechanism
        ),
        fewest=FEWEST_SHOWN,
        switch=_switch(found.switch, viewer),
    )


def _grade_page(session: Session, viewer: Viewer, scope: str) -> GradePage:
    try:
        evidence = grade_evidence(session, scope)
    except UnknownWord as error:
        raise NotFound("grade", scope) from error
    named = mounts_named(session, viewer, evidence.mechanism, evidence.grade)
    left_out = evidence.mounts > MOST_NAMED
    return GradePage(
        mechanism=evidence.mechanism,
        grade=_shown(evidence),
        named=named,
        more=f"Of {evidence.mounts} mounts the {MOST_NAMED} that say most." if left_out else "",
        switch=_switch(evidence.switch, viewer),
    )


def _shown(one: GradeEvidence) -> GradeShown:
    often = "" if one.factor is None else how_often(one.factor)
    return GradeShown(
        grade=one.grade,
        path=_path(scope_of(one.mechanism, one.grade)),
        sentence=said_of(one),
        times=_times(one),
        state=_state(one),
        bar=_bar(one),
        mounts=one.mounts,
        harmed=one.harmed,
        expected=f"{one.expected:.1f}",
        often=often,
        interval="" if one.low is None else f"{one.low:.1f} to {one.high:.1f}",
    )


def said_of(one: GradeEvidence) -> str:
    """Return what own mounts say of a grade, in a sentence."""
    mounts = "1 mount" if one.mounts == 1 else f"{one.mounts} mounts"
    if one.factor is None:
        verb = "speaks" if one.mounts == 1 else "speak"
        return f"{mounts} {verb} of it so far: too few to be shown."
    were = "was" if one.harmed == 1 else "were"
    return (
        f"{one.harmed} of {mounts} {were} found marked where {one.expected:.1f} were expected:"
        f" {how_often(one.factor)}; 90 % between {one.low:.1f} and {one.high:.1f} times."
    )


def how_often(factor: float) -> str:
    """Return how often harm comes against the default."""
    if abs(factor - 1) <= ABOUT_AS_OFTEN:
        return "about as often as by the default"
    return f"{factor:.1f} times as often as by the default"


def _times(one: GradeEvidence) -> str:
    default = f"Typical time by the default {one.typical:.3g} {unit_said(one.unit)}"
    if not one.in_use:
        return f"{default}, and so it is used."
    return f"{default}, as now used {one.typical_now:.3g}."


def _state(one: GradeEvidence) -> str:
    if one.switch.is_off:
        return f"Switched off: {one.switch.reason}."
    if one.factor is None:
        return ""
    if not one.in_use:
        return "Not used: all own evidence is switched off, or this waits for the next renewal."
    return "" if one.computed_on is None else f"Used as of {day(one.computed_on)}."


def _bar(one: GradeEvidence) -> BarShown | None:
    if one.factor is None or one.low is None or one.high is None:
        return None
    left, right = _across(one.low), _across(one.high)
    return BarShown(f"{left:.1f}", f"{right - left:.1f}", f"{_across(one.factor):.1f}")


def _across(factor: float) -> float:
    octaves = min(max(log2(factor), -OCTAVES), OCTAVES)
    return (octaves + OCTAVES) / (2 * OCTAVES) * WIDTH


def _switch(state: SwitchState, viewer: Viewer) -> SwitchForm:
    said = "Switched off" if state.is_off else "Switched on"
    return SwitchForm(
        scope=state.scope,
        is_off=state.is_off,
        said=f"{said}: {state.reason}" if state.version else "",
        version=state.version,
        may_switch=may(viewer.role, Deed.SWITCH_OWN_EVIDENCE),
    )


def _path(scope: str) -> str:
    if scope == EVERYTHING:
        return "/own-evidence"
    return f"/own-evidence/grade?{urlencode({'of': scope})}"
