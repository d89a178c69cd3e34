"""Records: one file per noun, the table and the ways to find a row."""

from models.tables import (
    climate,
    findings,
    forecasts,
    log,
    materials,
    mounts,
    own_evidence,
    people,
    places,
    policy,
    remats,
    renewal,
    terms,
    visits,
    works,
)

__all__ = [
    "climate",
    "findings",
    "forecasts",
    "log",
    "materials",
    "mounts",
    "own_evidence",
    "people",
    "places",
    "policy",
    "remats",
    "renewal",
    "terms",
    "visits",
    "works",
]
