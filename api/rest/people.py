"""People: who is named in records, and who may sign in as what."""

from fastapi import APIRouter
from fastapi.responses import Response
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, WriteSession, requires
from api.rest.cursors import after_number
from api.rest.if_match import VersionSeen, set_etag
from api.rest.shapes import In, Name, Out, Page, PagingAsked, PathId
from api.rest.stale_states import shown_when_stale
from api.rest.works import ReasonIn
from api.routes import Route
from models.actions.people import (
    PersonOnRecord,
    PersonTold,
    add_person,
    change_person,
    erase_name,
    list_people,
    read_person,
)
from models.rules.permissions import Deed
from models.vocabulary import Role

router = APIRouter(prefix="/api/people", tags=["people"], route_class=Route)


class PersonIn(In):
    """Somebody who can be named; a password is given apart, by command."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"name": "R. Imaginary"},
                {"name": "A. Steward", "role": "owner", "owner": "The Gannet House"},
            ]
        }
    )

    name: Name
    role: Role | None = None
    owner: Name | None = None


class PersonChange(In):
    """A merge patch: what is absent stays; a role of null takes the sign-in."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"role": "keeper"}]})

    name: Name | None = None
    role: Role | None = None
    owner: Name | None = None


class PersonOut(Out):
    """Somebody on record."""

    id: int
    version: int
    name: str
    role: Role | None
    owner: str | None
    may_sign_in: bool


def person_out(person: PersonOnRecord) -> PersonOut:
    """Return somebody as they are sent."""
    return PersonOut(
        id=person.id,
        version=person.version,
        may_sign_in=person.may_sign_in,
        **vars(person.told),
    )


@router.post("", status_code=201, dependencies=[requires(Deed.KEEP_PEOPLE)])
def add(session: WriteSession, viewer: SignedIn, told: PersonIn, response: Response) -> PersonOut:
    """Add somebody who can be named in records."""
    person = add_person(session, viewer, PersonTold(**dict(told)))
    response.headers["Location"] = f"/api/people/{person.id}"
    set_etag(response, person.version)
    return person_out(person)


@router.get("", dependencies=[requires(Deed.SEE_ALL_WORKS)])
def listed(session: ReadSession, viewer: SignedIn, paging: PagingAsked) -> Page[PersonOut]:
    """List everybody, as they were added."""
    after = after_number(paging) or 0
    people = sorted(list_people(session, viewer), key=lambda person: person.id)
    rest = [person for person in people if person.id > after]
    return paging.page(rest, lambda person: (person.id,), person_out)


@router.get("/{person_id}", dependencies=[requires(Deed.SEE_ALL_WORKS)])
def one(session: ReadSession, viewer: SignedIn, person_id: PathId, response: Response) -> PersonOut:
    """Read one person."""
    person = read_person(session, viewer, person_id)
    set_etag(response, person.version)
    return person_out(person)


@router.patch("/{person_id}", dependencies=[requires(Deed.KEEP_PEOPLE)])
def change(
    session: WriteSession,
    viewer: SignedIn,
    person_id: PathId,
    seen: VersionSeen,
    told: PersonChange,
    response: Response,
) -> PersonOut:
    """Change a name, a role, or whom somebody signs in for."""
    changes = told.model_dump(exclude_unset=True)
    with shown_when_stale(person_out):
        person = change_person(session, viewer, person_id, changes, based_on=seen)
    set_etag(response, person.version)
    return person_out(person)


@router.post("/{person_id}/erase", dependencies=[requires(Deed.ERASE_NAME)])
def erase(session: WriteSession, viewer: SignedIn, person_id: PathId, why: ReasonIn) -> PersonOut:
    """Put a number in the place of a name, and end every sign-in; the reason tells no name."""
    return person_out(erase_name(session, viewer, person_id, why.reason))
