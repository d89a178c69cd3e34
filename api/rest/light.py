"""How much light has a work had, and what does this year still allow? For programs."""

from math import isinf

from fastapi import APIRouter
from pydantic import ConfigDict

from api.dependencies import ReadSession, SignedIn, Today, requires
from api.rest.shapes import Out, PathId
from api.routes import Route
from models.actions.light_ledgers import ledger_of
from models.actions.work_records import load_records
from models.errors import NotFound
from models.rules.calendar_days import day_date, day_number
from models.rules.light_ledger import LightLedger
from models.rules.permissions import Deed

router = APIRouter(prefix="/api", tags=["light"], route_class=Route)


class TurnOut(Out):
    """What it would change if so many works, or places, took turns."""

    turns: int
    days_a_year: float
    lux_hours_a_year: float
    years_to_fade: float | None
    is_within_budget: bool


class LightOut(Out):
    """The light ledger of a work, in lux hours; a fade is one just-noticeable fade.

    `fades_so_far` and `years_to_fade` are null where fades are not added up (cyanotypes)
    or no light falls; `days_per_year` and `take_down_by` where no limit is reached;
    `budget_by_fade` and `budget_by_cie` where that limit does not hold.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "work_id": 7,
                    "light_class": 3,
                    "is_class_assumed": False,
                    "uv_filtered": True,
                    "counted_from": "2019-03-01",
                    "lux_hours_so_far": 1_124_400,
                    "days_so_far": 2811,
                    "days_measured": 0,
                    "fades_so_far": 0.3748,
                    "lux_hours_this_year": 131_200,
                    "budget_lux_hours": 15_000,
                    "budget_by_fade": 150_000,
                    "budget_by_cie": 15_000,
                    "left_lux_hours": -116_200,
                    "take_down_by": "2026-11-25",
                    "days_per_year": 37.5,
                    "lux": 50,
                    "cie_limit_lux": 50,
                    "is_lux_assumed": False,
                    "is_measured": False,
                    "lux_hours_a_year": 146_000,
                    "years_to_fade": 20.55,
                    "turns": [],
                }
            ]
        }
    )

    work_id: int
    light_class: int
    is_class_assumed: bool
    uv_filtered: bool
    counted_from: str | None
    lux_hours_so_far: float
    days_so_far: int
    days_measured: int
    fades_so_far: float | None
    lux_hours_this_year: float
    budget_lux_hours: float
    budget_by_fade: float | None
    budget_by_cie: float | None
    left_lux_hours: float
    take_down_by: str | None
    days_per_year: float | None
    lux: float
    cie_limit_lux: float
    is_lux_assumed: bool
    is_measured: bool
    lux_hours_a_year: float
    years_to_fade: float | None
    turns: list[TurnOut]


@router.get("/works/{work_id}/light", dependencies=[requires(Deed.READ)])
def light(session: ReadSession, viewer: SignedIn, today: Today, work_id: PathId) -> LightOut:
    """Work out the light ledger of a work."""
    records = load_records(session, viewer, [work_id]).get(work_id)
    if records is None:
        raise NotFound("work", work_id)
    return light_out(work_id, ledger_of(session, viewer, records, today=day_number(today)))


def light_out(work_id: int, ledger: LightLedger) -> LightOut:
    """Return a ledger as it is sent."""
    return LightOut(
        work_id=work_id,
        light_class=ledger.sensitivity.light_class,
        is_class_assumed=ledger.sensitivity.is_assumed,
        uv_filtered=ledger.uv_filtered,
        counted_from=_date(ledger.counted_from),
        lux_hours_so_far=ledger.so_far.lux_hours,
        days_so_far=ledger.so_far.days,
        days_measured=ledger.so_far.days_measured,
        fades_so_far=ledger.fades_so_far,
        lux_hours_this_year=ledger.this_year.lux_hours,
        budget_lux_hours=ledger.budget.lux_hours,
        budget_by_fade=_limit(ledger.budget.by_fade_lux_hours),
        budget_by_cie=_limit(ledger.budget.by_cie_lux_hours),
        left_lux_hours=ledger.left_lux_hours,
        take_down_by=_date(ledger.take_down_on),
        days_per_year=ledger.days_per_year,
        lux=ledger.lux,
        cie_limit_lux=ledger.cie_limit_lux,
        is_lux_assumed=ledger.is_lux_assumed,
        is_measured=ledger.is_measured,
        lux_hours_a_year=ledger.lux_hours_a_year,
        years_to_fade=ledger.years_to_fade,
        turns=[TurnOut(**vars(turn)) for turn in ledger.turns],
    )


def _limit(lux_hours: float) -> float | None:
    return None if isinf(lux_hours) else lux_hours


def _date(day: int | None) -> str | None:
    return None if day is None else day_date(day).isoformat()
