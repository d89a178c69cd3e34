"""Packages, mounts, layers, holds and unframings for tests of the mounting history."""

from sqlmodel import Session, func, select

from models.rules.half_known_dates import read_date
from models.tables.findings import Finding, Sighting
from models.tables.materials import Lot, Material, MaterialFigures
from models.tables.mounts import Hold, Layer, Mount, Package, Remain
from models.tables.terms import FindingTerm, MountMethod
from models.tables.visits import Visit
from models.tables.works import Work
from models.vocabulary import Change, KnownBy, LayerRole, Severity, VisitKind
from tests.builders import added, key_of

PASTE_HINGES = "paper hinges with starch or cellulose ether"


def dated(name: str, text: str | None) -> dict[str, object]:
    """Return the three columns of a half-known date."""
    if text is None:
        return {}
    date = read_date(text)
    return {
        f"{name}_edtf": text,
        f"{name}_first": date.first_day,
        f"{name}_last": date.last_day,
    }


def a_package(session: Session) -> int:
    return key_of(added(session, Package()))


def a_mount(
    session: Session,
    work: Work,
    package: int,
    *,
    on: str | None = "2005-03-01",
    until: str | None = None,
    method: str | None = None,
    **columns: object,
) -> Mount:
    """A mount of a work; over when there is an `until`. Its number follows the last."""
    last = select(func.max(Mount.mount_no)).where(Mount.work_id == key_of(work))
    row = Mount(
        work_id=key_of(work),
        package_id=package,
        mount_no=(session.exec(last).one() or 0) + 1,
        method_id=_method(session, method) if method else None,
        ended=until is not None,
    )
    for name, value in {**dated("mounted", on), **dated("dismounted", until), **columns}.items():
        setattr(row, name, value)
    return added(session, row)


def _method(session: Session, name: str) -> int:
    found = session.exec(select(MountMethod).where(MountMethod.name == name)).first()
    return key_of(found or added(session, MountMethod(name=name, needs_adhesive="yes")))


def a_layer(
    session: Session,
    package: int,
    position: int,
    role: LayerRole,
    material: Material | None = None,
    *,
    fitted: str | None = None,
    removed: str | None = None,
    **columns: object,
) -> Layer:
    """A layer seen to be of this material, with the newest figures of today."""
    row = Layer(package_id=package, position=position, role=role, ended=removed is not None)
    row.known_by = KnownBy.SEEN
    if material is not None:
        row.material_id, row.figures_id = key_of(material), newest_figures_id(session, material)
    for name, value in {**dated("fitted", fitted), **dated("removed", removed), **columns}.items():
        setattr(row, name, value)
    return added(session, row)


def newest_figures_id(session: Session, material: Material) -> int:
    found = select(func.max(MaterialFigures.id)).where(
        MaterialFigures.material_id == key_of(material)
    )
    return session.exec(found).one() or 0


def a_hold(
    session: Session,
    mount: Mount,
    material: Material | None = None,
    *,
    hold_no: int = 1,
    grade: str = PASTE_HINGES,
    lot: Lot | None = None,
    **columns: object,
) -> Hold:
    """A kind of hold of a mount."""
    row = Hold(mount_id=key_of(mount), hold_no=hold_no, grade=grade, known_by=KnownBy.SEEN)
    if material is not None:
        row.material_id, row.figures_id = key_of(material), newest_figures_id(session, material)
    row.lot_id = key_of(lot) if lot else None
    for name, value in columns.items():
        setattr(row, name, value)
    return added(session, row)


def a_remain(session: Session, work: Work, what: str, **columns: object) -> Remain:
    """Something an earlier hold left on a work."""
    row = Remain(work_id=key_of(work), what=what)
    for name, value in columns.items():
        setattr(row, name, value)
    return added(session, row)


def an_unframing(session: Session, work: Work, on: str, **columns: object) -> Visit:
    """A visit at which the package was opened and the margins were seen."""
    last = select(func.max(Visit.visit_no)).where(Visit.work_id == key_of(work))
    row = Visit(
        work_id=key_of(work),
        visit_no=(session.exec(last).one() or 0) + 1,
        on_edtf=on,
        kind=VisitKind.UNFRAMING,
        seen_margins=True,
    )
    for name, value in {**dated("on", on), **columns}.items():
        setattr(row, name, value)
    return added(session, row)


def a_finding(session: Session, work: Work, term: str = "mat burn") -> Finding:
    """A damage on a work."""
    found = session.exec(select(FindingTerm).where(FindingTerm.term == term)).first()
    its_term = found or added(
        session,
        FindingTerm(
            term=term, shows_through_glazing="partly", urgency="soon", applies_to="all works"
        ),
    )
    last = select(func.max(Finding.finding_no)).where(Finding.work_id == key_of(work))
    number = (session.exec(last).one() or 0) + 1
    return added(
        session, Finding(work_id=key_of(work), finding_no=number, term_id=key_of(its_term))
    )


def a_sighting(
    session: Session,
    finding: Finding,
    visit: Visit,
    *,
    severity: Severity | None = Severity.MODERATE,
    change: Change = Change.NEW,
) -> Sighting:
    """What a finding was seen to be at a visit."""
    row = Sighting(
        finding_id=key_of(finding), visit_id=key_of(visit), severity=severity, change=change
    )
    return added(session, row)
