"""What would a remat of each work gain, and what has become of it?

What it would gain was last worked out with the forecast and is stored beside it,
so that the list is read in its order from one index; one action writes these
rows. What has become of it is said by people, and every change of it is logged.
A work of which nobody said anything is proposed.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from sqlalchemy import (
    BindParameter,
    Column,
    ColumnElement,
    CompoundSelect,
    ForeignKey,
    Index,
    Select,
    and_,
    bindparam,
    func,
    literal,
    or_,
    union_all,
)
from sqlalchemy import select as columns
from sqlalchemy import text as sql
from sqlmodel import Field, Session, SQLModel, col, select

from models.tables.base import (
    LONG_INTEGER,
    Derived,
    Record,
    day,
    flag,
    key,
    link,
    note,
    number,
    strict,
    version,
    word,
)
from models.tables.kept_statements import WANTED, send
from models.tables.mounts import Hold, Layer, Mount
from models.tables.people import Owner, Person
from models.tables.visible import Viewer, sees_all_works, visible_by_parameter, visible_works
from models.tables.works import Stay, Work
from models.vocabulary import Advice, RematState, Role

LARGEST_SUM = 10_000_000


class RematScore(Derived, table=True):
    """What a remat of one work would gain and take; risks and chances are shares of 1."""

    __tablename__ = "remat_score"
    __table_args__ = strict(
        Index(
            "ix_remat_score_reduced",
            "reduced",
            "work_id",
            sqlite_where=sql("is_listed = 1"),
            postgresql_where=sql("is_listed"),
        ),
        Index(
            "ix_remat_score_owner_id_reduced",
            "owner_id",
            "reduced",
            "work_id",
            sqlite_where=sql("is_listed = 1"),
            postgresql_where=sql("is_listed"),
        ),
    )

    work_id: int = Field(
        sa_column=Column(LONG_INTEGER, ForeignKey("work.id"), primary_key=True, autoincrement=False)
    )
    score_day: int | None = day("score_day")
    owner_id: int | None = link("owner.id", nullable=True, index=False)
    is_listed: bool = flag()
    reduced: float = number("reduced", -100, 100, nullable=False)
    lost_now: float = number("lost_now", 0, 100, nullable=False)
    lost_then: float = number("lost_then", 0, 100, nullable=False)
    risk_of_remat: float = number("risk_of_remat", 0, 100, nullable=False)
    chance_now: float = number("chance_now", 0, 1, nullable=False)
    chance_then: float = number("chance_then", 0, 1, nullable=False)
    hours: float = number("hours", 0, 10_000, nullable=False)
    cost: float = number("cost", 0, LARGEST_SUM, nullable=False)
    cure: Advice = word("cure", Advice)
    reason: str = note("reason")
    weak_layer: str = note("weak_layer")
    method: str = note("method")
    board: str = note("board")
    swaps: str = note("swaps")
    kept_because: str = note("kept_because")
    ask_before: str = note("ask_before")
    leave_it: bool = flag()
    may_reprint: bool = flag()
    # Of which stock it was worked out: another stock may propose another package.
    stock: str = note("stock")


class Remat(Record, table=True):
    """What has become of the remat of one work: asked with a quote, agreed by whom, and so on."""

    __tablename__ = "remat"
    __table_args__ = strict(Index("uq_remat_work_id", "work_id", unique=True))

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    state: RematState = word("state", RematState)
    said_on: int | None = day("said_on")
    until_on: int | None = day("until_on")
    quote: float | None = number("quote", 0, LARGEST_SUM)
    by_id: int | None = link("person.id", nullable=True)
    why: str = note("why")
    version: int = version()


class RematBefore(Derived, table=True):
    """What had become of a remat before a remount made it done, for when that is taken back."""

    __tablename__ = "remat_before"
    __table_args__ = strict(Index("uq_remat_before_work_id", "work_id", unique=True))

    id: int | None = key()
    work_id: int = link("work.id", index=False)
    done_on: int | None = day("done_on")
    state: RematState = word("state", RematState)
    said_on: int | None = day("said_on")
    until_on: int | None = day("until_on")
    quote: float | None = number("quote", 0, LARGEST_SUM)
    by_id: int | None = link("person.id", nullable=True)
    why: str = note("why")


@dataclass(frozen=True, kw_only=True)
class RematsAsked:
    """Which rows are asked for. Without a state those that wait for somebody to do something."""

    owner_id: int | None = None
    place_ids: Collection[int] | None = None
    technique_id: int | None = None
    method_id: int | None = None
    material_id: int | None = None
    lot_ids: Collection[int] | None = None
    state: RematState | None = None


class RematRow(NamedTuple):
    """One row of the list, with the work it is of; sizes in micrometres."""

    work_id: int
    number: str
    title: str
    owner: str | None
    place_id: int | None
    height_um: int | None
    width_um: int | None
    package_id: int | None
    score_day: int | None
    reduced: float | None
    lost_now: float | None
    lost_then: float | None
    risk_of_remat: float | None
    chance_now: float | None
    chance_then: float | None
    hours: float | None
    cost: float | None
    cure: Advice | None
    reason: str | None
    weak_layer: str | None
    method: str | None
    board: str | None
    swaps: str | None
    kept_because: str | None
    ask_before: str | None
    leave_it: bool | None
    may_reprint: bool | None
    state: RematState | None
    said_on: int | None
    until_on: int | None
    quote: float | None
    by: str | None
    by_role: Role | None
    why: str | None
    version: int | None


RematKey = tuple[float, int]
Rows = Select[*tuple[Any, ...]]

_IS_CURRENT_STAY = and_(
    col(Stay.work_id) == col(Work.id), ~col(Stay.ended), col(Stay.withdrawn_reason).is_(None)
)
_IS_CURRENT_MOUNT = and_(
    col(Mount.work_id) == col(Work.id), ~col(Mount.ended), col(Mount.withdrawn_reason).is_(None)
)
# Nobody has to do anything about these; a row that was declined or done comes back in time.
_RESTING = (RematState.DECLINED_UNTIL, RematState.DONE)


def remat_rows(
    session: Session,
    viewer: Viewer,
    asked: RematsAsked,
    *,
    today: int,
    after: RematKey | None,
    limit: int,
) -> list[RematRow]:
    """Return at most `limit` rows, the greatest risk reduced first."""
    given = _given(viewer, asked, today=today, limit=limit)
    if after is not None:
        given["after_reduced"], given["after_work_id"] = after
    names = frozenset(name for name, value in given.items() if value is not None)
    statement = _listed(names, asked.state, all_works=sees_all_works(viewer))
    rows = session.connection().execute(statement, _only(given, names))
    return [RematRow._make(row) for row in rows]


@cache
def _listed(names: frozenset[str], state: RematState | None, *, all_works: bool) -> Rows:
    found = _in_order(_all_columns(), names, state, all_works=all_works)
    if "after_work_id" in names:
        reduced: BindParameter[float] = bindparam("after_reduced")
        work_id: BindParameter[int] = bindparam("after_work_id")
        found = found.where(
            or_(
                col(RematScore.reduced) < reduced,
                and_(col(RematScore.reduced) == reduced, col(RematScore.work_id) < work_id),
            )
        )
        # Said twice, so that the index is walked from there.
        found = found.where(col(RematScore.reduced) <= reduced)
    return found


def remat_rows_of(session: Session, viewer: Viewer, work_ids: Sequence[int]) -> list[RematRow]:
    """Return the rows of these works, listed or not, as far as this person sees them."""
    return [RematRow._make(row) for row in send(session, viewer, _rows_of, work_ids)]


def _rows_of(is_visible: ColumnElement[bool]) -> Rows:
    return _all_columns(of_every_work=True).where(is_visible, col(Work.id).in_(WANTED))


class RematSums(NamedTuple):
    """How many rows there are, and the hours and the money that they take together."""

    works: int
    hours: float
    cost: float


def remat_sums(
    session: Session, viewer: Viewer, asked: RematsAsked, *, today: int, limit: int
) -> RematSums:
    """Return the sums of the first rows in their order, at most `limit` of them."""
    given = _given(viewer, asked, today=today, limit=limit)
    names = frozenset(name for name, value in given.items() if value is not None)
    statement = _summed(names, asked.state, all_works=sees_all_works(viewer))
    works, hours, cost = session.connection().execute(statement, _only(given, names)).one()
    return RematSums(works, hours or 0.0, cost or 0.0)


@cache
def _summed(names: frozenset[str], state: RematState | None, *, all_works: bool) -> Rows:
    found: Rows = columns(col(RematScore.hours), col(RematScore.cost))
    found = found.select_from(RematScore).join(Work, col(Work.id) == col(RematScore.work_id))
    found = found.outerjoin(Remat, col(Remat.work_id) == col(Work.id))
    if "place_ids" in names:
        found = found.outerjoin(Stay, _IS_CURRENT_STAY)
    # The rows are counted in their order, so that a long list stops where the sums stop.
    first = _in_order(found, names, state, all_works=all_works).subquery()
    return columns(func.count(), func.sum(first.c.hours), func.sum(first.c.cost))


class AskedByOwner(NamedTuple):
    """A question of an owner about the remat of a work."""

    work_id: int
    number: str
    title: str
    by: str
    on: int | None
    question: str


def asked_by_owners(session: Session, viewer: Viewer, *, limit: int) -> list[AskedByOwner]:
    """Return what owners have asked and nobody has answered yet, the oldest first."""
    found = columns(
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(Person.name),
        col(Remat.said_on),
        col(Remat.why),
    )
    found = found.select_from(Remat).join(Work, col(Work.id) == col(Remat.work_id))
    found = found.join(Person, col(Person.id) == col(Remat.by_id))
    found = found.where(
        visible_works(viewer),
        col(Remat.state) == RematState.ASKED,
        col(Remat.why) != "",
        col(Person.role) == Role.OWNER,
    )
    found = found.order_by(col(Remat.said_on), col(Remat.id)).limit(limit)
    return [AskedByOwner._make(row) for row in session.execute(found)]


class NamedChoice(NamedTuple):
    """A record by which the list can be narrowed: of what kind, its key and its name."""

    kind: str
    id: int
    name: str


def choices_of_remats(session: Session) -> list[NamedChoice]:
    """Return owners, techniques, methods and materials, each by name; one statement."""
    return [NamedChoice._make(row) for row in session.connection().execute(_choices())]


_TABLES = SQLModel.metadata.tables


@cache
def _choices() -> CompoundSelect[*tuple[Any, ...]]:
    parts = [
        columns(literal(kind).label("kind"), table.c.id, table.c.name)
        for kind, table in (
            ("owner", _TABLES["owner"]),
            ("technique", _TABLES["technique"]),
            ("method", _TABLES["mount_method"]),
            ("material", _TABLES["material"]),
        )
    ]
    return union_all(*parts).order_by("kind", "name")


class Weighed(NamedTuple):
    """What a remat takes and gains, for choosing among many."""

    work_id: int
    number: str
    title: str
    reduced: float
    hours: float
    cost: float


def weighed_remats(
    session: Session, viewer: Viewer, asked: RematsAsked, *, today: int, limit: int
) -> list[Weighed]:
    """Return what the first of the list take and gain; none that is better left alone."""
    given = _given(viewer, asked, today=today, limit=limit)
    names = frozenset(name for name, value in given.items() if value is not None)
    statement = _weighed(names, asked.state, all_works=sees_all_works(viewer))
    rows = session.connection().execute(statement, _only(given, names))
    return [Weighed._make(row) for row in rows]


@cache
def _weighed(names: frozenset[str], state: RematState | None, *, all_works: bool) -> Rows:
    found: Rows = columns(
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(RematScore.reduced),
        col(RematScore.hours),
        col(RematScore.cost),
    )
    found = found.select_from(RematScore).join(Work, col(Work.id) == col(RematScore.work_id))
    found = found.outerjoin(Remat, col(Remat.work_id) == col(Work.id))
    if "place_ids" in names:
        found = found.outerjoin(Stay, _IS_CURRENT_STAY)
    found = found.where(~col(RematScore.leave_it), col(RematScore.reduced) > 0)
    return _in_order(found, names, state, all_works=all_works)


class Neighbour(NamedTuple):
    """A work in the same package as another."""

    package_id: int
    work_id: int
    number: str


def works_of_packages(
    session: Session, viewer: Viewer, package_ids: Sequence[int]
) -> list[Neighbour]:
    """Return the works that are in these packages now."""
    return [Neighbour._make(row) for row in send(session, viewer, _together, package_ids)]


def _together(is_visible: ColumnElement[bool]) -> Rows:
    found: Rows = columns(col(Mount.package_id), col(Work.id), col(Work.number))
    found = found.select_from(Mount).join(Work, col(Work.id) == col(Mount.work_id))
    found = found.where(is_visible, col(Mount.package_id).in_(WANTED), _NOW)
    return found.order_by(col(Work.number))


class Leaving(NamedTuple):
    """A work that is to be moved soon: to which place, and on which day at the earliest."""

    work_id: int
    place_id: int
    on: int


def works_leaving(
    session: Session, work_ids: Sequence[int], *, first_day: int, last_day: int
) -> list[Leaving]:
    """Return which of these works are to be moved within these days, as far as is on record."""
    given = {"wanted": list(work_ids), "first_day": first_day, "last_day": last_day}
    return [Leaving._make(row) for row in session.connection().execute(_leaving(), given)]


@cache
def _leaving() -> Rows:
    found: Rows = columns(col(Stay.work_id), col(Stay.place_id), col(Stay.since_first))
    found = found.where(col(Stay.work_id).in_(WANTED), col(Stay.withdrawn_reason).is_(None))
    first_day: BindParameter[int] = bindparam("first_day")
    last_day: BindParameter[int] = bindparam("last_day")
    return found.where(col(Stay.since_first).between(first_day, last_day))


def find_remat(session: Session, work_id: int) -> Remat | None:
    """Return what has become of the remat of a work, held until this change is kept or dropped."""
    found = select(Remat).where(Remat.work_id == work_id).with_for_update()
    return session.exec(found.execution_options(populate_existing=True)).first()


def _all_columns(*, of_every_work: bool = False) -> Rows:
    found: Rows = columns(
        col(Work.id),
        col(Work.number),
        col(Work.title),
        col(Owner.name),
        col(Stay.place_id),
        col(Work.height_um),
        col(Work.width_um),
        col(Mount.package_id),
        col(RematScore.score_day),
        col(RematScore.reduced),
        col(RematScore.lost_now),
        col(RematScore.lost_then),
        col(RematScore.risk_of_remat),
        col(RematScore.chance_now),
        col(RematScore.chance_then),
        col(RematScore.hours),
        col(RematScore.cost),
        col(RematScore.cure),
        col(RematScore.reason),
        col(RematScore.weak_layer),
        col(RematScore.method),
        col(RematScore.board),
        col(RematScore.swaps),
        col(RematScore.kept_because),
        col(RematScore.ask_before),
        col(RematScore.leave_it),
        col(RematScore.may_reprint),
        col(Remat.state),
        col(Remat.said_on),
        col(Remat.until_on),
        col(Remat.quote),
        col(Person.name),
        col(Person.role),
        col(Remat.why),
        col(Remat.version),
    )
    if of_every_work:
        found = found.select_from(Work)
        found = found.outerjoin(RematScore, col(RematScore.work_id) == col(Work.id))
    else:
        found = found.select_from(RematScore)
        found = found.join(Work, col(Work.id) == col(RematScore.work_id))
    found = found.outerjoin(Owner, col(Owner.id) == col(Work.owner_id))
    found = found.outerjoin(Stay, _IS_CURRENT_STAY)
    found = found.outerjoin(Mount, _IS_CURRENT_MOUNT)
    found = found.outerjoin(Remat, col(Remat.work_id) == col(Work.id))
    return found.outerjoin(Person, col(Person.id) == col(Remat.by_id))


def _given(viewer: Viewer, asked: RematsAsked, *, today: int, limit: int) -> dict[str, Any]:
    """Return what a statement is given; what is None is not asked for."""
    return {
        "owner_id": asked.owner_id if viewer.owner_id is None else viewer.owner_id,
        "place_ids": None if asked.place_ids is None else list(asked.place_ids),
        "technique_id": asked.technique_id,
        "method_id": asked.method_id,
        "material_id": asked.material_id,
        "lot_ids": None if asked.lot_ids is None else list(asked.lot_ids),
        "viewer_owner_id": viewer.owner_id,
        "today": today,
        "most": limit,
    }


def _only(given: dict[str, Any], names: frozenset[str]) -> dict[str, Any]:
    return {name: given[name] for name in names}


def _in_order(
    found: Rows, names: frozenset[str], state: RematState | None, *, all_works: bool
) -> Rows:
    """Return the listed rows that are asked for, the greatest risk reduced first."""
    found = found.where(visible_by_parameter(all_works=all_works), col(RematScore.is_listed))
    for condition in (_in_state(state), *_conditions(names)):
        found = found.where(condition)
    ordered = found.order_by(col(RematScore.reduced).desc(), col(RematScore.work_id).desc())
    return ordered.limit(bindparam("most"))


def _conditions(names: frozenset[str]) -> list[ColumnElement[bool]]:
    place_ids: BindParameter[list[int]] = bindparam("place_ids", expanding=True)
    lot_ids: BindParameter[list[int]] = bindparam("lot_ids", expanding=True)
    owner_id: BindParameter[int] = bindparam("owner_id")
    technique_id: BindParameter[int] = bindparam("technique_id")
    method_id: BindParameter[int] = bindparam("method_id")
    material_id: BindParameter[int] = bindparam("material_id")
    known = {
        # The owner beside the score leads the index; that of the work is what may be seen.
        "owner_id": and_(col(RematScore.owner_id) == owner_id, col(Work.owner_id) == owner_id),
        "place_ids": col(Stay.place_id).in_(place_ids),
        "technique_id": col(Work.technique_id) == technique_id,
        "method_id": col(Work.id).in_(_held_by(col(Mount.method_id) == method_id)),
        "material_id": col(Work.id).in_(_layered(col(Layer.material_id) == material_id))
        | col(Work.id).in_(_pasted(col(Hold.material_id) == material_id)),
        "lot_ids": col(Work.id).in_(_layered(col(Layer.lot_id).in_(lot_ids)))
        | col(Work.id).in_(_pasted(col(Hold.lot_id).in_(lot_ids))),
    }
    return [condition for name, condition in known.items() if name in names]


def _in_state(state: RematState | None) -> ColumnElement[bool]:
    if state is None:
        rests = col(Remat.state).in_(_RESTING) & (col(Remat.until_on) > bindparam("today"))
        return col(Remat.id).is_(None) | ~(rests | (col(Remat.state) == RematState.CANNOT))
    is_said = col(Remat.state) == state
    return col(Remat.id).is_(None) | is_said if state is RematState.PROPOSED else is_said


_NOW = and_(~col(Mount.ended), col(Mount.withdrawn_reason).is_(None))


def _held_by(condition: ColumnElement[bool]) -> Select[int]:
    return columns(col(Mount.work_id)).where(_NOW, condition)


def _layered(condition: ColumnElement[bool]) -> Select[int]:
    """Return the works in whose package such a layer is now."""
    found = columns(col(Mount.work_id)).join(Layer, col(Layer.package_id) == col(Mount.package_id))
    there = and_(~col(Layer.ended), col(Layer.withdrawn_reason).is_(None))
    return found.where(_NOW, there, condition)


def _pasted(condition: ColumnElement[bool]) -> Select[int]:
    """Return the works that such a hold holds now."""
    found = columns(col(Mount.work_id)).join(Hold, col(Hold.mount_id) == col(Mount.id))
    return found.where(_NOW, col(Hold.withdrawn_reason).is_(None), condition)
