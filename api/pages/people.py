"""Who is on record, who may sign in as what, and whom do works belong to?

For keepers. A sign-in is a role and a password; erasing a name leaves a number in its
place, and what that person did stays on record. Tokens for programs are made at the
command line: a page that is kept for a repeat must not hold a secret.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import (
    Database,
    Now,
    ReadSession,
    SignedIn,
    WriteSession,
    requires,
)
from api.forms import Typed, TypedForm
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    faults_beside,
    one_of,
    typed_in,
    version_in,
)
from api.pages.path_ids import PathId
from api.routes import Route
from api.sign_in import hash_password
from api.templating import show
from models.actions.change_log import recording
from models.actions.owners import OwnerTold, add_owner, change_owner, list_owners, read_owner
from models.actions.people import (
    PersonOnRecord,
    PersonTold,
    add_person,
    change_person,
    erase_name,
    list_people,
    read_person,
)
from models.actions.record_changes import key_of
from models.actions.sign_in_people import SHORTEST_PASSWORD, add_sign_in, check_new_sign_in
from models.database import read_session
from models.errors import BadValue, Fault, Stale
from models.rules.permissions import Deed
from models.tables.visible import Viewer
from models.vocabulary import Role

router = APIRouter(prefix="/people", route_class=Route)

SEE_OTHER = 303
FIELDS = ("name", "role", "owner")
LABELS = {"name": "name", "role": "role", "owner": "signs in for"}
CODES = {"name_taken": "name", "last_keeper": "role"}


@dataclass(frozen=True)
class OwnerShown:
    """An owner in the list."""

    id: int
    name: str


@dataclass(frozen=True)
class PeoplePage:
    """What templates/people/list.html is given."""

    people: tuple[PersonOnRecord, ...]
    owners: tuple[OwnerShown, ...]
    owner_name: str = ""
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class PersonPage:
    """What templates/people/person.html is given; without `person` somebody is added."""

    person: PersonOnRecord | None
    version: int
    typed: Mapping[str, str]
    owners: tuple[str, ...]
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()
    roles: tuple[str, ...] = tuple(Role)
    reason: str = ""
    shortest_password: int = SHORTEST_PASSWORD


@dataclass(frozen=True)
class OwnerPage:
    """What templates/people/owner.html is given."""

    owner_id: int
    version: int
    name: str
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@router.get("", dependencies=[requires(Deed.KEEP_PEOPLE)])
def listed(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show people and owners."""
    return show(request, "people/list.html", _people_page(session, viewer))


