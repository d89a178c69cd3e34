"""Which visits lie on the bench, and what is said of work, frame and back while they lie apart?

A visit that was begun is gone on with, or put away; what was put away can be taken up again
until it is cleared. Slips carry numbers only, never an owner or a value.
"""

from dataclasses import dataclass
from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import Now, ReadSession, SignedIn, Today, WriteSession, requires
from api.installation import installation_of
from api.pages.photographs_shown import PhotographShown, photograph_in_words
from api.pages.qr_shown import QrShown, qr_shown
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.drafts import KEPT_FOR, draft_of, put_draft_away, take_draft_up
from models.actions.photographs import list_of_draft, may_withdraw
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.drafts import open_drafts
from models.tables.register import get_work

router = APIRouter(prefix="/bench", route_class=Route)

SEE_OTHER = 303
# What lies apart while a work is between frames.
PARTS = ("the work", "its frame", "its old back")


@dataclass(frozen=True)
class VisitOnBench:
    """A visit that lies open, in words."""

    key: str
    work_id: int
    number: str
    title: str
    kind: str
    begun: str
    saved: str


@dataclass(frozen=True)
class OnBenchPage:
    """What templates/bench/list.html is given; `put_away` can be taken up again."""

    visits: tuple[VisitOnBench, ...]
    put_away: str
    kept_days: int = KEPT_FOR // timedelta(days=1)


@dataclass(frozen=True)
class SlipsPage:
    """What templates/bench/slips.html is given."""

    key: str
    number: str
    code: str
    address: str
    qr: QrShown
    parts: tuple[str, ...]
    on: str


@dataclass(frozen=True)
class TakenAtBench:
    """A photograph of an unfinished visit; `view` and `stage` name the button that takes it."""

    shown: PhotographShown
    view: str
    stage: str
    may_withdraw: bool


@dataclass(frozen=True)
class TakenPage:
    """What templates/visits/taken.html is given, in the order in which they were taken."""

    taken: tuple[TakenAtBench, ...]


@router.get("", dependencies=[requires(Deed.RECORD_VISIT)])
def on_bench(
    request: Request, session: ReadSession, viewer: SignedIn, put_away: str = ""
) -> Response:
    """List the visits that this person has begun. `put_away` is the one put away a moment ago."""
    local = installation_of(request).settings.local
    visits = tuple(
        VisitOnBench(
            key=one.key,
            work_id=one.work_id,
            number=one.number,
            title=one.title,
            kind=one.kind,
            begun=day(local(one.begun).date()),
            saved=f"{day(local(one.saved).date())}, {local(one.saved):%H:%M}",
        )
        for one in open_drafts(session, viewer)
    )
    return show(request, "bench/list.html", OnBenchPage(visits, put_away))


@router.post("/{key}/put-away", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_put_away(session: WriteSession, viewer: SignedIn, now: Now, key: str) -> Response:
    """Take a visit off the bench; the list offers to take it up again."""
    put_draft_away(session, viewer, key, now=now)
    return RedirectResponse(f"/bench?put_away={key}", SEE_OTHER)


@router.post("/{key}/take-up", dependencies=[requires(Deed.RECORD_VISIT)])
def visit_taken_up(session: WriteSession, viewer: SignedIn, key: str) -> Response:
    """Put a visit back on the bench."""
    take_draft_up(session, viewer, key)
    return RedirectResponse("/bench", SEE_OTHER)


@router.get("/{key}/photographs-taken", dependencies=[requires(Deed.RECORD_VISIT)])
def photographs_taken(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, key: str
) -> Response:
    """Show as a part of a page what was photographed within a visit so far."""
    on = day_number(today)
    taken = (
        TakenAtBench(
            shown=photograph_in_words(one),
            view=one.view,
            stage=one.stage or "",
            may_withdraw=may_withdraw(one, viewer, today=on),
        )
        for one in reversed(list_of_draft(session, viewer, key))
    )
    return show(request, "visits/taken.html", TakenPage(tuple(taken)))


@router.get("/{key}/slips", dependencies=[requires(Deed.RECORD_VISIT)])
def slips(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, key: str
) -> Response:
    """Show three slips to print, for what lies apart until it is closed again."""
    work = get_work(session, viewer, draft_of(session, viewer, key).work_id)
    address = f"{installation_of(request).settings.public_address}/w/{work.code}"
    page = SlipsPage(key, work.number, work.code, address, qr_shown(address), PARTS, day(today))
    return show(request, "bench/slips.html", page)
