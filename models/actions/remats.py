"""What is to be rematted first, what has become of each, and what is best done with a week?

The rows come from what is stored with the forecasts, the greatest risk reduced
first. What a person said of a row is kept and logged; a remount that is recorded
makes it done. A package that is opened anyway, or a work that leaves its wall
soon, is said: a remat is half done while it is open.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import delete, or_
from sqlalchemy import select as columns
from sqlmodel import Session, SQLModel, col, select

from models.actions.named_records import (
    material_named,
    mount_method_named,
    owner_named,
    person_named,
    technique_named,
)
from models.actions.places import place_seen_at, place_tree
from models.actions.record_changes import key_of, merged, refuse_stale, write
from models.errors import BadValue, Fault, NotFound, UnknownWord
from models.rules.best_use import RULE, Candidate, best_use
from models.rules.calendar_days import day_in_words
from models.rules.permissions import Deed, may, require
from models.rules.place_tree import PlaceTree
from models.rules.record_values import Faults, size_mm
from models.rules.remat_advice import MIND_AT
from models.rules.remat_batches import Batches, RematToBatch, batches
from models.rules.remat_score import LEAVE_IT, REPRINT
from models.rules.remat_states import RematSaid, in_a_sentence, require_may_say, said_in_full
from models.tables.kept_statements import WANTED, ask
from models.tables.materials import Lot
from models.tables.register import get_work_to_change
from models.tables.remat_jobs import (
    RematJobWork,
    get_remat_job,
    remounted_in_jobs,
    waiting_in_jobs,
    works_of_job,
)
from models.tables.remats import (
    AskedByOwner,
    NamedChoice,
    Remat,
    RematBefore,
    RematKey,
    RematRow,
    RematsAsked,
    RematScore,
    RematSums,
    asked_by_owners,
    choices_of_remats,
    find_remat,
    remat_rows,
    remat_rows_of,
    remat_sums,
    weighed_remats,
    works_leaving,
    works_of_packages,
)
from models.tables.visible import Viewer, sees_all_works
from models.vocabulary import Advice, RematJobOutcome, RematJobState, RematState, Role

# What is on its way within so many days is rematted while it is off the wall.
LEAVES_WITHIN_DAYS = 90
# For the best use of a week the first of the list are weighed.
MOST_WEIGHED = 300
# So many rows are summed; of a longer list the sums of its first, so that no page waits.
MOST_SUMMED = 1000
MOST_QUESTIONS = 50


@dataclass(frozen=True, kw_only=True)
class RematFilter:
    """Which rows are asked for, in the words of a person; empty asks for all."""

    owner: str = ""
    place: str = ""
    technique: str = ""
    method: str = ""
    material: str = ""
    lot: str = ""
    state: RematState | None = None


@dataclass(frozen=True, kw_only=True)
class RematShown:
    """One row in words. Risks and chances are shares of 1; None where nothing is worked out."""

    work_id: int
    number: str
    title: str
    owner: str | None
    place: str | None
    reduced: float | None
    lost_now: float | None
    lost_then: float | None
    risk_of_remat: float | None
    chance_now: float | None
    chance_then: float | None
    scored_on: int | None
    hours: float | None
    cost: float | None
    cure: Advice | None
    reason: str
    weak_layer: str
    method: str
    board: str
    swaps: tuple[str, ...]
    kept_because: tuple[str, ...]
    ask_before: tuple[str, ...]
    advice: str
    state: RematState
    state_said: str
    on: int | None
    until: int | None
    quote: float | None
    by: str | None
    why: str
    version: int
    height_mm: float | None = None
    width_mm: float | None = None
    while_open: tuple[str, ...] = ()

    @property
    def mind(self) -> str:
        """Return what whoever does the cure must mind."""
        return "" if self.cure is None else MIND_AT.get(self.cure, "")


@dataclass(frozen=True)
class RematPage:
    """A page of the list, and the key it goes on after, if there is more."""

    items: tuple[RematShown, ...]
    next_after: RematKey | None = None
    chosen: "ChosenRemats | None" = None
    # Of the whole list, or of its first MOST_SUMMED rows.
    sums: RematSums | None = None


@dataclass(frozen=True, kw_only=True)
class AtHand:
    """What is at hand for a week: so many hours, or so much money."""

    hours: float | None = None
    money: float | None = None


@dataclass(frozen=True, kw_only=True)
class RematTold:
    """What somebody says of a remat: `by` names a person, days are numbers."""

    state: RematState = RematState.PROPOSED
    on: int | None = None
    until: int | None = None
    quote: float | None = None
    by: str | None = None
    why: str = ""


@dataclass(frozen=True)
class ChosenRemats:
    """The best use of what is at hand: the works in their order, sums, and by which rule."""

    works: tuple[tuple[int, str, str], ...]
    takes: float
    reduced: float
    rule: str


def what_to_remat(
    session: Session,
    viewer: Viewer,
    filters: RematFilter,
    *,
    today: int,
    limit: int,
    after: RematKey | None = None,
    at_hand: AtHand | None = None,
    choices: "RematChoices | None" = None,
    with_sums: bool = False,
) -> RematPage:
    """Return a page of the list, the greatest risk reduced first.

    With something at hand it says what that is best used for, among the first of the
    list. `choices`, where they are at hand, spare looking their names up again.
    Raises BadValue for a word that is not on record, each at its filter.
    """
    require(viewer.role, Deed.READ)
    tree = place_tree(session) if choices is None else choices.tree
    asked = _asked(session, viewer, tree, filters, {} if choices is None else choices.keys)
    rows = remat_rows(session, viewer, asked, today=today, after=after, limit=limit + 1)
    shown = rows[:limit]
    more = (shown[-1].reduced or 0.0, shown[-1].work_id) if len(rows) > limit else None
    opened = _while_open(session, viewer, tree, shown, today=today)
    chosen = None if at_hand is None else _best_use(session, viewer, asked, at_hand, today=today)
    sums = remat_sums(session, viewer, asked, today=today, limit=MOST_SUMMED) if with_sums else None
    items = tuple(_shown(tree, row, opened[row.work_id]) for row in shown)
    return RematPage(items, more, chosen, sums)


@dataclass(frozen=True)
class RematChoices:
    """By what the list can be narrowed: names on record by kind, and every place."""

    tree: PlaceTree
    keys: Mapping[tuple[str, str], int]

    def names(self, kind: str) -> tuple[str, ...]:
        """Return the names of a kind: owner, technique, method, material."""
        return tuple(name for of, name in self.keys if of == kind)


def remat_choices(session: Session, viewer: Viewer) -> RematChoices:
    """Return by what somebody who sees every work can narrow the list. Two statements."""
    require(viewer.role, Deed.SEE_ALL_WORKS)
    found: Sequence[NamedChoice] = choices_of_remats(session)
    return RematChoices(place_tree(session), {(one.kind, one.name): one.id for one in found})


def questions_of_owners(session: Session, viewer: Viewer) -> list[AskedByOwner]:
    """Return what owners have asked of remats and nobody has answered, the oldest first."""
    require(viewer.role, Deed.SEE_ALL_WORKS)
    return asked_by_owners(session, viewer, limit=MOST_QUESTIONS)


def chosen_to_remat(
    session: Session, viewer: Viewer, work_ids: Sequence[int], *, today: int
) -> tuple[RematShown, ...]:
    """Return the rows of these works, the greatest risk reduced first."""
    require(viewer.role, Deed.READ)
    tree = place_tree(session)
    rows = remat_rows_of(session, viewer, list(dict.fromkeys(work_ids))) if work_ids else []
    found = sorted(rows, key=lambda row: (-(row.reduced or 0.0), -row.work_id))
    opened = _while_open(session, viewer, tree, found, today=today)
    return tuple(_shown(tree, row, opened[row.work_id]) for row in found)


def read_remat(session: Session, viewer: Viewer, work_id: int, *, today: int) -> RematShown:
    """Return the row of one work, listed or not. Raises NotFound."""
    require(viewer.role, Deed.READ)
    rows = remat_rows_of(session, viewer, [work_id])
    if not rows:
        raise NotFound("work", work_id)
    (row,) = rows
    tree = place_tree(session)
    return _shown(tree, row, _while_open(session, viewer, tree, [row], today=today)[work_id])


def say_of_remat(
    session: Session,
    viewer: Viewer,
    work_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> RematShown:
    """Keep what somebody says of a remat. Raises NotFound, Stale, NotAllowed, BadValue."""
    require(viewer.role, Deed.ANSWER_FOR_REMAT)
    # The work is held, so that of two who say something first only one makes the row.
    get_work_to_change(session, viewer, work_id)
    kept = read_remat(session, viewer, work_id, today=today)
    remat = find_remat(session, work_id)
    refuse_stale(remat or Remat(work_id=work_id, version=0), based_on, theirs=kept)
    told = merged(_ready(kept, changes), changes)
    require_may_say(viewer.role, told.state, quotes_anew=told.quote != kept.quote)
    on = today if told.on is None else told.on
    said = said_in_full(
        RematSaid(state=told.state, on=on, until=told.until, quote=told.quote, why=told.why),
        today=today,
    )
    by_id = _person(session, viewer, told.by)
    _keep(session, remat, work_id, said, by_id)
    return read_remat(session, viewer, work_id, today=today)


def answer_remats(
    session: Session,
    viewer: Viewer,
    seen: Mapping[int, int],
    changes: Mapping[str, object],
    *,
    today: int,
) -> tuple[RematShown, ...]:
    """Keep one answer for several remats: all of them, or none. `seen`: work to version.

    Raises NotFound, Stale, NotAllowed, BadValue.
    """
    return tuple(
        say_of_remat(session, viewer, work_id, changes, based_on=version, today=today)
        for work_id, version in sorted(seen.items())
    )


def close_remats(
    session: Session, work_ids: Collection[int], *, remounted: Collection[int], today: int
) -> None:
    """Say of remats that they are done: of works mounted anew, or with nothing left to gain.

    In the jobs in which they wait, works mounted anew are ticked; a job whose last work is
    ticked is done.
    """
    if not ask(session, _ANYTHING_WAITS, [*work_ids, *remounted]).scalar_one():
        return
    _tick_in_jobs(session, remounted, today)
    rows = list(session.exec(_OPEN, params={"wanted": list(work_ids)}))
    if not rows:
        return
    still = set(
        session.exec(
            select(RematScore.work_id).where(
                col(RematScore.work_id).in_([row.work_id for row in rows]),
                col(RematScore.is_listed),
            )
        )
    )
    said = said_in_full(RematSaid(state=RematState.DONE, on=today), today=today)
    for row in rows:
        if row.work_id in remounted or row.work_id not in still:
            _remember(session, row, today)
            _keep(session, row, row.work_id, said, row.by_id)


def _remember(session: Session, row: Remat, today: int) -> None:
    """Note what had become of a remat before it is done; of an earlier time nothing is asked."""
    session.execute(delete(_BEFORE).where(_BEFORE.c.work_id == row.work_id))
    before = {name: getattr(row, name) for name in SAID_OF_REMAT}
    session.add(RematBefore(work_id=row.work_id, done_on=today, **before))


def reopen_remat(session: Session, work_id: int, *, remounted_on: int) -> None:
    """Let a remat be again what it was before the remount of that day, which was withdrawn.

    What somebody has said of it since stands.
    """
    found = select(RematBefore).where(RematBefore.work_id == work_id)
    before = session.exec(found.where(RematBefore.done_on == remounted_on)).first()
    remat = find_remat(session, work_id)
    if before is None or remat is None:
        return
    if remat.state is RematState.DONE and remat.said_on == remounted_on:
        write(remat, {name: getattr(before, name) for name in SAID_OF_REMAT})
    session.delete(before)
    session.flush()


def _tick_in_jobs(session: Session, remounted: Collection[int], today: int) -> None:
    waiting = waiting_in_jobs(session, remounted) if remounted else []
    if not waiting:
        return
    for work in waiting:
        write(work, {"outcome": RematJobOutcome.REMOUNTED, "done_on": today})
    session.flush()
    for job_id in sorted({work.job_id for work in waiting}):
        if all(work.outcome != RematJobOutcome.TO_DO for work in works_of_job(session, job_id)):
            write(get_remat_job(session, job_id, to_change=True), {"state": RematJobState.DONE})
    session.flush()


def untick_in_jobs(session: Session, work_id: int, *, remounted_on: int) -> None:
    """Say in its jobs that a work is to do again: the remount of that day was withdrawn.

    A job that was done by it is open again; one that was dropped stays so.
    """
    ticked = remounted_in_jobs(session, work_id, remounted_on)
    for work in ticked:
        write(work, {"outcome": RematJobOutcome.TO_DO, "done_on": None})
        job = get_remat_job(session, work.job_id, to_change=True)
        if job.state == RematJobState.DONE:
            write(job, {"state": RematJobState.OPEN})


_BEFORE = SQLModel.metadata.tables[str(RematBefore.__tablename__)]
SAID_OF_REMAT = ("state", "said_on", "until_on", "quote", "by_id", "why")
# One statement for what most works have neither of: a remat, or a place in a job.
_ANYTHING_WAITS = columns(
    or_(
        columns(col(Remat.id))
        .where(col(Remat.work_id).in_(WANTED), col(Remat.state) != RematState.DONE)
        .exists(),
        columns(col(RematJobWork.id))
        .where(
            col(RematJobWork.work_id).in_(WANTED),
            col(RematJobWork.outcome) == RematJobOutcome.TO_DO,
        )
        .exists(),
    )
)
_OPEN = select(Remat).where(col(Remat.work_id).in_(WANTED), col(Remat.state) != RematState.DONE)


def batches_of(rows: Sequence[RematShown]) -> Batches:
    """Return which of these rows are best done together."""
    return batches([batch_facts(row) for row in rows])


def batch_facts(row: RematShown) -> RematToBatch:
    """Return a row as far as it may be done together with others."""
    return RematToBatch(
        work_id=row.work_id,
        board=row.board,
        room=row.place or "",
        height_mm=row.height_mm,
        width_mm=row.width_mm,
    )


def _asked(
    session: Session,
    viewer: Viewer,
    tree: PlaceTree,
    filters: RematFilter,
    keys: Mapping[tuple[str, str], int],
) -> RematsAsked:
    faults = Faults()

    def read(kind: str, name: str) -> int | None:
        known = keys.get((kind, name))
        if known is not None or not name:
            return known
        return faults.read(f"/{kind}", lambda asked: key_of(_NAMED[kind](session, asked)), name)

    place_id = faults.read_if_given(
        "/place", lambda path: place_seen_at(session, viewer, tree, path), filters.place or None
    )
    # An owner sees their own whatever is asked, and is told no other names.
    owner_id = read("owner", filters.owner) if sees_all_works(viewer) else None
    technique_id = read("technique", filters.technique)
    method_id = read("method", filters.method)
    material_id = read("material", filters.material)
    lot_ids = faults.read_if_given("/lot", _lots(session, material_id), filters.lot or None)
    asked = RematsAsked(
        owner_id=owner_id,
        place_ids=None if place_id is None else tree.below(place_id),
        technique_id=technique_id,
        method_id=method_id,
        material_id=material_id,
        lot_ids=lot_ids,
        state=filters.state,
    )
    faults.refuse()
    return asked


_NAMED: Mapping[str, Callable[[Session, str], SQLModel]] = {
    "owner": owner_named,
    "technique": technique_named,
    "method": mount_method_named,
    "material": material_named,
}


def _best_use(
    session: Session, viewer: Viewer, asked: RematsAsked, at_hand: AtHand, *, today: int
) -> ChosenRemats:
    rows = weighed_remats(session, viewer, asked, today=today, limit=MOST_WEIGHED)
    by_money = at_hand.hours is None
    candidates = [
        Candidate(row.work_id, row.cost if by_money else row.hours, row.reduced) for row in rows
    ]
    found = best_use(candidates, (at_hand.money if by_money else at_hand.hours) or 0.0)
    named = {row.work_id: (row.work_id, row.number, row.title) for row in rows}
    return ChosenRemats(
        works=tuple(named[work_id] for work_id in found.work_ids),
        takes=found.takes,
        reduced=found.reduced,
        rule=RULE.format(unit="unit of money" if by_money else "hour"),
    )


def _lots(session: Session, material_id: int | None) -> Callable[[str], tuple[int, ...]]:
    """Return what finds the lots of a number, of one material if one is asked for."""

    def find(number: str) -> tuple[int, ...]:
        found = select(Lot.id).where(Lot.number == number)
        if material_id is not None:
            found = found.where(Lot.material_id == material_id)
        ids = tuple(key for key in session.exec(found) if key is not None)
        if not ids:
            raise UnknownWord("lot", number)
        return ids

    return find


def _while_open(
    session: Session,
    viewer: Viewer,
    tree: PlaceTree,
    rows: Sequence[RematRow],
    *,
    today: int,
) -> dict[int, tuple[str, ...]]:
    """Return, by work, what makes a remat half done already."""
    said: dict[int, list[str]] = defaultdict(list)
    packages = {row.package_id for row in rows if row.package_id is not None}
    if packages:
        together: dict[int, list[tuple[int, str]]] = defaultdict(list)
        for neighbour in works_of_packages(session, viewer, sorted(packages)):
            together[neighbour.package_id].append((neighbour.work_id, neighbour.number))
        for row in rows:
            others = [n for key, n in together[row.package_id or 0] if key != row.work_id]
            if others:
                said[row.work_id].append(f"in the same package: {', '.join(others)}")
    if rows:
        leaving = works_leaving(
            session,
            [row.work_id for row in rows],
            first_day=today,
            last_day=today + LEAVES_WITHIN_DAYS,
        )
        for work_id, place_id, on in leaving:
            where = f" for {tree.path(place_id)}" if sees_all_works(viewer) else ""
            said[work_id].append(f"it leaves its place on {day_in_words(on)}{where}")
    return defaultdict(tuple, {work_id: tuple(lines) for work_id, lines in said.items()})


def _shown(tree: PlaceTree, row: RematRow, while_open: tuple[str, ...]) -> RematShown:
    state = row.state or RematState.PROPOSED
    advice = LEAVE_IT if row.leave_it else REPRINT if row.may_reprint else ""
    return RematShown(
        work_id=row.work_id,
        number=row.number,
        title=row.title,
        owner=row.owner,
        place=None if row.place_id is None else tree.path(row.place_id),
        reduced=row.reduced,
        lost_now=row.lost_now,
        lost_then=row.lost_then,
        risk_of_remat=row.risk_of_remat,
        chance_now=row.chance_now,
        chance_then=row.chance_then,
        scored_on=row.score_day,
        hours=row.hours,
        cost=row.cost,
        cure=row.cure,
        reason=row.reason or "",
        weak_layer=row.weak_layer or "",
        method=row.method or "",
        board=row.board or "",
        swaps=_lines(row.swaps),
        kept_because=_lines(row.kept_because),
        ask_before=_lines(row.ask_before),
        advice=advice,
        state=state,
        state_said=in_a_sentence(
            state,
            on=row.said_on,
            until=row.until_on,
            quote=row.quote,
            by=row.by or "",
            by_owner=row.by_role is Role.OWNER,
            why=row.why or "",
        ),
        on=row.said_on,
        until=row.until_on,
        quote=row.quote,
        by=row.by,
        why=row.why or "",
        version=row.version or 0,
        height_mm=size_mm(row.height_um),
        width_mm=size_mm(row.width_um),
        while_open=while_open,
    )


def _lines(text: str | None) -> tuple[str, ...]:
    return tuple(text.splitlines()) if text else ()


def _ready(kept: RematShown, changes: Mapping[str, object]) -> RematTold:
    """Return what is kept, ready to be changed: another state begins with nothing said of it."""
    if changes.get("state", kept.state) != kept.state:
        return RematTold(state=kept.state, quote=kept.quote)
    return RematTold(
        state=kept.state,
        on=kept.on,
        until=kept.until,
        quote=kept.quote,
        by=kept.by,
        why=kept.why,
    )


def _person(session: Session, viewer: Viewer, name: str | None) -> int | None:
    if name is None:
        return viewer.person_id
    # Names of people are no owner's to look up.
    if not may(viewer.role, Deed.SEE_ALL_WORKS):
        message = "An owner says it in their own name."
        raise BadValue(message, [Fault("/by", message, "Leave it out.")])
    faults = Faults()
    by_id = faults.read("/by", lambda given: key_of(person_named(session, given)), name)
    faults.refuse()
    return by_id


def _keep(
    session: Session, remat: Remat | None, work_id: int, said: RematSaid, by_id: int | None
) -> None:
    row = remat or Remat(work_id=work_id, state=said.state)
    write(
        row,
        {
            "state": said.state,
            "said_on": said.on,
            "until_on": said.until,
            "quote": said.quote,
            "by_id": by_id,
            "why": said.why,
        },
    )
    session.add(row)
    session.flush()
