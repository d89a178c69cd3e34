"""How does an import go on behind the page that began it, and what does it say meanwhile?

A row tells how far it is, so that its page can be asked anew, from another machine too. The
file is read outside of any transaction; all that it changes is one transaction, so that an
import which is cut off has changed nothing and can be begun again.
"""

import json
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlmodel import Session

from api.installation import Installation
from api.logger_uploads import read_kept
from models.actions.change_log import recording
from models.actions.climate import FileSent, import_readings
from models.actions.places import read_place
from models.actions.record_changes import key_of
from models.database import read_session, write_session
from models.errors import HingebookError, NotFound
from models.exchange.logger_file import (
    Choices,
    DateOrder,
    DecimalSign,
    LoggerClock,
    Quantity,
    Unit,
)
from models.rules.calendar_days import day_number
from models.rules.permissions import Deed, require
from models.tables.climate import ReadingJob
from models.tables.visible import Viewer

# An import that has not been heard of for so long was cut off with its server.
CUT_OFF_AFTER = timedelta(minutes=3)
FAILED_OF_ITSELF = "The server could not finish it; its log says why. Nothing of it was kept."


class JobState(StrEnum):
    """How far an import is."""

    WAITING = "waiting"
    READING = "reading the file"
    STORING = "storing the readings"
    DONE = "done"
    FAILED = "failed"
    CUT_OFF = "cut off"


UNDER_WAY = (JobState.WAITING, JobState.READING, JobState.STORING)


@dataclass(frozen=True, kw_only=True)
class JobShown:
    """An import under way, as its page shows it."""

    id: int
    place_id: int
    file_digest: str
    file_name: str
    state: JobState
    rows: int | None
    message: str
    import_id: int | None

    @property
    def is_under_way(self) -> bool:
        """Whether there is something to wait for."""
        return self.state in UNDER_WAY

    @property
    def step(self) -> int:
        """How many of the three steps are done."""
        return UNDER_WAY.index(self.state) + 1 if self.is_under_way else len(UNDER_WAY)


def begin_job(
    session: Session, viewer: Viewer, place_id: int, sent: FileSent, choices: Choices, now: datetime
) -> int:
    """Write down that an import begins, and return its number."""
    require(viewer.role, Deed.IMPORT_READINGS)
    read_place(session, viewer, place_id)
    job = ReadingJob(
        place_id=place_id,
        file_digest=sent.digest,
        file_name=sent.name or "unnamed",
        choices=json.dumps(asdict(choices)),
        by_id=viewer.person_id,
        state=JobState.WAITING.value,
        begun_at=now,
        seen_at=now,
    )
    session.add(job)
    session.flush()
    return key_of(job)


def job_shown(
    session: Session, viewer: Viewer, place_id: int, job_id: int, now: datetime
) -> JobShown:
    """Return how far an import is. Raises NotFound."""
    read_place(session, viewer, place_id)
    job = session.get(ReadingJob, job_id)
    if job is None or job.place_id != place_id:
        raise NotFound("import", job_id)
    state = JobState(job.state)
    if state in UNDER_WAY and now - job.seen_at > CUT_OFF_AFTER:
        state = JobState.CUT_OFF
    return JobShown(
        id=job_id,
        place_id=place_id,
        file_digest=job.file_digest,
        file_name=job.file_name,
        state=state,
        rows=job.rows,
        message=job.message,
        import_id=job.import_id,
    )


def run_job(here: Installation, viewer: Viewer, job_id: int, sent: FileSent) -> None:
    """Read the file and bring its readings in; whatever happens stands in the job's row."""
    try:
        _bring_in(here, viewer, job_id, sent)
    except HingebookError as error:
        _note(here, job_id, state=JobState.FAILED.value, message=error.message)
    except Exception:
        _note(here, job_id, state=JobState.FAILED.value, message=FAILED_OF_ITSELF)
        raise


def _bring_in(here: Installation, viewer: Viewer, job_id: int, sent: FileSent) -> None:
    with read_session(here.engine) as session:
        job = session.get_one(ReadingJob, job_id)
        place_id, choices = job.place_id, choices_kept(job.choices)
    _note(here, job_id, state=JobState.READING.value)
    file = read_kept(here, sent.digest, choices)
    _note(here, job_id, state=JobState.STORING.value, rows=file.rows)
    now = here.clock()
    with recording(here.engine, actor=f"person:{viewer.person_id}", now=now) as session:
        done = import_readings(
            session,
            viewer,
            place_id,
            sent,
            file,
            choices,
            now=now,
            today=day_number(here.settings.day_at(now)),
        )
        job = session.get_one(ReadingJob, job_id)
        job.state, job.import_id, job.seen_at = JobState.DONE.value, done.on_record.id, now
        job.message = "This file was on record already; nothing was changed." * done.is_again


def _note(here: Installation, job_id: int, **columns: Any) -> None:
    with write_session(here.engine) as session:
        job = session.get_one(ReadingJob, job_id)
        for name, value in columns.items():
            setattr(job, name, value)
        job.seen_at = here.clock()


def choices_kept(told: str) -> Choices:
    """Return choices as they are kept in a row."""
    kept = json.loads(told)
    return Choices(
        time_zone=kept["time_zone"],
        clock=LoggerClock(kept["clock"]),
        date_order=kept["date_order"] and DateOrder(kept["date_order"]),
        unit=kept["unit"] and Unit(kept["unit"]),
        decimal=kept["decimal"] and DecimalSign(kept["decimal"]),
        columns=kept["columns"] and tuple((Quantity(name), n) for name, n in kept["columns"]),
        not_after=kept["not_after"],
    )
