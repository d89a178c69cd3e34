"""Owners and people through REST."""

from tests.with_app import OWNER, Browser


def test_owners_are_added_renamed_and_seen_by_whom_they_concern(
    program: Browser, owner: Browser
) -> None:
    added = program.post("/api/owners", json={"name": "The Tern House"})
    where = added.headers["location"]
    assert (added.status_code, program.get(where).json()) == (201, added.json())
    again = program.post("/api/owners", json={"name": "the tern house"})
    assert (again.status_code, again.json()["code"]) == (409, "name_taken")
    changed = program.patch(where, json={"name": "The Tern"}, headers={"If-Match": '"1"'})
    assert (changed.json()["name"], changed.headers["etag"]) == ("The Tern", '"2"')
    stale = program.patch(where, json={"name": "x"}, headers={"If-Match": '"1"'})
    assert stale.json()["theirs"] == changed.json()
    names = [one["name"] for one in program.get("/api/owners").json()["items"]]
    assert names == [OWNER, "The Tern"]
    assert [one["name"] for one in owner.get("/api/owners").json()["items"]] == [OWNER]
    assert owner.get(where).status_code == 404


def test_people_are_named_given_a_role_and_erased(program: Browser) -> None:
    added = program.post("/api/people", json={"name": "R. Imaginary"})
    where = added.headers["location"]
    person = {"id": 2, "version": 1, "role": None, "owner": None, "may_sign_in": False}
    assert (added.status_code, added.json()) == (201, person | {"name": "R. Imaginary"})
    changed = program.patch(where, json={"role": "framer"}, headers={"If-Match": '"1"'})
    assert changed.json()["role"] == "framer"
    for refused in ({}, {"reason": ""}, {"reason": "R. imaginary asked"}, {"reason": "x", "by": 1}):
        assert program.post(f"{where}/erase", json=refused).status_code == 422
    erased = program.post(f"{where}/erase", json={"reason": "asked for it"}).json()
    assert (erased["name"], erased["role"]) == ("erased person 2", None)
    undone = program.patch(where, json={"name": "x"}, headers={"If-Match": '"3"'})
    assert (undone.status_code, undone.json()["code"]) == (409, "erased")
    names = [one["name"] for one in program.get("/api/people").json()["items"]]
    assert names == ["Dot Token", "erased person 2"]


def test_the_last_keeper_is_kept(program: Browser) -> None:
    answer = program.post("/api/people/1/erase", json={"reason": "asked for it"})
    assert (answer.status_code, answer.json()["code"]) == (409, "last_keeper")


def test_framers_see_names_and_owners_do_not(framer: Browser, owner: Browser) -> None:
    assert framer.get("/api/people").status_code == 200
    assert owner.get("/api/people").status_code == 404
    token = {"X-Form-Token": framer.form_token}
    assert framer.post("/api/people", json={"name": "x"}, headers=token).status_code == 403
