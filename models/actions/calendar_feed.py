"""What is due as a calendar, and who has a key to it?

A key opens the feed of one person and nothing else. It is shown once and kept as a
digest; ending it closes the feed at once. The feed says numbers and dates only: what
leaves the house in a calendar is read on telephones and by their makers.
"""

from collections.abc import Iterator, Sequence

from sqlmodel import Session, col, select

from models.actions.due import boxes_to_check, first_survey
from models.actions.sign_ins import digest, new_secret
from models.errors import NotFound
from models.exchange.calendar import CalendarEntry
from models.rules.calendar_days import add_months, day_date
from models.rules.permissions import Deed, require
from models.rules.record_values import a_name
from models.tables.due import ORDER_ON_A_DAY, DueRow, due_rows
from models.tables.feeds import FeedKey, feed_keys_of, holder_of, moves_of
from models.tables.register import codes_of
from models.tables.visible import Viewer
from models.vocabulary import DueKind

# What lies further ahead will have moved before anybody reads it. Default of this project.
MONTHS_AHEAD = 24
MOST_EVENTS = 5_000
# A day long before the first installation: the survey's count of changes rises with the days.
_FIRST_DAY = 20_000
# More days than anything stays overdue: so a move counts for more than any number of days.
_DAYS_OF_A_MOVE = 100_000


def add_feed_key(session: Session, viewer: Viewer, name: str, *, today: int) -> tuple[FeedKey, str]:
    """Make a key to this person's own feed; the key itself cannot be shown again."""
    require(viewer.role, Deed.READ)
    secret = new_secret()
    key = FeedKey(
        person_id=viewer.person_id,
        name=a_name("key")(name),
        key_sha256=digest(secret),
        made_on=today,
    )
    session.add(key)
    session.flush()
    return key, secret


def feed_keys(session: Session, viewer: Viewer) -> Sequence[FeedKey]:
    """Return the keys to this person's feed that still open it."""
    require(viewer.role, Deed.READ)
    return feed_keys_of(session, viewer.person_id)


def end_feed_key(session: Session, viewer: Viewer, key_id: int) -> None:
    """Close the feed to a key of this person. Raises NotFound."""
    require(viewer.role, Deed.READ)
    found = select(FeedKey).where(FeedKey.id == key_id, FeedKey.person_id == viewer.person_id)
    key = session.exec(found.where(~col(FeedKey.ended)).with_for_update()).first()
    if key is None:
        raise NotFound("feed key", key_id)
    key.ended = True


def feed_of_key(session: Session, key: str, *, today: int) -> list[CalendarEntry]:
    """Return what the holder of this key has to do. Raises NotFound for no key in force."""
    holder = holder_of(session, digest(key))
    if holder is None:
        raise NotFound("calendar", "this key opens")
    person_id, role, owner_id = holder
    return feed_of(session, Viewer(person_id, role, owner_id), today=today)


def feed_of(session: Session, viewer: Viewer, *, today: int) -> list[CalendarEntry]:
    """Return every date until some months ahead, past ones that nobody did too."""
    require(viewer.role, Deed.READ)
    until = add_months(today, MONTHS_AHEAD)
    kinds = [kind for kind in ORDER_ON_A_DAY if kind is not DueKind.BOX_CHECK]
    rows = due_rows(session, viewer, kinds, until=until, after=None, limit=MOST_EVENTS)
    works = sorted({row.work_id for row in rows})
    codes, moves = codes_of(session, works), moves_of(session, works)
    entries = [_entry(row, codes[row.work_id], moves.get(row.work_id, 0), today) for row in rows]
    entries += _boxes(session, viewer, today, until)
    return [*entries, *_survey(session, viewer, today)]


def _entry(row: DueRow, code: str, moves: int, today: int) -> CalendarEntry:
    """Return one date; one that is past stands on today, and its count rises with the days."""
    kind = ORDER_ON_A_DAY[row.kind_no]
    uid = f"{code}-{kind.replace(' ', '-')}"
    if row.incident_id:
        # An incident asks for several looks; each keeps its day for good.
        uid = f"{uid}-{row.incident_id}-{row.on}"
    overdue = min(max(0, today - row.on), _DAYS_OF_A_MOVE - 1)
    return CalendarEntry(
        uid=uid,
        on=day_date(max(row.on, today)),
        summary=f"{row.number}: {kind}{' (overdue)' if overdue else ''}",
        sequence=_sequence(kind, moves, overdue, today),
    )


def _sequence(kind: DueKind, moves: int, overdue: int, today: int) -> int:
    # Light is counted every day, and where the year's is used up the day goes along with today.
    if kind is DueKind.TAKE_DOWN:
        return max(0, today - _FIRST_DAY)
    return moves * _DAYS_OF_A_MOVE + overdue


def _boxes(session: Session, viewer: Viewer, today: int, until: int) -> Iterator[CalendarEntry]:
    for box in boxes_to_check(session, viewer):
        if box.on <= until:
            works = f"{box.works} {'work' if box.works == 1 else 'works'}"
            yield CalendarEntry(
                uid=f"box-{box.place_id}",
                on=day_date(max(box.on, today)),
                summary=f"{DueKind.BOX_CHECK}: {works}",
                # A box moves when it was checked, so its day itself counts upward.
                sequence=max(0, max(box.on, today) - _FIRST_DAY),
            )


def _survey(session: Session, viewer: Viewer, today: int) -> Iterator[CalendarEntry]:
    survey = first_survey(session, viewer, today=today, limit=1)
    if survey.all_seen_by is not None:
        works = f"{survey.waiting} {'work' if survey.waiting == 1 else 'works'}"
        yield CalendarEntry(
            uid="first-survey",
            on=day_date(survey.all_seen_by),
            summary=f"{DueKind.FIRST_SURVEY}: {works} seen by now",
            sequence=max(0, today - _FIRST_DAY),
        )
