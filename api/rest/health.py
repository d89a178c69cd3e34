"""Is the server there, and on what does it stand?

Strangers are told that it answers. Keepers are told the schema, the kind of database and
the head of the change log, which shows later whether the log's end was cut off.
"""

from fastapi import APIRouter, Request

from api.dependencies import Here, MaybeSignedIn, ReadSession, open_to_all, requires
from api.rest.shapes import Out
from api.routes import Route
from models.actions.change_log import log_head
from models.database import schema_revision
from models.rules.permissions import Deed
from models.vocabulary import Role

router = APIRouter(prefix="/api", tags=["server"], route_class=Route)


class HealthOut(Out):
    """How the server is; the rest is for keepers."""

    status: str
    schema_revision: str | None = None
    database: str | None = None
    log_head: str | None = None


@router.get("/health", response_model_exclude_none=True, dependencies=[open_to_all])
def health(here: Here, recognised: MaybeSignedIn, session: ReadSession) -> HealthOut:
    """Say that the server answers, and to keepers how it stands."""
    revision = schema_revision(session.connection())
    if recognised is None or recognised.viewer.role is not Role.KEEPER:
        return HealthOut(status="ok")
    return HealthOut(
        status="ok",
        schema_revision=revision,
        database=here.engine.dialect.name,
        log_head=log_head(session),
    )


@router.get("/openapi.json", include_in_schema=False, dependencies=[requires(Deed.READ)])
def description(request: Request) -> dict[str, object]:
    """Return the description of the whole API (OpenAPI)."""
    told: dict[str, object] = request.app.openapi()
    return told
