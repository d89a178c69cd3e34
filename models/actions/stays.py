"""Where did a work go, and when?

A move ends the stay in one place and begins the next on the same half-known
day. A stay that is long over can be told afterwards, with its end. Refused is
only what is certainly wrong: to leave before one came, or to be in two places
at once. A move taken back leaves the work where it was before.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from models.actions.named_records import person_named, place_at
from models.actions.places import place_tree
from models.actions.record_changes import (
    date_columns,
    date_kept,
    key_of,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.actions.renewal import refresh_or_mark
from models.errors import RuleBroken
from models.rules.half_known_dates import HalfKnownDate, in_words, read_date
from models.rules.permissions import Deed, require
from models.rules.place_tree import PlaceTree
from models.rules.record_order import refuse_end_before_start, refuse_future
from models.rules.record_values import Faults, a_note
from models.tables.people import names_of_people
from models.tables.register import (
    get_stay,
    get_work,
    get_works_to_change,
    stays_by_work,
    stays_of_work,
)
from models.tables.visible import Viewer
from models.tables.works import Stay


@dataclass(frozen=True, kw_only=True)
class MoveTold:
    """A move as told: `on` and `until` in EDTF; `until` only for a stay that is over."""

    place: str
    on: str | None = None
    until: str | None = None
    by: str | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class StayOnRecord:
    """A stay as it is shown; `on` and `until` are None where nobody said."""

    id: int
    version: int
    work_id: int
    told: MoveTold
    ended: bool


@dataclass(frozen=True)
class _Move:
    place_id: int
    on: HalfKnownDate | None
    until: HalfKnownDate | None
    by_id: int | None
    note: str


def move_works(
    session: Session, viewer: Viewer, work_ids: Sequence[int], told: MoveTold, *, today: int
) -> list[StayOnRecord]:
    """Record one move of several works, all or none; their new stays, in the order asked.

    Raises NotFound, BadValue, UnknownWord, RuleBroken (`already_there`,
    `in_the_future`, `ended_before_it_began`, `two_places_at_once`).
    """
    require(viewer.role, Deed.MOVE_WORK)
    works = get_works_to_change(session, viewer, work_ids)
    tree = place_tree(session)
    move = _read(session, tree, told, today)
    stays = stays_by_work(session, works)
    if move.until is None:
        _leave(tree, [those[-1] for those in stays.values() if those], move)
        session.flush()
    new = {work_id: _begun(work_id, move) for work_id in stays}
    for work_id, stay in new.items():
        _refuse_two_places(tree, stay, stays[work_id])
    session.add_all(new.values())
    refresh_or_mark(session, list(new), today=today)
    return _shown(session, tree, [new[work_id] for work_id in dict.fromkeys(work_ids)])


def correct_stay(
    session: Session,
    viewer: Viewer,
    stay_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> StayOnRecord:
    """Correct a stay; the stay that it ended follows its first day.

    Raises NotFound, Stale, BadValue, RuleBroken as `move_works`.
    """
    require(viewer.role, Deed.MOVE_WORK)
    stay, others = _held(session, viewer, stay_id)
    tree = place_tree(session)
    (kept,) = _shown(session, tree, [stay])
    refuse_stale(stay, based_on, theirs=kept)
    move = _read(session, tree, merged(kept.told, changes), today)
    before = _stay_ended_by(stay, others)
    write(stay, {**_columns(move), "ended": stay.ended or move.until is not None})
    if before is not None:
        refuse_end_before_start("stay before it", date_kept(before, "since"), move.on or _UNKNOWN)
        write(before, date_columns("ended", move.on))
    _refuse_two_places(tree, stay, others)
    refresh_or_mark(session, [stay.work_id], today=today)
    return _shown(session, tree, [stay])[0]


def withdraw_stay(
    session: Session, viewer: Viewer, stay_id: int, reason: str, *, today: int
) -> None:
    """Take back a move that never was; the work is again where it was before.

    Raises NotFound, BadValue, RuleBroken (`already_withdrawn`).
    """
    require(viewer.role, Deed.WITHDRAW)
    stay, others = _held(session, viewer, stay_id)
    before = None if stay.ended else _stay_ended_by(stay, others)
    withdraw(stay, reason)
    # First the current stay goes, then the one before it becomes current: never two at once.
    session.flush()
    if before is not None:
        write(before, {"ended": False, **date_columns("ended", None)})
    refresh_or_mark(session, [stay.work_id], today=today)


def list_stays(session: Session, viewer: Viewer, work_id: int) -> list[StayOnRecord]:
    """Return where a work has been, as the stays followed each other; the current one last.

    Raises NotFound.
    """
    require(viewer.role, Deed.READ)
    get_work(session, viewer, work_id)
    return _shown(session, place_tree(session), stays_of_work(session, viewer, work_id))


_UNKNOWN = read_date("XXXX")


def _read(session: Session, tree: PlaceTree, told: MoveTold, today: int) -> _Move:
    faults = Faults()
    place_id = faults.read("/place", lambda path: place_at(tree, path), told.place)
    on = faults.read_if_given("/on", read_date, told.on)
    until = faults.read_if_given("/until", read_date, told.until)
    by = faults.read_if_given("/by", lambda name: person_named(session, name), told.by)
    note = faults.read("/note", a_note, told.note)
    faults.refuse()
    assert place_id is not None, "an unknown place was refused"
    for day in (on, until):
        if day is not None:
            refuse_future(day, today, "move")
    if until is not None:
        refuse_end_before_start("stay", on, until)
    return _Move(place_id, on, until, None if by is None else by.id, note or "")


def _leave(tree: PlaceTree, last: Collection[Stay], move: _Move) -> None:
    """End the current stays with the move."""
    for stay in last:
        if stay.ended:
            continue
        if stay.place_id == move.place_id:
            raise RuleBroken(
                f"The work is in {tree.path(stay.place_id)} already; name the place it went to.",
                "already_there",
            )
        refuse_end_before_start("stay before it", date_kept(stay, "since"), move.on or _UNKNOWN)
        write(stay, {"ended": True, **date_columns("ended", move.on)})


def _begun(work_id: int, move: _Move) -> Stay:
    stay = Stay(work_id=work_id, place_id=move.place_id)
    write(stay, _columns(move))
    stay.ended = move.until is not None
    return stay


def _columns(move: _Move) -> dict[str, object]:
    return {
        "place_id": move.place_id,
        "by_id": move.by_id,
        "note": move.note,
        **date_columns("since", move.on),
        **date_columns("ended", move.until),
    }


def _held(session: Session, viewer: Viewer, stay_id: int) -> tuple[Stay, list[Stay]]:
    """Return a stay and the others of its work, which is held until this is kept or dropped."""
    work_id = get_stay(session, viewer, stay_id).work_id
    get_works_to_change(session, viewer, [work_id])
    stays = stays_by_work(session, [work_id])[work_id]
    those = [stay for stay in stays if stay.id == stay_id]
    if not those:
        raise RuleBroken("This move has been withdrawn already.", "already_withdrawn")
    return those[0], [stay for stay in stays if stay.id != stay_id]


def _stay_ended_by(stay: Stay, others: Sequence[Stay]) -> Stay | None:
    """Return the stay that ended when this one began: the one that the move ended."""
    if stay.since_edtf is None:
        return None
    ended = [one for one in others if one.ended and one.ended_edtf == stay.since_edtf]
    return ended[-1] if ended else None


def _refuse_two_places(tree: PlaceTree, stay: Stay, others: Sequence[Stay]) -> None:
    for other in others:
        if _certainly_overlap(stay, other):
            since = date_kept(other, "since")
            when = "" if since is None else f", from {in_words(since)}"
            raise RuleBroken(
                f"The work was in {tree.path(other.place_id)} then{when}; it cannot have been in"
                " two places at once.",
                "two_places_at_once",
            )


def _certainly_overlap(one: Stay, other: Stay) -> bool:
    """Say whether there is a day on which both certainly lasted; a day of moving is of both."""
    starts = [stay.since_last for stay in (one, other)]
    ends = [stay.ended_first for stay in (one, other) if stay.ended]
    if None in starts or None in ends:
        return False
    last_start = max(start for start in starts if start is not None)
    known_ends = [end for end in ends if end is not None]
    return not known_ends or last_start < min(known_ends)


def _shown(session: Session, tree: PlaceTree, stays: Sequence[Stay]) -> list[StayOnRecord]:
    names = names_of_people(session, {stay.by_id for stay in stays if stay.by_id is not None})
    return [
        StayOnRecord(
            id=key_of(stay),
            version=stay.version,
            work_id=stay.work_id,
            told=MoveTold(
                place=tree.path(stay.place_id),
                on=stay.since_edtf,
                until=stay.ended_edtf,
                by=None if stay.by_id is None else names[stay.by_id],
                note=stay.note,
            ),
            ended=stay.ended,
        )
        for stay in stays
    ]
