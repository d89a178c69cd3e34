"""Which findings of a work wait for a person to say their cause, and the word said?

What is suggested is taken with one tap, or another cause is named, or it is said that
the cause cannot be told. It stands on the page of the work; a refusal has a page of
its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response

from api.dependencies import SignedIn, Today, WriteSession, requires
from api.forms import Typed
from api.pages.form_answers import Answers, one_of, version_in
from api.pages.path_ids import PathId
from api.routes import Route
from models.actions.finding_corrections import confirm_cause
from models.actions.suggested_causes import CauseToConfirm
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.tables.visible import Viewer
from models.vocabulary import CauseMount, Mechanism

router = APIRouter(prefix="/works/{work_id:int}/findings", route_class=Route)

SEE_OTHER = 303


@dataclass(frozen=True)
class CausesShown:
    """What templates/works/_causes.html is given."""

    waiting: tuple[CauseToConfirm, ...]
    may_confirm: bool
    mechanisms: tuple[str, ...] = tuple(Mechanism)
    mounts: tuple[str, ...] = tuple(CauseMount)


def causes_shown(viewer: Viewer, waiting: Sequence[CauseToConfirm]) -> CausesShown:
    """Return what waits, and whether this person may say it."""
    return CausesShown(tuple(waiting), may(viewer.role, Deed.RECORD_VISIT))


@router.post("/{finding_id:int}/cause", dependencies=[requires(Deed.RECORD_VISIT)])
def confirmed(
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    work_id: PathId,
    finding_id: PathId,
    form: Typed,
) -> Response:
    """Keep what a person says caused a finding."""
    answers = Answers(form)
    mechanism = answers.read("mechanism", one_of(Mechanism))
    mount = answers.read("mount", one_of(CauseMount)) or CauseMount.CANNOT_TELL
    answers.refuse()
    confirm_cause(
        session,
        viewer,
        finding_id,
        mechanism=mechanism,
        mount=mount,
        based_on=version_in(form),
        today=day_number(today),
    )
    return RedirectResponse(f"/works/{work_id}#causes", SEE_OTHER)
