"""Which findings of a work wait for a person to say their cause, and the word said?

What is suggested is taken with one tap, of all findings of which it is the same or of each;
or another cause is named, or it is said that the cause cannot be told. It stands on the
page of the work; a refusal has a page of its own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from fastapi import APIRouter
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import Answers, is_key, one_of, version_in
from api.pages.path_ids import PathId
from api.routes import Route
from models.actions.finding_corrections import confirm_causes
from models.actions.suggested_causes import CauseToConfirm
from models.errors import BadValue
from models.rules.attribution import SuggestedCause
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, may
from models.tables.visible import Viewer
from models.vocabulary import CauseMount, Mechanism

router = APIRouter(prefix="/works/{work_id:int}/findings", route_class=Route)

SEE_OTHER = 303


@dataclass(frozen=True)
class SameCause:
    """Findings of which the same is suggested: of several it is taken with one tap as well."""

    cause: SuggestedCause
    findings: tuple[CauseToConfirm, ...]


@dataclass(frozen=True)
class CausesShown:
    """What templates/works/_causes.html is given: by what is suggested, as first found."""

    waiting: tuple[SameCause, ...]
    may_confirm: bool
    mechanisms: tuple[str, ...] = tuple(Mechanism)
    mounts: tuple[str, ...] = tuple(CauseMount)


def causes_shown(viewer: Viewer, waiting: Sequence[CauseToConfirm]) -> CausesShown:
    """Return what waits, and whether this person may say it."""
    alike: dict[SuggestedCause, list[CauseToConfirm]] = {}
    for one in waiting:
        alike.setdefault(one.cause, []).append(one)
    same = tuple(SameCause(cause, tuple(findings)) for cause, findings in alike.items())
    return CausesShown(same, may(viewer.role, Deed.RECORD_VISIT))


@router.post("/causes", dependencies=[requires(Deed.RECORD_VISIT)])
def confirmed_of_several(
    session: WriteSession, viewer: SignedIn, today: Today, work_id: PathId, form: Typed
) -> Response:
    """Keep the same cause of several findings, each sent as "finding:version"."""
    read = dict(text.split(":", 1) for text in form.all("finding") if ":" in text)
    if not read or not all(is_key(part) for pair in read.items() for part in pair):
        raise BadValue.at("/finding", "No finding was named.", "Go back and press the button.")
    versions = {int(finding): int(version) for finding, version in read.items()}
    return _keep(session, viewer, form, versions, work_id, day_number(today))


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
    versions = {finding_id: version_in(form)}
    return _keep(session, viewer, form, versions, work_id, day_number(today))


def _keep(
    session: Session,
    viewer: Viewer,
    form: TypedForm,
    versions: Mapping[int, int],
    work_id: int,
    today: int,
) -> Response:
    answers = Answers(form)
    mechanism = answers.read("mechanism", one_of(Mechanism))
    mount = answers.read("mount", one_of(CauseMount)) or CauseMount.CANNOT_TELL
    answers.refuse()
    confirm_causes(session, viewer, versions, mechanism=mechanism, mount=mount, today=today)
    return RedirectResponse(f"/works/{work_id}#causes", SEE_OTHER)
