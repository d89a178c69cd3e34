"""What the house's own mounts say beside the default figures, and whether it is used."""

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import In, Name, Out
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.own_evidence import (
    GradeEvidence,
    SwitchState,
    grade_evidence,
    mounts_named,
    own_evidence,
    switch_own_evidence,
)
from models.rules.calendar_days import day_date
from models.rules.permissions import Deed
from models.vocabulary import Found, Mechanism, Shown

router = APIRouter(prefix="/api/own-evidence", tags=["own evidence"], route_class=Route)


# "mechanism/grade".
ScopeAsked = Annotated[str, Query(min_length=1, max_length=500)]


class SwitchOut(Out):
    """Whether own evidence of a scope is switched off, and why; version 0: never touched."""

    scope: str
    is_off: bool
    reason: str
    version: int


class GradeEvidenceOut(Out):
    """One mechanism and grade. Typical times in `unit`; no factor under five mounts."""

    mechanism: Mechanism
    grade: str
    unit: str
    typical: float
    typical_now: float
    mounts: int
    harmed: int
    expected: float
    factor: float | None
    low: float | None
    high: float | None
    in_use: bool
    since: date | None
    switch: SwitchOut


class OwnEvidenceOut(Out):
    """The evidence of every grade that a mount speaks of, and the switch for all of it."""

    switch: SwitchOut
    items: list[GradeEvidenceOut]


class MountNamedOut(Out):
    """A mount that spoke, by its work; `hazard` is that of the default figure, 2 at most."""

    work: int
    number: str
    place: Shown
    found: Found
    hazard: float


class MountsNamedOut(Out):
    """The mounts that say most of a grade, harm first, of works this person may see."""

    mounts: int
    items: list[MountNamedOut]


class SwitchChange(In):
    """Off or on, for a reason: of `everything`, or of one "mechanism/grade"."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "scope": "acid migration/groundwood board",
                    "is_off": True,
                    "reason": "All from three albums of one maker",
                }
            ]
        }
    )

    scope: Name
    is_off: bool
    reason: Name


@router.get("", dependencies=[requires(Deed.READ)])
def all_evidence(session: ReadSession) -> OwnEvidenceOut:
    """Tell default and own experience of every grade."""
    found = own_evidence(session)
    return OwnEvidenceOut(
        switch=_switch_out(found.switch), items=[_grade_out(one) for one in found.grades]
    )


@router.get("/mounts", dependencies=[requires(Deed.READ)])
def those_that_spoke(session: ReadSession, viewer: SignedIn, scope: ScopeAsked) -> MountsNamedOut:
    """Name the mounts that spoke of one "mechanism/grade"."""
    grade = grade_evidence(session, scope)
    named = mounts_named(session, viewer, grade.mechanism, grade.grade)
    items = [
        MountNamedOut(
            work=one.work_id,
            number=one.number,
            place=one.place,
            found=one.found,
            hazard=one.hazard,
        )
        for one in named
    ]
    return MountsNamedOut(mounts=grade.mounts, items=items)


@router.patch("", dependencies=[requires(Deed.SWITCH_OWN_EVIDENCE)])
def switched(
    session: WriteSession,
    viewer: SignedIn,
    seen: VersionSeen,
    told: SwitchChange,
    response: Response,
) -> SwitchOut:
    """Switch own evidence off or on; it counts from the next renewal on."""
    with shown_when_stale(_switch_out):
        state = switch_own_evidence(
            session,
            viewer,
            told.scope,
            is_off=told.is_off,
            reason=told.reason,
            based_on=seen,
        )
    set_etag(response, state.version)
    return _switch_out(state)


def _grade_out(one: GradeEvidence) -> GradeEvidenceOut:
    return GradeEvidenceOut(
        mechanism=one.mechanism,
        grade=one.grade,
        unit=one.unit,
        typical=one.typical,
        typical_now=one.typical_now,
        mounts=one.mounts,
        harmed=one.harmed,
        expected=one.expected,
        factor=one.factor,
        low=one.low,
        high=one.high,
        in_use=one.in_use,
        since=None if one.computed_on is None else day_date(one.computed_on),
        switch=_switch_out(one.switch),
    )


def _switch_out(state: SwitchState) -> SwitchOut:
    return SwitchOut(
        scope=state.scope, is_off=state.is_off, reason=state.reason, version=state.version
    )
