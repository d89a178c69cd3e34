"""People, their roles and sign-ins, and owners."""

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from api.sign_in import is_password
from models.database import read_session
from models.tables.people import Owner, Person
from models.vocabulary import Role
from tests.with_app import OWNER, Browser

PASSWORD = "four words of chalk"


def person(engine: Engine, name: str) -> Person | None:
    with read_session(engine) as session:
        found = session.exec(select(Person).where(Person.name == name)).first()
        session.expunge_all()
        return found


def test_people_and_owners_are_listed_for_keepers_alone(
    keeper: Browser, owner: Browser, framer: Browser
) -> None:
    page = keeper.get("/people").text
    for words in ("Ada Sill", "framer", f"owner for {OWNER}"):
        assert words in page
    assert framer.get("/people").status_code == owner.get("/people").status_code == 404
    assert framer.send_form("/people/new", {"name": "X"}).status_code == 403
    assert framer.send_form("/people/1/sign-in", {"password": PASSWORD}).status_code == 403


def test_somebody_is_added_given_a_sign_in_and_lets_go_of_it_with_the_role(
    keeper: Browser, engine: Engine
) -> None:
    answer = keeper.send_form("/people/new", {"name": "R. Imaginary", "role": "framer"})
    where = answer.headers["location"]
    assert "cannot sign in yet" in keeper.get("/people").text
    short = keeper.send_form(f"{where}/sign-in", {"password": "short"})
    assert (short.status_code, "has 5 characters" in short.text) == (422, True)
    assert keeper.send_form(f"{where}/sign-in", {"password": PASSWORD}).status_code == 303
    added = person(engine, "R. Imaginary")
    assert added is not None
    assert added.may_sign_in
    assert is_password(PASSWORD, added.password_hash)
    twice = keeper.send_form(f"{where}/sign-in", {"password": PASSWORD})
    assert twice.status_code == 422
    told: dict[str, str | list[str]] = {
        "name": "R. Imaginary",
        "role": "",
        "version": str(added.version),
    }
    assert keeper.send_form(where, told).status_code == 303
    gone = person(engine, "R. Imaginary")
    assert gone is not None
    assert (gone.role, gone.may_sign_in) == (None, False)


def test_without_a_role_nobody_is_let_in(keeper: Browser, engine: Engine) -> None:
    where = keeper.send_form("/people/new", {"name": "B. Nobody"}).headers["location"]
    answer = keeper.send_form(f"{where}/sign-in", {"password": PASSWORD})
    assert (answer.status_code, "Give them a role first" in answer.text) == (422, True)


@pytest.mark.parametrize(
    ("told", "field", "said"),
    [
        ({"name": ""}, "name", "The name is missing."),
        ({"name": "ada sill"}, "name", "on record already"),
        ({"role": "king"}, "role", "is none of keeper"),
        ({"role": "owner"}, "owner", "signs in for an owner"),
    ],
)
def test_a_wrong_value_is_named_beside_its_field(
    keeper: Browser, told: dict[str, str], field: str, said: str
) -> None:
    sent: dict[str, str | list[str]] = {"name": "Somebody", "role": "framer", **told}
    answer = keeper.send_form("/people/new", sent)
    assert answer.status_code == 422
    assert said in answer.text.split(f'id="fault-{field}"')[1].split("</p>")[0]


def test_the_last_keeper_stays_a_keeper(keeper: Browser, engine: Engine) -> None:
    ada = person(engine, "Ada Sill")
    assert ada is not None
    told: dict[str, str | list[str]] = {
        "name": "Ada Sill",
        "role": "framer",
        "version": str(ada.version),
    }
    answer = keeper.send_form(f"/people/{ada.id}", told)
    assert (answer.status_code, "make another keeper first" in answer.text) == (422, True)
    erased = keeper.send_form(f"/people/{ada.id}/erase", {})
    assert (erased.status_code, "make another keeper first" in erased.text) == (422, True)


def test_whoever_was_slower_sees_what_is_there(keeper: Browser, engine: Engine) -> None:
    where = keeper.send_form("/people/new", {"name": "B. Nobody"}).headers["location"]
    for name, status in (("B. Somebody", 303), ("B. Anybody", 409)):
        answer = keeper.send_form(where, {"name": name, "version": "1"})
        assert answer.status_code == status
    assert 'data-value="B. Somebody"' in answer.text
    assert 'value="B. Anybody"' in answer.text


def test_a_name_is_erased_and_a_number_stays(keeper: Browser, framer: Browser) -> None:
    page = keeper.get("/people/2").text
    assert "It cannot be undone" in page
    without = keeper.send_form("/people/2/erase", {})
    assert (without.status_code, 'id="fault-reason"' in without.text) == (422, True)
    telling = keeper.send_form("/people/2/erase", {"reason": "Ben Rabbet asked"})
    assert "The reason tells the name that is to go." in telling.text
    assert keeper.send_form("/people/2/erase", {"reason": "asked for it"}).status_code == 303
    gone = keeper.get("/people/2").text
    assert ("A password" in gone, "It cannot be undone" in gone) == (False, False)
    page = keeper.get("/people").text
    assert ("Ben Rabbet" in page, "erased person 2" in page) == (False, True)
    assert framer.get("/works").status_code == 303


def test_owners_are_added_and_renamed(keeper: Browser, engine: Engine) -> None:
    assert keeper.send_form("/people/owners", {"owner_name": OWNER}).status_code == 303
    twice = keeper.send_form("/people/owners", {"owner_name": OWNER.upper()})
    assert (twice.status_code, OWNER.upper() in twice.text) == (422, True)
    assert f'value="{OWNER}"' in keeper.get("/people/owners/1").text
    for name, status in (("The Tern House", 303), ("The Weir", 409)):
        answer = keeper.send_form("/people/owners/1", {"name": name, "version": "1"})
        assert answer.status_code == status
    assert 'data-value="The Tern House"' in answer.text
    blank = keeper.send_form("/people/owners/1", {"name": " ", "version": "2"})
    assert (blank.status_code, "is missing" in blank.text) == (422, True)
    with read_session(engine) as session:
        assert session.exec(select(Owner.name)).all() == ["The Tern House"]


def test_no_page_of_people_holds_a_password_or_its_hash(keeper: Browser, engine: Engine) -> None:
    where = keeper.send_form("/people/new", {"name": "B. Nobody", "role": Role.FRAMER.value})
    sent = keeper.send_form(f"{where.headers['location']}/sign-in", {"password": "short"})
    assert "short" not in sent.text.split("<form")[2]
