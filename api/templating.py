"""How does a page become HTML?

Each template is given one frozen dataclass and names it in its first line; a name that the
dataclass does not have is an error. What every page shows around it, who is signed in and
where one can go, is its `Frame`.
"""

from collections.abc import Iterable, Iterator
from dataclasses import Field, dataclass, fields
from pathlib import Path
from typing import Any, ClassVar, Protocol
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from api.installation import installation_of
from api.sign_in import form_token_for, set_stranger_cookie
from api.template_filters import FILTERS
from models.actions.sign_ins import Recognised, new_secret
from models.rules.permissions import Deed, may
from models.vocabulary import Lengths, Role, Scheme

TEMPLATES = Path(__file__).resolve().parent.parent / "templates"


@dataclass(frozen=True)
class Way:
    """Somewhere to go from every page, and who may."""

    name: str
    path: str
    deed: Deed


# The days' work stands in the head of every page, the rest one tap further.
FIRST_WAYS = (
    Way("Works", "/works", Deed.READ),
    Way("Due", "/due", Deed.READ),
    Way("Remat", "/remat", Deed.READ),
    Way("Walk-round", "/walk-round", Deed.WALK_ROUND),
)
OTHER_WAYS = (
    Way("On the bench", "/bench", Deed.RECORD_VISIT),
    Way("Materials", "/materials", Deed.READ),
    Way("House packages", "/house-packages", Deed.READ),
    Way("Places", "/places", Deed.READ),
    Way("Light", "/light", Deed.READ),
    Way("Incidents", "/incidents", Deed.READ),
    Way("Own evidence", "/own-evidence", Deed.READ),
    Way("Policy", "/policy", Deed.READ),
    Way("People", "/people", Deed.KEEP_PEOPLE),
    Way("Reminders", "/reminders", Deed.KEEP_REMINDERS),
)
HOME = "/works"


def ways_named(role: Role, text: str) -> Iterator[Way]:
    """Give the ways that this role may go and whose name begins so."""
    begun = text.strip().casefold()
    ways = (way for way in (*FIRST_WAYS, *OTHER_WAYS) if begun and may(role, way.deed))
    return (way for way in ways if way.name.casefold().startswith(begun))


@dataclass(frozen=True)
class Frame:
    """What templates/base.html shows around every page. `repeat_key` is new for each page."""

    name: str
    role: Role | None
    path: str
    form_token: str
    repeat_key: str
    scheme: Scheme = Scheme.SYSTEM
    lengths: Lengths = Lengths.METRIC
    person_id: int | None = None
    currency: str = ""

    def length_keys(self) -> str:
        """Return the keys that a tablet offers for a length: those of inches have a stroke."""
        return "decimal" if self.lengths is Lengths.METRIC else "text"

    @property
    def says_inches(self) -> bool:
        """Whether inches stand beside millimetres."""
        return self.lengths is Lengths.BOTH

    def first_ways(self) -> Iterator[Way]:
        """Give the ways of every day that this person may go."""
        return self._may_go(FIRST_WAYS)

    def other_ways(self) -> Iterator[Way]:
        """Give the other ways that this person may go."""
        return self._may_go(OTHER_WAYS)

    def _may_go(self, ways: Iterable[Way]) -> Iterator[Way]:
        return (way for way in ways if self.role is not None and may(self.role, way.deed))

    def is_here(self, way: Way) -> bool:
        """Say whether this page belongs to that way."""
        return self.path == way.path or self.path.startswith(f"{way.path}/")


class PageClass(Protocol):
    """A frozen dataclass, one per template."""

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]


def make_templates() -> Environment:
    """Return the templates: strict about names, and escaping whatever is put in."""
    templates = Environment(
        loader=FileSystemLoader(TEMPLATES),
        undefined=StrictUndefined,
        autoescape=select_autoescape(default=True, default_for_string=True),
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    templates.filters.update(FILTERS)
    return templates


def show(request: Request, template: str, page: PageClass, status: int = 200) -> HTMLResponse:
    """Answer with the page."""
    installation = installation_of(request)
    given = {field.name: getattr(page, field.name) for field in fields(page)}
    frame = frame_of(request)
    html = installation.templates.get_template(template).render(given, frame=frame)
    answer = HTMLResponse(html, status)
    cookie: str | None = getattr(request.state, "new_stranger_cookie", None)
    if cookie:
        set_stranger_cookie(answer, installation.settings, cookie)
    return answer


def frame_of(request: Request) -> Frame:
    """Return what stands around a page for whoever asks for it."""
    recognised: Recognised | None = getattr(request.state, "recognised", None)
    return Frame(
        name=recognised.name if recognised else "",
        role=recognised.viewer.role if recognised else None,
        path=quote(request.url.path),
        form_token=form_token_for(request),
        repeat_key=new_secret(),
        scheme=recognised.scheme if recognised else Scheme.SYSTEM,
        lengths=recognised.lengths if recognised else Lengths.METRIC,
        person_id=recognised.viewer.person_id if recognised else None,
        currency=installation_of(request).settings.currency,
    )
