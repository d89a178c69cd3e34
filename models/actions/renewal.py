"""When is a stored forecast worked out anew, and by whom?

A change that touches few works refreshes them in its own transaction. One that touches
many only marks them there, and whoever serves works the marks off in batches. Once a
night everything follows what a year of seeing has taught: first the experience factors,
then every forecast, the oldest first; it may stop at any batch and goes on from there.
Where no experience factor in use has changed, a night renews forecasts from their kept
rows. Only works of which more than a chance moved, and those whose remat score is of
another stock or has grown old, are worked out from their records, scores and all; so
each work is within some weeks. A factor that changed touches every score, by what the
house could put in place of what is there: then all works are marked.
Only one works at a time: it holds a lease, which ends by itself when its holder has died.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time, timedelta

from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.bulk_renewal import renew_works
from models.actions.change_log import recording
from models.actions.drafts import clear_old_drafts
from models.actions.forecasts import refresh_forecasts
from models.actions.in_force import in_force
from models.actions.light_ledgers import take_down_days
from models.actions.own_evidence import renew_experience, what_mounts_say
from models.actions.remat_scores import works_with_good_scores
from models.actions.walk_drafts import clear_old_walks
from models.database import read_session, write_session
from models.rules.calendar_days import day_number
from models.tables.forecasts import keep_take_downs
from models.tables.reminders import forget_reminders
from models.tables.renewal import (
    any_stale,
    done_day_of,
    lease_of,
    mark_all_works,
    mark_works,
    oldest_forecasts,
    take_stale,
)

# More works than that are not worked out while somebody waits for an answer.
AT_ONCE = 200
# Works for each transaction of whoever works marks off: others wait so long at most.
BATCH = 2000
# How long it is known what was sent to whom.
REMINDERS_KEPT_DAYS = 365
# Long enough for any batch; whoever died is followed after that.
LEASE_LASTS = timedelta(minutes=2)

FORECASTS, EXPERIENCE = "forecasts", "experience"
ACTOR = "renewal"


def refresh_or_mark(session: Session, work_ids: list[int], *, today: int) -> None:
    """Work these works out anew, or mark them to be worked out when they are many."""
    if len(work_ids) > AT_ONCE:
        # What they are worked out from later stands in the database, as it does after the other.
        session.flush()
        mark_works(session, work_ids)
    else:
        refresh_forecasts(session, work_ids, today=today)


def refresh_or_mark_all(session: Session, *, today: int) -> int:
    """Do the same with every work; return how many were only marked."""
    works = oldest_forecasts(session, None, AT_ONCE + 1)
    if len(works) > AT_ONCE:
        return mark_all_works(session)
    refresh_forecasts(session, works, today=today)
    return 0


def work_off_marks(engine: Engine, *, today: int, most: int | None = None) -> int:
    """Work out one batch of the works marked, and return how many they were."""
    with write_session(engine) as session:
        works = take_stale(session, BATCH if most is None else most)
        refresh_forecasts(session, works, today=today)
    return len(works)


def take_lease(engine: Engine, name: str, *, holder: str, now: datetime) -> bool:
    """Take a lease, or hold on to it; say whether it is this holder's now."""
    with write_session(engine) as session:
        lease = lease_of(session, name)
        if lease.holder not in ("", holder) and lease.until > now:
            return False
        lease.holder, lease.until = holder, now + LEASE_LASTS
    return True


def give_back(engine: Engine, name: str, *, holder: str, now: datetime) -> None:
    """Let others have the lease at once, if it is this holder's."""
    with write_session(engine) as session:
        lease = lease_of(session, name)
        if lease.holder == holder:
            lease.holder, lease.until = "", now


def night_of(local: datetime, renew_at: time) -> int:
    """Return the day whose nightly renewal has begun last, in the time of the installation."""
    begun = local.date() if local.time() >= renew_at else local.date() - timedelta(days=1)
    return day_number(begun)


