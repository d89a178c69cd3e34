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
from models.tables.materials import Lot, Material, MaterialFigures
from models.tables.people import Owner, Person
from models.tables.places import Place, find_place
from models.tables.visible import Viewer
from models.tables.works import Stay, Technique, Work, WorkWord
from models.vocabulary import PlaceUse, Role, Surface

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
    if since is not None:
        began = read_date(since)
        row.since_edtf, row.since_first, row.since_last = (
            began.edtf,
            began.first_day,
            began.last_day,
        )
    if until is not None:
        end = read_date(until)
        row.ended_edtf, row.ended_first, row.ended_last = end.edtf, end.first_day, end.last_day
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
