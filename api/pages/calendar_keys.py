"""The keys to one's own calendar of what is due: made, shown once, ended."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed
from api.pages.form_answers import REFUSED, Refusal, faults_beside
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.calendar_feed import add_feed_key, end_feed_key, feed_keys
from models.errors import Fault
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.feeds import FeedKey

router = APIRouter(prefix="/due/calendar", route_class=Route)

SEE_OTHER = 303


@dataclass(frozen=True)
class CalendarPage:
    """What templates/due/calendar.html is given; `address` is that of a key just made."""

    keys: Sequence[FeedKey]
    address: str = ""
    name: str = ""
    faults: tuple[Fault, ...] = ()


@router.get("", dependencies=[requires(Deed.READ)])
def listed(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show the keys to one's own calendar."""
    return show(request, "due/calendar.html", CalendarPage(feed_keys(session, viewer)))


@router.post("", dependencies=[requires(Deed.READ)])
def made(
    request: Request, session: WriteSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Make a key and show its address, this once."""
    name = form["name"]
    try:
        form.require_clean()
        _, secret = add_feed_key(session, viewer, name, today=day_number(today))
    except Refusal as error:
        faults = tuple(Fault("/name", fault.message) for fault in faults_beside(error, ()))
        page = CalendarPage(feed_keys(session, viewer), name=name, faults=faults)
        return show(request, "due/calendar.html", page, REFUSED)
    address = str(request.url.replace(path="/api/due.ics", query=f"key={secret}"))
    page = CalendarPage(feed_keys(session, viewer), address=address)
    return show(request, "due/calendar.html", page)


@router.post("/{key_id:int}/end", dependencies=[requires(Deed.READ)])
def ended(session: WriteSession, viewer: SignedIn, key_id: PathId) -> Response:
    """Close the calendar to a key."""
    end_feed_key(session, viewer, key_id)
    return RedirectResponse("/due/calendar", SEE_OTHER)
