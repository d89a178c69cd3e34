"""Works that are to be rematted, for tests: a print behind groundwood board since 2010."""

from collections.abc import Sequence

from sqlmodel import Session, select

from models.actions.forecasts import refresh_forecasts
from models.rules.calendar_days import day_number
from models.tables.materials import Lot, Material
from models.tables.mounts import Package
from models.tables.works import Work
from models.vocabulary import Answer
from tests.builders import a_material, a_poor_mount, a_visit, a_work, key_of
from tests.with_app import TODAY

NOW = day_number(TODAY)
POOR = "Groundwood board"


def a_poor_board(session: Session) -> Material:
    """The groundwood board of these tests."""
    found = session.exec(select(Material).where(Material.name == POOR)).first()
    return found or a_material(session, POOR, grade="groundwood board", buffered=None)


def a_work_to_remat(session: Session, *, lot: Lot | None = None, **work: object) -> Work:
    """A work behind groundwood that was seen at the margins, with its forecast stored."""
    row = a_work(session, **work)  # type: ignore[arg-type]
    mount = a_poor_mount(session, row, a_poor_board(session), lot=lot)
    package = session.get_one(Package, mount.package_id)
    package.in_front = package.behind = Answer.THIS
    a_visit(session, row, on="2020-05-01", seen_front=True, seen_margins=True)
    refresh(session, [row])
    return row


def refresh(session: Session, works: Sequence[Work]) -> None:
    """Work the forecasts out anew, and with them what a remat would gain."""
    refresh_forecasts(session, [key_of(work) for work in works], today=NOW)
