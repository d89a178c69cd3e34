"""Which pages are lists, with the forms that add to them?"""

from fastapi import APIRouter

from api.pages import (
    calendar_keys,
    climate,
    due,
    findings_on_photograph,
    house_packages,
    incidents,
    light,
    material_comparison,
    materials,
    own_evidence,
    people,
    places,
    policy,
    postponements,
    recalls,
    remat_jobs,
    remats,
    walk_rounds,
    what_if,
    works,
)

LIST_PAGES: tuple[APIRouter, ...] = (
    works.router,
    findings_on_photograph.router,
    due.router,
    postponements.router,
    calendar_keys.router,
    remat_jobs.router,
    remats.router,
    what_if.router,
    walk_rounds.router,
    materials.router,
    material_comparison.router,
    recalls.router,
    places.router,
    policy.router,
    climate.router,
    people.router,
    incidents.router,
    house_packages.router,
    light.router,
    own_evidence.router,
)
