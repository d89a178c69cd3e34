"""How is the whole put together? The only file that knows all parts.

A request passes, in this order: the headers of its answer, the last resort for what nobody
foresaw, HEAD asked as GET, the check of the host, the check that no other page sent it, the
limit of its length, and then its route. A server does not start while a route says nothing
about who may use it.
"""

import gc
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime

from fastapi import APIRouter, FastAPI
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware

from api.dependencies import require_a_rule_for_every_route
from api.errors import answer_errors, on_anything_else, refusal
from api.installation import Installation
from api.nightly import forecasts_kept_true, renewer_of
from api.pages import (
    bench_sheet,
    compared_visits,
    condition_report,
    first_keeper,
    inside_sheet,
    mat_windows,
    on_bench,
    package_swap,
    pictures,
    sign_in,
    visit_page,
    work_page,
)
from api.pages import causes as cause_pages
from api.pages import grade_decisions as grade_decision_pages
from api.pages import mounting_histories as mounting_history_pages
from api.pages import own_settings as own_setting_pages
from api.pages import photographs as photograph_pages
from api.pages import reminders as reminder_pages
from api.pages import suggestions as suggestion_pages
from api.pages import visits as visit_pages
from api.pages.list_pages import LIST_PAGES
from api.reminding import reminders_sent
from api.rest import (
    causes,
    climate,
    due,
    finding_outlines,
    findings,
    forecasts,
    grade_decisions,
    health,
    house_packages,
    incidents,
    light,
    lots,
    materials,
    mounting_histories,
    mounts,
    moves,
    own_evidence,
    owners,
    people,
    photographs,
    places,
    policy,
    postponements,
    recalls,
    remat_jobs,
    remats,
    reminders,
    visits,
    vocabulary,
    walks,
    works,
)
from api.rest.shapes import PROBLEMS
from api.routes import RoutesBelow, RoutesNamed
from api.settings import Settings, read_settings
from api.shields import AnswerHeaders, HeadAsGet, HostCheck, LastResort, LimitedBody, OwnFormsOnly
from api.static_files import STATIC, StaticFilesKept
from api.templating import make_templates
from models.database import open_database

NO_PAGES = (
    *(f"{kind}/*" for kind in ("application", "audio", "font", "image", "video")),
    *(f"text/{kind}" for kind in ("calendar", "css", "csv", "event-stream", "javascript")),
)
# A route that takes files says so: `dependencies=[…, takes_up_to(…)]`.
LONGEST_BODY_BYTES = 1 << 20

REST: tuple[APIRouter, ...] = (
    health.router,
    works.router,
    moves.router,
    visits.router,
    mounts.router,
    findings.router,
    finding_outlines.router,
    photographs.router,
    causes.router,
    mounting_histories.router,
    light.router,
    grade_decisions.router,
    places.router,
    policy.router,
    climate.router,
    owners.router,
    people.router,
    materials.router,
    lots.router,
    recalls.router,
    house_packages.router,
    incidents.router,
    reminders.router,
    vocabulary.router,
    forecasts.router,
    due.router,
    postponements.router,
    # Before the remat of a work: its address takes any last word.
    remat_jobs.router,
    remats.router,
    walks.router,
    own_evidence.router,
)
PAGES: tuple[APIRouter, ...] = (
    sign_in.router,
    first_keeper.router,
    work_page.router,
    compared_visits.router,
    photograph_pages.router,
    pictures.router,
    inside_sheet.router,
    condition_report.router,
    bench_sheet.router,
    grade_decision_pages.router,
    mat_windows.router,
    # Before the steps of a visit: their addresses take any last word.
    on_bench.router,
    package_swap.router,
    visit_pages.router,
    reminder_pages.router,
    visit_page.router,
    cause_pages.router,
    suggestion_pages.router,
    own_setting_pages.router,
    mounting_history_pages.router,
    *LIST_PAGES,
)


def utc_now() -> datetime:
    """Return the time."""
    return datetime.now(UTC)


def create_app(
    settings: Settings,
    *,
    clock: Callable[[], datetime] = utc_now,
    more: tuple[APIRouter, ...] = (),
) -> FastAPI:
    """Return the app for one installation. `more` are routers of a test."""
    app = FastAPI(
        title="Hingebook",
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        lifespan=_lifespan,
        middleware=[
            Middleware(AnswerHeaders, is_https=settings.is_https),
            Middleware(LastResort, on_error=on_anything_else),
            Middleware(HeadAsGet),
            # Pages alone: files are packed already, or are read on while they are sent.
            Middleware(GZipMiddleware, compresslevel=3, exclude_content_types=NO_PAGES),
            Middleware(HostCheck, allowed=settings.allowed_hosts),
            Middleware(OwnFormsOnly, refuse=refusal),
            Middleware(LimitedBody, longest_bytes=LONGEST_BODY_BYTES),
        ],
    )
    app.state.installation = Installation(
        settings, open_database(settings.url), clock, make_templates()
    )
    answer_errors(app)
    app.mount("/static", StaticFilesKept(directory=STATIC), name="static")
    for router in (RoutesBelow("/api/", REST), *more):
        app.include_router(router, responses=PROBLEMS)
    for router in PAGES:
        app.include_router(RoutesNamed(router), include_in_schema=False)
    require_a_rule_for_every_route(app.routes)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    # What was made so far is there for good: Python need not look through it again and again
    # while a long history is written.
    gc.freeze()
    installation: Installation = app.state.installation
    renewer = renewer_of(installation.settings, installation.engine, installation.clock)
    async with forecasts_kept_true(renewer), reminders_sent(installation):
        yield
    installation.engine.dispose()


def app_from_environment() -> FastAPI:
    """Return the app as the environment sets it up; for the server's processes."""
    return create_app(read_settings())
