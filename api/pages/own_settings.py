"""How does somebody like to read: light or dark, in millimetres alone or with inches beside?"""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.forms import Typed
from api.pages.form_answers import REFUSED, Answers, Refusal, faults_beside, one_of
from api.routes import Route
from api.templating import show
from models.actions.own_settings import choose_own_settings
from models.errors import Fault
from models.rules.permissions import Deed
from models.tables.own_settings import own_setting
from models.vocabulary import Lengths, Scheme

router = APIRouter(prefix="/settings", route_class=Route)

SEE_OTHER = 303
FIELDS = ("scheme", "lengths")


@dataclass(frozen=True)
class SettingsPage:
    """What templates/settings/settings.html is given."""

    scheme: str
    lengths: str
    is_kept: bool
    faults: tuple[Fault, ...] = ()
    schemes: tuple[str, ...] = tuple(Scheme)
    all_lengths: tuple[str, ...] = tuple(Lengths)


@router.get("", dependencies=[requires(Deed.READ)])
def settings_page(
    request: Request, session: ReadSession, viewer: SignedIn, kept: str = ""
) -> Response:
    """Show what somebody chose for themselves."""
    row = own_setting(session, viewer.person_id)
    scheme, lengths = (row.scheme, row.lengths) if row else (Scheme.SYSTEM, Lengths.METRIC)
    return show(request, "settings/settings.html", SettingsPage(scheme, lengths, kept == "yes"))


@router.post("", dependencies=[requires(Deed.READ)])
def settings_sent(
    request: Request, session: WriteSession, viewer: SignedIn, form: Typed
) -> Response:
    """Keep it."""
    answers = Answers(form)
    scheme = answers.needed("scheme", one_of(Scheme), Scheme.SYSTEM)
    lengths = answers.needed("lengths", one_of(Lengths), Lengths.METRIC)
    try:
        answers.refuse()
        choose_own_settings(session, viewer, scheme=scheme, lengths=lengths)
    except Refusal as error:
        page = SettingsPage(scheme, lengths, False, faults_beside(error, FIELDS))
        return show(request, "settings/settings.html", page, REFUSED)
    return RedirectResponse("/settings?kept=yes", SEE_OTHER)
