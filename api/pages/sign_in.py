"""How does a person sign in and out on a page?"""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from api.dependencies import (
    Database,
    Here,
    MaybeSignedIn,
    Now,
    ReadSession,
    open_to_all,
    requires,
)
from api.forms import Typed
from api.routes import Route
from api.sign_in import (
    SIGN_IN_COOKIE,
    TooSoon,
    clear_sign_in,
    read_cookie,
    set_sign_in_cookie,
    sign_in,
    sign_out,
)
from api.templating import HOME, show
from models.errors import BadValue, Fault
from models.rules.permissions import Deed
from models.tables.people import is_anybody_here

router = APIRouter(route_class=Route)

SEE_OTHER = 303
LONGEST_NEXT = 500


@dataclass(frozen=True)
class SignInPage:
    """What templates/sign_in/sign_in.html is given. `then` is the page that was asked for."""

    name: str
    then: str
    faults: tuple[Fault, ...] = ()
    is_new_book: bool = False


@router.get("/", dependencies=[requires(Deed.READ)])
def home() -> Response:
    """Lead to the works."""
    return RedirectResponse(HOME, SEE_OTHER)


@router.get("/sign-in", dependencies=[open_to_all])
def sign_in_page(
    request: Request, session: ReadSession, recognised: MaybeSignedIn, next: str = HOME
) -> Response:
    """Ask who it is, or say how the first keeper is made."""
    if recognised is not None:
        return RedirectResponse(page_of_ours(next), SEE_OTHER)
    page = SignInPage("", page_of_ours(next), is_new_book=not is_anybody_here(session))
    return show(request, "sign_in/sign_in.html", page)


@router.post("/sign-in", dependencies=[open_to_all])
def sign_in_sent(request: Request, here: Here, engine: Database, now: Now, form: Typed) -> Response:
    """Sign in, or say beside the field what is wrong."""
    then = page_of_ours(form["next"])
    try:
        form.require_clean()
        cookie = sign_in(
            engine,
            name=form["name"].strip(),
            password=form["password"],
            address=request.client.host if request.client else "",
            now=now,
            before=read_cookie(request, SIGN_IN_COOKIE),
        )
    except BadValue as error:
        page = SignInPage(form["name"], then, error.faults)
        return show(request, "sign_in/sign_in.html", page, 422)
    except TooSoon as error:
        page = SignInPage(form["name"], then, (Fault("/password", error.message),))
        answer: Response = show(request, "sign_in/sign_in.html", page, 429)
        answer.headers["Retry-After"] = str(error.wait_s)
        return answer
    answer = RedirectResponse(then, SEE_OTHER)
    set_sign_in_cookie(answer, here.settings, cookie)
    return answer


@router.post("/sign-out", dependencies=[requires(Deed.READ)])
def sign_out_sent(request: Request, here: Here, engine: Database) -> Response:
    """End the sign-in, and let the browser forget the pages that it kept."""
    sign_out(engine, read_cookie(request, SIGN_IN_COOKIE))
    answer = RedirectResponse("/sign-in", SEE_OTHER)
    clear_sign_in(answer, here.settings)
    return answer


def page_of_ours(path: str) -> str:
    """Return the path if it leads to a page here, else the home page.

    Browsers take `//` and a backslash for the beginning of another host.
    """
    is_ours = path.startswith("/") and not path.startswith("//") and path.isprintable()
    return path if is_ours and "\\" not in path and len(path) <= LONGEST_NEXT else HOME