@router.post("/owners", dependencies=[requires(Deed.KEEP_OWNERS)])
def owner_added(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Add an owner."""
    page = _people_page(session, viewer)
    try:
        form.require_clean()
        add_owner(session, viewer, OwnerTold(name=form["owner_name"]))
    except Refusal as error:
        refused = replace(
            page, owner_name=form["owner_name"], faults=(Fault("/owner_name", error.message),)
        )
        return show(request, "people/list.html", refused, REFUSED)
    return RedirectResponse("/people#owners", SEE_OTHER)


@router.get("/owners/{owner_id:int}", dependencies=[requires(Deed.KEEP_OWNERS)])
def owner_page(
    request: Request, session: ReadSession, viewer: SignedIn, owner_id: PathId
) -> Response:
    """Show the name of an owner, to be changed."""
    owner = read_owner(session, viewer, owner_id)
    return show(request, "people/owner.html", OwnerPage(owner_id, owner.version, owner.name))


@router.post("/owners/{owner_id:int}", dependencies=[requires(Deed.KEEP_OWNERS)])
def owner_changed(
    request: Request, session: WriteSession, viewer: SignedIn, owner_id: PathId, form: Typed
) -> Response:
    """Give an owner another name."""
    owner = read_owner(session, viewer, owner_id)
    seen = version_in(form)
    try:
        form.require_clean()
        change_owner(session, viewer, owner_id, {"name": form["name"]}, based_on=seen)
    except Stale as error:
        page = OwnerPage(
            owner_id,
            owner.version,
            form["name"],
            (Fault("", error.message),),
            differences({"name": "name"}, {"name": form["name"]}, {"name": owner.name}),
        )
        return show(request, "people/owner.html", page, STALE)
    except Refusal as error:
        faults = faults_beside(error, ("name",), CODES)
        page = OwnerPage(owner_id, seen, form["name"], faults)
        return show(request, "people/owner.html", page, REFUSED)
    return RedirectResponse("/people#owners", SEE_OTHER)


@router.get("/new", dependencies=[requires(Deed.KEEP_PEOPLE)])
def new_page(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Ask who it is."""
    typed = dict.fromkeys(FIELDS, "")
    return show(request, "people/person.html", _person_page(session, viewer, typed))


@router.post("/new", dependencies=[requires(Deed.KEEP_PEOPLE)])
def new_sent(request: Request, session: WriteSession, viewer: SignedIn, form: Typed) -> Response:
    """Add somebody; a sign-in is given apart."""
    page = _person_page(session, viewer, typed_in(form, FIELDS))
    try:
        person = add_person(session, viewer, _told(form))
    except Refusal as error:
        refused = replace(page, faults=faults_beside(error, FIELDS, CODES))
        return show(request, "people/person.html", refused, REFUSED)
    return RedirectResponse(f"/people/{person.id}", SEE_OTHER)


@router.get("/{person_id:int}", dependencies=[requires(Deed.KEEP_PEOPLE)])
def person_page(
    request: Request, session: ReadSession, viewer: SignedIn, person_id: PathId
) -> Response:
    """Show somebody, to be changed, let in or erased."""
    person = read_person(session, viewer, person_id)
    page = _person_page(session, viewer, _typed(person.told), person)
    return show(request, "people/person.html", page)


@router.post("/{person_id:int}", dependencies=[requires(Deed.KEEP_PEOPLE)])
def person_changed(
    request: Request, session: WriteSession, viewer: SignedIn, person_id: PathId, form: Typed
) -> Response:
    """Change a name, a role or whom somebody signs in for."""
    person = read_person(session, viewer, person_id)
    typed = typed_in(form, FIELDS)
    page = _person_page(session, viewer, typed, person)
    seen = version_in(form)
    try:
        change_person(session, viewer, person_id, dict(vars(_told(form))), based_on=seen)
    except Stale as error:
        quicker = replace(
            page,
            faults=(Fault("", error.message),),
            differences=differences(LABELS, typed, _typed(person.told)),
        )
        return show(request, "people/person.html", quicker, STALE)
    except Refusal as error:
        faults = faults_beside(error, FIELDS, CODES)
        refused = replace(page, version=seen, faults=faults)
        return show(request, "people/person.html", refused, REFUSED)
    return RedirectResponse("/people", SEE_OTHER)


@router.post("/{person_id:int}/sign-in", dependencies=[requires(Deed.KEEP_PEOPLE)])
def let_in(
    request: Request, engine: Database, viewer: SignedIn, now: Now, person_id: PathId, form: Typed
) -> Response:
    """Give somebody a password. It is hashed before the database is held, for that is slow."""
    with read_session(engine) as session:
        person = read_person(session, viewer, person_id)
        page = _person_page(session, viewer, _typed(person.told), person)
    try:
        form.require_clean()
        role = _role_of(person)
        check_new_sign_in(person.told.name, form["password"])
        password_hash = hash_password(form["password"])
        with recording(engine, actor=f"person:{viewer.person_id}", now=now) as session:
            add_sign_in(
                session,
                name=person.told.name,
                role=role,
                password_hash=password_hash,
                owner=person.told.owner,
            )
    except Refusal as error:
        faults = faults_beside(error, ("password",), {"name_taken": "password"})
        refused = replace(page, faults=faults)
        return show(request, "people/person.html", refused, REFUSED)
    return RedirectResponse("/people", SEE_OTHER)


@router.post("/{person_id:int}/erase", dependencies=[requires(Deed.ERASE_NAME)])
def erased(
    request: Request, session: WriteSession, viewer: SignedIn, person_id: PathId, form: Typed
) -> Response:
    """Put a number in the place of a name."""
    person = read_person(session, viewer, person_id)
    page = _person_page(session, viewer, _typed(person.told), person)
    try:
        form.require_clean()
        erase_name(session, viewer, person_id, form["reason"])
    except Refusal as error:
        refused = replace(page, reason=form["reason"], faults=faults_beside(error, ("reason",)))
        return show(request, "people/person.html", refused, REFUSED)
    return RedirectResponse("/people", SEE_OTHER)


def _people_page(session: Session, viewer: Viewer) -> PeoplePage:
    return PeoplePage(
        people=tuple(list_people(session, viewer)),
        owners=tuple(OwnerShown(key_of(one), one.name) for one in list_owners(session, viewer)),
    )


def _person_page(
    session: Session,
    viewer: Viewer,
    typed: Mapping[str, str],
    person: PersonOnRecord | None = None,
) -> PersonPage:
    return PersonPage(
        person=person,
        version=0 if person is None else person.version,
        typed=typed,
        owners=tuple(owner.name for owner in list_owners(session, viewer)),
    )


def _typed(told: PersonTold) -> dict[str, str]:
    return {"name": told.name, "role": told.role or "", "owner": told.owner or ""}


def _told(form: TypedForm) -> PersonTold:
    answers = Answers(form)
    role = answers.read("role", one_of(Role))
    answers.refuse()
    return PersonTold(name=answers.text("name"), role=role, owner=answers.if_typed("owner"))


def _role_of(person: PersonOnRecord) -> Role:
    if person.told.role is None:
        message = "Give them a role first: it says what they may do."
        raise BadValue.at("/password", message)
    return person.told.role
