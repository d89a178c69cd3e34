"""What the house has set, what a change would move, and the change, as programs see it."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import Field

from api.dependencies import Now, ReadSession, SignedIn, Today, WriteSession, requires
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import LONGEST_LIST, Figure, In, Name, Note, Out
from api.rest.stale_states import shown_when_stale
from api.routes import Route
from models.actions.policy import (
    FigureOnRecord,
    FigureTold,
    PolicyChange,
    PolicyOnRecord,
    SettingOnRecord,
    Touched,
    change_policy,
    preview_policy,
    read_policy,
)
from models.rules.calendar_days import day_date, day_number
from models.rules.permissions import Deed
from models.vocabulary import Mechanism

router = APIRouter(prefix="/api/policy", tags=["policy"], route_class=Route)


class LastSetOut(Out):
    """Who last changed it, when and why."""

    by: str | None
    at: datetime
    reason: str


class SettingOut(Out):
    """One setting in its unit, the shipped one beside it."""

    name: str
    label: str
    unit: str
    lowest: float
    highest: float
    whole: bool
    basis: str
    value: float
    shipped: float
    touched: LastSetOut | None


class FigureOut(Out):
    """The typical time to harm of a mechanism and grade, the shipped figures beside it."""

    mechanism: Mechanism
    grade: str
    unit: str
    clock: str
    median: float | None
    shape: float | None
    severity: float
    basis: str
    shipped_median: float | None
    shipped_shape: float | None
    shipped_severity: float
    shipped_basis: str
    touched: LastSetOut | None


class PolicyOut(Out):
    """All that can be set. `marked`: works whose forecasts are still being worked out anew."""

    version: int
    settings: list[SettingOut]
    figures: list[FigureOut]
    marked: int = 0


class FigureIn(In):
    """A keeper's figures for a mechanism and grade; what is null or left out is as shipped."""

    mechanism: Mechanism
    grade: Name
    median: Figure | None = None
    shape: Figure | None = None
    severity: Figure | None = None
    basis: Note = ""


Settings = Annotated[Mapping[Name, Figure | None], Field(max_length=LONGEST_LIST)]


class PolicyIn(In):
    """What is to be set; a setting that is null goes back to the shipped one."""

    settings: Settings = Field(default_factory=dict)
    figures: list[FigureIn] = Field(default_factory=list, max_length=LONGEST_LIST)

    def told(self) -> PolicyChange:
        """Return the change as the action takes it."""
        return PolicyChange(
            settings=dict(self.settings),
            figures={
                (one.mechanism, one.grade): FigureTold(
                    median=one.median, shape=one.shape, severity=one.severity, basis=one.basis
                )
                for one in self.figures
            },
        )


class PolicyChangeIn(PolicyIn):
    """The same, with the reason."""

    reason: Name


class MovedOut(Out):
    """The day on which something is due for a work, as it is and as it would be."""

    work_id: int
    number: str
    title: str
    before: date | None
    after: date | None


class PreviewOut(Out):
    """How the days would move. Of a large house an even share is `compared`."""

    works: int
    compared: int
    moved: int
    earlier: int
    later: int
    begun: int
    ended: int
    median_days: float | None
    largest_days: int | None
    become_due: int
    cease_to_be_due: int
    examples: list[MovedOut]


def policy_out(policy: PolicyOnRecord, marked: int = 0) -> PolicyOut:
    """Return the policy as it is sent."""
    return PolicyOut(
        version=policy.version,
        settings=[_setting_out(one) for one in policy.settings],
        figures=[_figure_out(one) for one in policy.figures],
        marked=marked,
    )


def _setting_out(one: SettingOnRecord) -> SettingOut:
    told = one.setting
    return SettingOut(
        name=told.name,
        label=told.label,
        unit=told.unit,
        lowest=told.lowest,
        highest=told.highest,
        whole=told.whole,
        basis=told.basis,
        value=one.value,
        shipped=one.shipped,
        touched=_touched_out(one.touched),
    )


def _figure_out(one: FigureOnRecord) -> FigureOut:
    return FigureOut(
        mechanism=one.figure.mechanism,
        grade=one.figure.grade,
        unit=one.figure.unit,
        clock=one.figure.clock.value,
        median=one.figure.median,
        shape=one.figure.shape,
        severity=one.figure.severity,
        basis=one.figure.basis,
        shipped_median=one.shipped.median,
        shipped_shape=one.shipped.shape,
        shipped_severity=one.shipped.severity,
        shipped_basis=one.shipped.basis,
        touched=_touched_out(one.touched),
    )


def _touched_out(touched: Touched | None) -> LastSetOut | None:
    return None if touched is None else LastSetOut(**vars(touched))


@router.get("", dependencies=[requires(Deed.READ)])
def read(session: ReadSession, viewer: SignedIn, response: Response) -> PolicyOut:
    """Read what the house has set, the shipped figures beside it."""
    policy = read_policy(session, viewer)
    set_etag(response, policy.version)
    return policy_out(policy)


@router.post("/preview", dependencies=[requires(Deed.SET_POLICY)])
def preview(session: ReadSession, viewer: SignedIn, today: Today, told: PolicyIn) -> PreviewOut:
    """Say how many dates a change would move and by how much; nothing is kept."""
    seen = preview_policy(session, viewer, told.told(), today=day_number(today))
    examples = [
        MovedOut(
            work_id=one.work_id,
            number=one.number,
            title=one.title,
            before=None if one.before is None else day_date(one.before),
            after=None if one.after is None else day_date(one.after),
        )
        for one in seen.examples
    ]
    return PreviewOut(moved=seen.moved, **{**vars(seen), "examples": examples})


@router.patch("", dependencies=[requires(Deed.SET_POLICY)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    now: Now,
    seen: VersionSeen,
    told: PolicyChangeIn,
    response: Response,
) -> PolicyOut:
    """Set what is told, with the reason; every forecast follows."""
    with shown_when_stale(policy_out):
        marked = change_policy(
            session,
            viewer,
            told.told(),
            reason=told.reason,
            based_on=seen,
            today=day_number(today),
            now=now,
        )
    policy = read_policy(session, viewer)
    set_etag(response, policy.version)
    return policy_out(policy, marked)
