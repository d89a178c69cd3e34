"""What would a remat of each work gain, worked out and stored beside its forecast?

The stock is what the house can take without ordering: materials with a lot in use
that nobody recalled, and those of its usual builds. A score says of which stock
it was worked out; when the stock has changed it is renewed with the next forecast.
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import Any

from sqlalchemy import BindParameter, Insert, Select, bindparam, delete, insert, or_
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col

from models.actions.stock_materials import IS_RECALLED, materials_with, stock_material
from models.rules.component_row import ComponentRow
from models.rules.house_build import read_build
from models.rules.proposed_package import Stock
from models.rules.remat_materials import LayerSwap, written_swap
from models.rules.remat_score import RematScore as Scored
from models.rules.remat_score import remat_scores
from models.rules.work_forecast import WorkCase
from models.tables.kept_statements import WANTED, ask
from models.tables.materials import HousePackage, Lot, Material
from models.tables.remats import RematScore
from models.tables.works import Work

# A score holds so many days, and up to as many more by the number of its work, so that
# scores worked out on one day are not all renewed in one night. Our own choice.
SCORE_HOLDS_DAYS = 30
_STORED = SQLModel.metadata.tables[str(RematScore.__tablename__)]
_GONE = delete(_STORED).where(_STORED.c.work_id.in_(WANTED))
_HOLDS_UNTIL = _STORED.c.score_day + SCORE_HOLDS_DAYS + _STORED.c.work_id % SCORE_HOLDS_DAYS
_GOOD = columns(_STORED.c.work_id).where(
    _STORED.c.work_id.in_(WANTED),
    _STORED.c.stock == bindparam("stock"),
    _HOLDS_UNTIL > bindparam("today"),
)
_SAME_FIGURE = 1e-9
NOTHING_IN_STOCK = ""


def stock_now(session: Session) -> Stock:
    """Return what is in stock, by name. Two statements."""
    connection = session.connection()
    builds = connection.execute(_BUILDS).scalars().all()
    named = sorted({name for build in builds for name in _materials_of(build)})
    rows = connection.execute(_IN_STOCK, {"named": named})
    return tuple(stock_material(row) for row in rows)


def stock_key(stock: Stock) -> str:
    """Return a short word that is another for another stock."""
    if not stock:
        return NOTHING_IN_STOCK
    return hashlib.sha256(repr(stock).encode()).hexdigest()[:16]


def store_scores(
    session: Session,
    cases: Mapping[int, WorkCase],
    rows_of_works: Sequence[tuple[ComponentRow, ...]],
    *,
    gone: Sequence[int],
) -> None:
    """Work out these works anew and store what the list of remats is read from.

    `rows_of_works` are those of their packages, in the order of the cases; `gone` are works
    of which nothing is kept.
    """
    wanted = [*cases, *gone]
    if wanted:
        ask(session, _GONE, wanted)
    if cases:
        stock = stock_now(session)
        key = stock_key(stock)
        scores = remat_scores(list(cases.values()), stock, rows_of_works)
        rows = [
            {"this_work": work_id, **stored_score(score, cases[work_id].today, key)}
            for work_id, score in zip(cases, scores, strict=True)
        ]
        session.connection().execute(_new(tuple(rows[0])), rows)


def stored_score(score: Scored, score_day: int, stock: str) -> dict[str, Any]:
    """Return the columns that are stored of a score."""
    return {
        "score_day": score_day,
        "is_listed": score.is_listed,
        "reduced": score.reduced,
        "lost_now": score.lost_now,
        "lost_then": score.lost_then,
        "risk_of_remat": score.risk_of_remat,
        "chance_now": score.chance_now,
        "chance_then": score.chance_then,
        "hours": score.hours,
        "cost": score.cost,
        "cure": score.cure,
        "reason": score.reason,
        "weak_layer": score.weak_layer,
        "method": score.method,
        "board": score.board,
        "swaps": "\n".join(
            written_swap(LayerSwap(swap.role, swap.new, swap.old)) for swap in score.swaps
        ),
        "kept_because": "\n".join(score.kept_because),
        "ask_before": "\n".join(score.ask_before),
        "leave_it": score.leave_it,
        "may_reprint": score.may_reprint,
        "stock": stock,
    }


def works_with_good_scores(session: Session, work_ids: Sequence[int], *, today: int) -> set[int]:
    """Return those of these works whose score is of today's stock and has not grown old."""
    told = {"wanted": list(work_ids), "stock": stock_key(stock_now(session)), "today": today}
    return set(session.connection().execute(_GOOD, told).scalars())


def faults_of_scores(session: Session, cases: Mapping[int, WorkCase]) -> dict[int, list[str]]:
    """Return, by work, the names of stored figures that are not what the rules say.

    Each is worked out at the day on which it was stored, which a night's renewal of dates
    leaves as it was; one of another stock is to be renewed, and no fault.
    """
    stored = {row.work_id: row for row in session.connection().execute(_all(), _wanted(cases))}
    stock = stock_now(session)
    key = stock_key(stock)
    same = {
        work_id: replace(case, today=stored[work_id].score_day or case.today)
        for work_id, case in cases.items()
        if work_id in stored and stored[work_id].stock == key
    }
    scores = remat_scores(list(same.values()), stock) if same else []
    faults: dict[int, list[str]] = {
        work_id: ["remat score"] for work_id in cases if work_id not in stored
    }
    for (work_id, case), score in zip(same.items(), scores, strict=True):
        values = stored_score(score, case.today, key)
        differing = [n for n, v in values.items() if _differs(getattr(stored[work_id], n), v)]
        if differing:
            faults[work_id] = differing
    return faults


@cache
def _all() -> Select[*tuple[Any, ...]]:
    return columns(_STORED).where(_STORED.c.work_id.in_(WANTED))


def _wanted(cases: Mapping[int, WorkCase]) -> dict[str, list[int]]:
    return {"wanted": list(cases)}


@cache
def _new(names: tuple[str, ...]) -> Insert:
    owner = columns(col(Work.owner_id)).where(col(Work.id) == bindparam("this_work"))
    values: dict[str, Any] = {name: bindparam(name) for name in names if name != "this_work"}
    return insert(_STORED).values(
        work_id=bindparam("this_work"), owner_id=owner.scalar_subquery(), **values
    )


def _differs(stored: object, anew: object) -> bool:
    if isinstance(stored, float) and isinstance(anew, float):
        return abs(stored - anew) > _SAME_FIGURE
    return stored != anew


@lru_cache(maxsize=1024)
def _materials_of(build: str) -> frozenset[str]:
    """Return the materials that a usual build names."""
    told = read_build(build)
    named = {layer.material for layer in told.layers} | {hold.material for hold in told.holds}
    return frozenset(name for name in named if name is not None)


_NAMED: BindParameter[list[str]] = bindparam("named", expanding=True)
_BUILDS = columns(col(HousePackage.build)).where(~col(HousePackage.ended))
_IN_STOCK = materials_with().where(
    or_(col(Lot.id).is_not(None), col(Material.name).in_(_NAMED)), ~IS_RECALLED
)
