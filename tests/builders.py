"""Valid things for tests: a test names only what it is about.

Rows are added as they are, past the actions and the change log; each is flushed,
so that it has its key.
"""

from collections.abc import Mapping
from typing import TypeVar

from sqlmodel import Session, SQLModel, func, select

from models.rules.half_known_dates import read_date
from models.rules.place_tree import names_in_path
from models.rules.search_words import words_of_work
from models.rules.work_code import make_code
from models.tables.forecasts import Forecast
from models.tables.materials import Lot, Material, MaterialFigures
from models.tables.mounts import Hold, Layer, Mount, Package
from models.tables.people import Owner, Person
from models.tables.places import FollowUp, Incident, IncidentWork, Place, find_place
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.tables.works import Stay, Technique, Work, WorkWord
from models.vocabulary import LayerRole, PlaceUse, Role, Surface, VisitKind

Row = TypeVar("Row", bound=SQLModel)


def added(session: Session, row: Row) -> Row:
    """Return the row with its key."""
    session.add(row)
    session.flush()
    return row


def _with(row: Row, columns: Mapping[str, object]) -> Row:
    for name, value in columns.items():
        assert hasattr(row, name), f"{type(row).__name__} has no {name}"
        setattr(row, name, value)
    return row


def key_of(row: SQLModel) -> int:
    """Return the key of a row that is stored."""
    key = getattr(row, "id", None)
    assert isinstance(key, int), f"{row!r} is not stored"
    return key


def a_keeper(session: Session, name: str = "K. Inventa") -> Viewer:
    """Somebody who may do everything."""
    return Viewer(key_of(a_person(session, name, role=Role.KEEPER)), Role.KEEPER)


def a_framer(session: Session, name: str = "R. Imaginary") -> Viewer:
    """Somebody at the bench."""
    return Viewer(key_of(a_person(session, name, role=Role.FRAMER)), Role.FRAMER)


def an_owner(session: Session, name: str = "The Gannet House") -> Viewer:
    """Somebody who sees the works of the owner of this name, and no others."""
    owner_id = key_of(an_owner_row(session, name))
    person = a_person(session, f"{name}, its steward", role=Role.OWNER, owner_id=owner_id)
    return Viewer(key_of(person), Role.OWNER, owner_id)


def a_person(
    session: Session,
    name: str = "B. Nobody",
    *,
    role: Role | None = None,
    owner_id: int | None = None,
) -> Person:
    """Somebody on record; who has a role may sign in."""
    row = Person(name=name, role=role, owner_id=owner_id, may_sign_in=role is not None)
    return added(session, row)


def an_owner_row(session: Session, name: str = "The Gannet House") -> Owner:
    """An owner; the one on record if the name is there already."""
    found = session.exec(select(Owner).where(Owner.name == name)).first()
    return found or added(session, Owner(name=name))


def a_place(
    session: Session, path: str = "Gannet House / Stair", *, use: PlaceUse | None = None
) -> Place:
    """The place at a path, with whatever is around it; `use` is what the innermost says."""
    place: Place | None = None
    for name in names_in_path(path):
        within = None if place is None else place.id
        there = find_place(session, within, name)
        place = there or added(session, Place(parent_id=within, name=name))
    assert place is not None, "a path has a name"
    if use is not None:
        place.use = use
        session.flush()
    return place


def a_technique(
    session: Session,
    name: str = "etching",
    *,
    surface: Surface = Surface.OTHER,
    process_group: str = "none",
    light_class: int | None = 6,
) -> Technique:
    """A technique; the one on record if the name is there already."""
    found = session.exec(select(Technique).where(Technique.name == name)).first()
    row = Technique(
        name=name,
        technique_group="print",
        light_class=light_class,
        surface=surface,
        process_group=process_group,
    )
    return found or added(session, row)


def a_work(
    session: Session,
    *,
    number: str | None = None,
    title: str = "The Mill in Winter",
    maker: str = "",
    owner: str | None = None,
    place: str | None = None,
    since: str | None = "2010-05-01",
    technique: str | None = None,
    **columns: object,
) -> Work:
    """A work that can be searched for, in a place if one is named; other columns by name."""
    nth = session.exec(select(func.count()).select_from(Work)).one() + 1
    number = number or f"GH {nth}"
    row = Work(
        code=make_code(nth.to_bytes(5, "big")),
        number=number,
        title=title,
        maker=maker,
        owner_id=key_of(an_owner_row(session, owner)) if owner else None,
        technique_id=key_of(a_technique(session, technique)) if technique else None,
    )
    work = added(session, _with(row, columns))
    for word in words_of_work(number, title, maker):
        session.add(WorkWord(work_id=key_of(work), word=word))
    if place is not None:
        a_stay(session, work, place=place, since=since)
    session.flush()
    return work


def a_stay(
    session: Session,
    work: Work,
    *,
    place: str = "Gannet House / Stair",
    since: str | None = "2010-05-01",
    until: str | None = None,
    ended: bool = False,
) -> Stay:
    """A stay of a work; over when there is an `until`, or when `ended` says so."""
    row = Stay(work_id=key_of(work), place_id=key_of(a_place(session, place)))
    row.ended = ended or until is not None
    _set_date(row, "since", since)
    _set_date(row, "ended", until)
    return added(session, row)


