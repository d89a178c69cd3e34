"""Where do reminders go, and do they arrive? For keepers."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import Database, Here, Now, ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import REFUSED, Answers, Refusal, faults_beside, one_of, typed_in, whole
from api.pages.path_ids import PathId
from api.routes import Route
from api.templating import show
from models.actions.reminders import (
    EVERY_DAYS,
    TargetShown,
    TargetTold,
    add_target,
    end_target,
    list_targets,
    send_test,
)
from models.database import read_session
from models.errors import Fault
from models.exchange.reminder_sending import NotSent
from models.rules.permissions import Deed
from models.rules.reminder_text import AHEAD_DAYS, SHORTEST_SECRET
from models.tables.visible import Viewer
from models.vocabulary import ReminderWay

router = APIRouter(prefix="/reminders", route_class=Route)

SEE_OTHER = 303
FIELDS = ("way", "address", "secret", "every_days")
ARRIVED = "The test arrived."


@dataclass(frozen=True)
class RemindersPage:
    """What templates/reminders/list.html is given; `tested` is the target of a test, 0 for none."""

    targets: tuple[TargetShown, ...]
    typed: Mapping[str, str]
    has_mail_server: bool
    ways: tuple[str, ...] = tuple(ReminderWay)
    ahead_days: int = AHEAD_DAYS
    shortest_secret: int = SHORTEST_SECRET
    tested: int = 0
    test_said: str = ""
    faults: tuple[Fault, ...] = ()


@router.get("", dependencies=[requires(Deed.KEEP_REMINDERS)])
def listed(request: Request, session: ReadSession, viewer: SignedIn, here: Here) -> Response:
    """Show where reminders go."""
    has_server = here.settings.mail_server is not None
    return show(request, "reminders/list.html", _page(session, viewer, has_server=has_server))


@router.post("", dependencies=[requires(Deed.KEEP_REMINDERS)])
def added(
    request: Request, session: WriteSession, viewer: SignedIn, here: Here, form: Typed
) -> Response:
    """Keep where reminders are to go."""
    page = _page(session, viewer, has_server=here.settings.mail_server is not None)
    try:
        add_target(session, viewer, _told(form))
    except Refusal as error:
        # What was typed comes back, but never a secret.
        typed = {**typed_in(form, FIELDS), "secret": ""}
        refused = replace(page, typed=typed, faults=faults_beside(error, FIELDS))
        return show(request, "reminders/list.html", refused, REFUSED)
    return RedirectResponse("/reminders", SEE_OTHER)


@router.post("/{reminder_id:int}/end", dependencies=[requires(Deed.KEEP_REMINDERS)])
def ended(session: WriteSession, viewer: SignedIn, reminder_id: PathId) -> Response:
    """Send no more there."""
    end_target(session, viewer, reminder_id)
    return RedirectResponse("/reminders", SEE_OTHER)


@router.post("/{reminder_id:int}/test", dependencies=[requires(Deed.KEEP_REMINDERS)])
def tested(
    request: Request,
    engine: Database,
    here: Here,
    viewer: SignedIn,
    now: Now,
    reminder_id: PathId,
) -> Response:
    """Send a test there, and say on the page whether it arrived."""
    said = ARRIVED
    try:
        send_test(engine, viewer, reminder_id, here.senders(), now=now)
    except NotSent as error:
        said = f"The test did not arrive. {error.message}"
    with read_session(engine) as session:
        page = _page(session, viewer, has_server=here.settings.mail_server is not None)
    return show(request, "reminders/list.html", replace(page, tested=reminder_id, test_said=said))


def _page(session: Session, viewer: Viewer, *, has_server: bool) -> RemindersPage:
    return RemindersPage(
        targets=list_targets(session, viewer),
        typed={**dict.fromkeys(FIELDS, ""), "every_days": str(EVERY_DAYS)},
        has_mail_server=has_server,
    )


def _told(form: TypedForm) -> TargetTold:
    """Return what a form says. Raises BadValue with every fault of its texts."""
    answers = Answers(form)
    told = TargetTold(
        way=answers.needed("way", one_of(ReminderWay), ReminderWay.E_MAIL),
        address=answers.text("address"),
        secret=form["secret"],
        every_days=answers.needed("every_days", whole, EVERY_DAYS),
    )
    answers.refuse()
    return told
