"""Works in mats of groundwood, opened and found clear or burnt, for tests of own evidence."""

from sqlmodel import Session, select

from models.tables.findings import Finding, Sighting
from models.tables.materials import Material
from models.tables.mounts import Layer, Mount, Package
from models.tables.terms import FindingTerm
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import (
    Answer,
    CauseMount,
    Change,
    LayerRole,
    Mechanism,
    Shown,
    Side,
    VisitKind,
)
from tests.builders import a_hold, a_layer, a_material, a_mount, a_visit, added, key_of

ACID = Mechanism.ACID_MIGRATION
GROUNDWOOD = "groundwood board"
RAG = "cotton rag board, buffered"
SAW_ALL = {
    f"seen_{place.replace(' ', '_')}": True for place in Shown if place is not Shown.BACK_OF_FRAME
}


def a_board(session: Session, grade: str = GROUNDWOOD) -> Material:
    """A board of this grade; the one on record if there is one."""
    name = f"Board, {grade}"
    found = session.exec(select(Material).where(Material.name == name)).first()
    return found or a_material(session, name, grade=grade)


def a_mat_of(
    session: Session,
    work: Work,
    grade: str = GROUNDWOOD,
    *,
    mounted: str = "2010-05-01",
    dismounted: str | None = None,
    **columns: object,
) -> tuple[Mount, Layer]:
    """A window mat of this grade before a work that lies on a rag board, pasted hinges."""
    package = added(session, Package(in_front=Answer.THIS, behind=Answer.THIS))
    mount = a_mount(
        session,
        work,
        package=package,
        mounted=mounted,
        dismounted=dismounted,
        held=Answer.THIS,
        **columns,
    )
    mat = a_layer(session, mount, a_board(session, grade), role=LayerRole.WINDOW_MAT)
    a_layer(session, mount, role=LayerRole.WORK)
    a_layer(session, mount, a_board(session, RAG))
    a_hold(session, mount)
    return mount, mat


def opened(session: Session, work: Work, on: str, **seen: bool) -> Visit:
    """An unframing that saw all inside, unless it is said what."""
    return a_visit(session, work, on=on, kind=VisitKind.UNFRAMING, **(seen or SAW_ALL))


def a_burn_term(session: Session) -> FindingTerm:
    """The word mat burn; the one on record if it is there."""
    found = session.exec(select(FindingTerm).where(FindingTerm.term == "mat burn")).first()
    term = FindingTerm(
        term="mat burn",
        suggests_mechanism=ACID,
        shows_through_glazing="part",
        urgency="soon",
        applies_to="both",
    )
    return found or added(session, term)


def a_burn(
    session: Session,
    work: Work,
    visit: Visit,
    change: Change = Change.NEW,
    *,
    of: Mount | None = None,
    mount: CauseMount | None = CauseMount.THIS,
    mechanism: Mechanism | None = ACID,
    follows: bool = False,
) -> Finding:
    """A mat burn with its first sighting; no mechanism: nobody confirmed the cause."""
    finding = Finding(
        work_id=key_of(work),
        finding_no=1,
        term_id=key_of(a_burn_term(session)),
        side=Side.RECTO,
        follows_window_edge=follows,
        cause_mechanism=mechanism,
        cause_mount=None if mechanism is None else mount,
        cause_mount_id=None if of is None else key_of(of),
    )
    added(session, finding)
    seen_again(session, finding, visit, change)
    return finding


def seen_again(session: Session, finding: Finding, visit: Visit, change: Change) -> None:
    """A further sighting of a finding."""
    row = Sighting(finding_id=key_of(finding), visit_id=key_of(visit), change=change)
    added(session, row)
