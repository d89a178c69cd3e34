"""What is suggested while somebody types into the search?

A piece of a page, asked for by its script; without scripts the same words go to the list
of works. Each suggestion is an option of a list box and carries the address it leads to.
"""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.routes import Route
from api.templating import show, ways_named
from models.actions.suggestions import Suggestions, suggest
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed

router = APIRouter(prefix="/suggestions", route_class=Route)


@dataclass(frozen=True)
class Elsewhere:
    """Something that is no work: what it is called, of what kind it is, where it stands."""

    name: str
    kind: str
    path: str


@dataclass(frozen=True)
class SuggestionsPage:
    """What templates/suggestions/list.html is given."""

    q: str
    found: Suggestions
    elsewhere: tuple[Elsewhere, ...]
    all_of_them: str


@router.get("", dependencies=[requires(Deed.READ)])
def suggested(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    q: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Answer with what may be meant so far."""
    found = suggest(session, viewer, q, today=day_number(today))
    elsewhere = (
        *(Elsewhere(way.name, "page", way.path) for way in ways_named(viewer.role, q)),
        *(Elsewhere(one.name, "place", f"/places/{one.id}") for one in found.places),
        *(Elsewhere(one.name, "material", f"/materials/{one.id}") for one in found.materials),
    )
    meant = found.instead or q.strip()
    page = SuggestionsPage(q.strip(), found, elsewhere, f"/works?{urlencode({'q': meant})}")
    return show(request, "suggestions/list.html", page)
