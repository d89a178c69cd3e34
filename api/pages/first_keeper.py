"""Who is the first keeper? Whoever holds the link that the server printed at its first start."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import Database, Here, Now, ReadSession, open_to_all
from api.forms import Typed
from api.routes import Route
from api.sign_in import hash_password, set_sign_in_cookie
from api.templating import HOME, show
from models.actions.change_log import recording
from models.actions.sign_in_people import (
    SHORTEST_PASSWORD,
    check_new_sign_in,
    make_first_keeper,
    require_open_link,
)
from models.actions.sign_ins import begin_sign_in
from models.database import read_session
from models.errors import BadValue, Fault

router = APIRouter(prefix="/first-keeper", route_class=Route)

ACTOR = "first keeper link"


@dataclass(frozen=True)
class FirstKeeperPage:
    """What templates/sign_in/first_keeper.html is given."""

    name: str
    shortest_password: int = SHORTEST_PASSWORD
    faults: tuple[Fault, ...] = ()


@router.get("/{key}", dependencies=[open_to_all])
def first_keeper_page(request: Request, session: ReadSession, now: Now, key: str) -> Response:
    """Ask the first keeper for name and password; nothing is here once the link is dead."""
    require_open_link(session, key, now)
    return show(request, "sign_in/first_keeper.html", FirstKeeperPage(""))


@router.post("/{key}", dependencies=[open_to_all])
def first_keeper_sent(
    request: Request, here: Here, engine: Database, now: Now, key: str, form: Typed
) -> Response:
    """Make the first keeper and sign them in."""
    with read_session(engine) as session:
        require_open_link(session, key, now)
    try:
        form.require_clean()
        name = check_new_sign_in(form["name"], form["password"])
    except BadValue as error:
        page = FirstKeeperPage(form["name"], faults=error.faults)
        return show(request, "sign_in/first_keeper.html", page, 422)
    password_hash = hash_password(form["password"])
    with recording(engine, actor=ACTOR, now=now) as session:
        keeper = make_first_keeper(session, key, name=name, password_hash=password_hash, now=now)
        assert keeper.id is not None, "a person on record has a key"
        cookie = begin_sign_in(session, keeper.id, now)
    answer = RedirectResponse(HOME, 303)
    set_sign_in_cookie(answer, here.settings, cookie)
    return answer
