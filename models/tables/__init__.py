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
    remats,
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
    "remats",
    "terms",
    "visits",
    "works",
]