@dataclass(frozen=True, kw_only=True)
class Renewer:
    """Whoever works forecasts out in the background; `clock` gives the local time, aware."""

    engine: Engine
    holder: str
    clock: Callable[[], datetime]
    renew_at: time

    def turn(self) -> bool:
        """Do one batch of what is to be done; say whether there may be more."""
        now = self.clock()
        today, night = day_number(now.date()), night_of(now, self.renew_at)
        with read_session(self.engine) as session:
            is_marked = any_stale(session)
            is_due = {name: _is_due(session, name, night) for name in (EXPERIENCE, FORECASTS)}
        if not is_marked and not any(is_due.values()):
            return False
        if not take_lease(self.engine, FORECASTS, holder=self.holder, now=now):
            return False
        if is_marked:
            work_off_marks(self.engine, today=today)
        elif is_due[EXPERIENCE]:
            renew_factors(self.engine, today=today, now=now, night=night, hold_on=self._hold_on)
        else:
            renew_oldest(self.engine, today=today, night=night)
        return True

    def mark_all(self) -> None:
        """Learn from own mounts anew, and mark every work: as a night does, but all at once."""
        now = self.clock()
        night = night_of(now, self.renew_at)
        renew_factors(self.engine, today=day_number(now.date()), now=now, night=night)
        with write_session(self.engine) as session:
            mark_all_works(session)
            lease_of(session, FORECASTS).done_day = night

    def work_off(self) -> bool:
        """Work off one batch of marks; say whether it was this holder's turn."""
        now = self.clock()
        if not take_lease(self.engine, FORECASTS, holder=self.holder, now=now):
            return False
        work_off_marks(self.engine, today=day_number(now.date()))
        return True

    def _hold_on(self) -> None:
        # Were it another's by now, both would find the same and store it one after the other.
        take_lease(self.engine, FORECASTS, holder=self.holder, now=self.clock())

    def stop(self) -> None:
        """Let another go on."""
        give_back(self.engine, FORECASTS, holder=self.holder, now=self.clock())


def _is_due(session: Session, name: str, night: int) -> bool:
    done = done_day_of(session, name)
    return done is None or done < night


def renew_factors(
    engine: Engine,
    *,
    today: int,
    now: datetime,
    night: int,
    hold_on: Callable[[], object] | None = None,
) -> None:
    """Learn from all records anew what own mounts say of each grade.

    That may take longer than a lease lasts: `hold_on` renews it, after every few hundred works.
    """
    with read_session(engine) as session:
        said = what_mounts_say(session, hold_on)
    with recording(engine, actor=ACTOR, now=now) as session:
        clear_old_drafts(session, now=now)
        clear_old_walks(session, now=now)
        forget_reminders(session, before=today - REMINDERS_KEPT_DAYS)
        if renew_experience(session, today, said):
            mark_all_works(session)
        lease_of(session, EXPERIENCE).done_day = night


def renew_oldest(engine: Engine, *, today: int, night: int) -> int:
    """Work out the forecasts of the days farthest back; note the night as done after the last."""
    with write_session(engine) as session:
        works = oldest_forecasts(session, today, BATCH)
        renewed = _renewed_from_rows(session, works, today)
        others = [key for key in works if key not in renewed]
        refresh_forecasts(session, others, today=today)
        if len(works) < BATCH:
            lease_of(session, FORECASTS).done_day = night
    return len(works)


def _renewed_from_rows(session: Session, works: list[int], today: int) -> frozenset[int]:
    """Renew what can be from kept rows, and return the works of which nothing else is to do."""
    good = works_with_good_scores(session, works, today=today)
    force = in_force(session)
    done = renew_works(
        session.connection(),
        force.figures,
        force.policy,
        force.experience,
        today,
        [key for key in works if key in good],
    )
    kept = done.work_ids - done.moved_ids
    keep_take_downs(session, take_down_days(session, sorted(kept), today=today))
    return kept
