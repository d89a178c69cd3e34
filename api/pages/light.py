"""Which works must come down, and by when? Those on show whose light of the year runs out.

What is not on the list may stay where it hangs.
"""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.pages.light_shown import lux_hours
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.light_ledgers import WorkInLight, works_in_light
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed
from models.tables.renewal import count_stale

router = APIRouter(prefix="/light", route_class=Route)

A_PAGE = 50
MOST_PASSED_OVER = 10_000_000
# The bar of a work, in units of its drawing.
BAR_WIDTH = 200


@dataclass(frozen=True)
class LitWorkShown:
    """A work that must come down: by when, what is left of its year, and a bar of what is used."""

    work_id: int
    number: str
    title: str
    place: str
    light_class: str
    take_down: str
    is_due: bool
    left: str
    bar_shown: float
    is_over: bool


@dataclass(frozen=True)
class LightPage:
    """What templates/light/list.html is given; `count` is how many works in all, or at least."""

    works: tuple[LitWorkShown, ...]
    count: int
    is_counted_out: bool
    is_being_worked_out: bool
    bar_width: int
    is_continued: bool
    goes_on_at: str


@router.get("", dependencies=[requires(Deed.READ)])
def listed(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    after: Annotated[int, Query(ge=0, le=MOST_PASSED_OVER)] = 0,
) -> Response:
    """Show the works that must come down, soonest first."""
    now = day_number(today)
    found = works_in_light(session, viewer, today=now, limit=A_PAGE, start=after)
    page = LightPage(
        works=tuple(_shown(work, now) for work in found.works),
        count=found.count,
        is_counted_out=found.is_counted_out,
        is_being_worked_out=count_stale(session, viewer) > 0,
        bar_width=BAR_WIDTH,
        is_continued=after > 0,
        goes_on_at=f"/light?after={after + A_PAGE}" if found.goes_on else "",
    )
    return show(request, "light/list.html", page)


def _shown(work: WorkInLight, today: int) -> LitWorkShown:
    left = work.left_lux_hours / work.budget_lux_hours
    assumed = ", assumed" if work.is_class_assumed else ""
    return LitWorkShown(
        work_id=work.work_id,
        number=work.number,
        title=work.title,
        place=work.place,
        light_class=f"class {work.light_class}{assumed}",
        take_down=day(work.take_down_on),
        is_due=work.take_down_on <= today,
        left=_left(work, left),
        bar_shown=round(BAR_WIDTH * min(1.0, max(0.0, 1 - left)), 1),
        is_over=left < 0,
    )


def _left(work: WorkInLight, share: float) -> str:
    if work.left_lux_hours < 0:
        return f"{lux_hours(-work.left_lux_hours)} lux hours over"
    return f"{lux_hours(work.left_lux_hours)} lux hours left, {share:.0%}"