def a_material(
    session: Session,
    name: str = "Cotton rag mat board, 4-ply, buffered",
    *,
    kind: str = "board",
    **figures: object,
) -> Material:
    """A material with its first figures: a sound board unless the figures say otherwise."""
    material = added(session, Material(name=name, kind=kind))
    row = MaterialFigures(
        material_id=key_of(material),
        grade="cotton rag board, buffered",
        ph=8.5,
        alkaline_reserve_percent=2.5,
        kappa=1.0,
        buffered="yes",
        thickness_um=1_400,
    )
    added(session, _with(row, figures))
    return material


def a_lot(
    session: Session, material: Material, number: str = "L-118", *, in_use: bool = False
) -> Lot:
    """A delivery of a material."""
    return added(session, Lot(material_id=key_of(material), number=number, in_use=in_use))


def a_mount(
    session: Session,
    work: Work,
    *,
    package: Package | None = None,
    mounted: str | None = "2010-05-01",
    dismounted: str | None = None,
    **columns: object,
) -> Mount:
    """A mount of a work, in a package of its own unless one is given; over when dismounted."""
    package = package or added(session, Package())
    earlier = select(func.count()).select_from(Mount).where(Mount.work_id == key_of(work))
    nth = session.exec(earlier).one() + 1
    row = Mount(work_id=key_of(work), package_id=key_of(package), mount_no=nth)
    _set_date(row, "mounted", mounted)
    _set_date(row, "dismounted", dismounted)
    row.ended = dismounted is not None
    return added(session, _with(row, columns))


def a_layer(
    session: Session,
    mount: Mount,
    material: Material | None = None,
    *,
    role: LayerRole = LayerRole.MOUNT_BOARD,
    lot: Lot | None = None,
    fitted: str | None = "2010-05-01",
    removed: str | None = None,
    **columns: object,
) -> Layer:
    """A layer behind all others of the package of a mount."""
    last = select(func.max(Layer.position)).where(Layer.package_id == mount.package_id)
    position = (session.exec(last).one() or 0) + 10
    row = Layer(package_id=mount.package_id, position=position, role=role)
    row.material_id = None if material is None else key_of(material)
    row.lot_id = None if lot is None else key_of(lot)
    _set_date(row, "fitted", fitted)
    _set_date(row, "removed", removed)
    row.ended = removed is not None
    return added(session, _with(row, columns))


def a_hold(
    session: Session,
    mount: Mount,
    material: Material | None = None,
    *,
    lot: Lot | None = None,
    **columns: object,
) -> Hold:
    """A hold of a mount: paper hinges with starch paste unless the columns say otherwise."""
    earlier = select(func.count()).select_from(Hold).where(Hold.mount_id == key_of(mount))
    nth = session.exec(earlier).one() + 1
    row = Hold(
        mount_id=key_of(mount),
        hold_no=nth,
        grade="paper hinges with starch or cellulose ether",
        adhesive_grade="starch paste",
        position="top",
        hold_count=2,
    )
    row.material_id = None if material is None else key_of(material)
    row.lot_id = None if lot is None else key_of(lot)
    return added(session, _with(row, columns))


def a_visit(
    session: Session,
    work: Work,
    *,
    on: str = "2026-11-20",
    kind: VisitKind = VisitKind.LOOK,
    **columns: object,
) -> Visit:
    """A visit to a work."""
    earlier = select(func.count()).select_from(Visit).where(Visit.work_id == key_of(work))
    nth = session.exec(earlier).one() + 1
    row = Visit(work_id=key_of(work), visit_no=nth, on_edtf=on, kind=kind)
    _set_date(row, "on", on)
    return added(session, _with(row, columns))


def stored_forecast(session: Session, work: Work | int) -> Forecast | None:
    """What is stored of the forecast of a work at this moment, None if nothing is."""
    key = work if isinstance(work, int) else key_of(work)
    session.flush()
    return session.get(Forecast, key, populate_existing=True)


def a_forecast(session: Session, work: Work, **columns: object) -> Forecast:
    """What is stored of the forecast of a work, as the test says."""
    return added(session, _with(Forecast(work_id=key_of(work)), columns))


def an_incident(session: Session, work: Work, *due: str, **columns: object) -> Incident:
    """A leak that reached a work and asks for a look on each of these days."""
    incident = Incident(kind="leak", on_edtf="2026-11-10")
    incident_id = key_of(added(session, _with(incident, columns)))
    reached = added(session, IncidentWork(incident_id=incident_id, work_id=key_of(work)))
    for on in due:
        due_on = read_date(on).first_day
        added(session, FollowUp(incident_work_id=key_of(reached), due_on=due_on))
    return incident


def a_poor_mount(session: Session, work: Work, board: Material, *, lot: Lot | None = None) -> Mount:
    """A mount since 2010 whose window mat and mount board are of this board."""
    mount = a_mount(session, work)
    a_layer(session, mount, board, role=LayerRole.WINDOW_MAT, lot=lot)
    a_layer(session, mount, role=LayerRole.WORK)
    a_layer(session, mount, board, lot=lot)
    a_hold(session, mount)
    return mount


def _set_date(row: SQLModel, name: str, text: str | None) -> None:
    if text is None:
        return
    date = read_date(text)
    for part, value in (("edtf", date.edtf), ("first", date.first_day), ("last", date.last_day)):
        setattr(row, f"{name}_{part}", value)
