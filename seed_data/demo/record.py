"""How does the invented collection come into an empty book?

Deed by deed in the order of their days, through the same actions that people use,
so that the change log and the forecasts are those of a real book. Old notes count
as written up on one day of each owner, later deeds as recorded on their own day.
"""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date

from sqlmodel import Session, col, select

from models.actions.forecasts import refresh_forecasts
from models.actions.house_packages import add_house_package
from models.actions.incidents import IncidentTold, record_incident
from models.actions.lots import add_lot
from models.actions.materials import add_material, correct_figures, read_material
from models.actions.named_records import lot_numbered, material_named
from models.actions.owners import OwnerTold, add_owner
from models.actions.people import PersonTold, add_person
from models.actions.place_changes import add_place
from models.actions.recalls import recall_lot
from models.actions.record_changes import key_of
from models.actions.stays import MoveTold, move_works
from models.actions.visits import record_visit
from models.actions.walks import ExceptionTold, WalkTold, record_box_check, record_walk_round
from models.actions.works import register_work
from models.rules.calendar_days import day_number
from models.rules.half_known_dates import read_date
from models.rules.place_tree import names_in_path
from models.rules.visit_as_told import (
    MountTold,
    Named,
    SightingTold,
    TreatmentTold,
    VisitTold,
)
from models.tables.findings import Finding
from models.tables.mounts import Layer, Mount, Remain
from models.tables.visible import THE_HOUSE, Viewer
from models.tables.works import Work
from models.vocabulary import LayerRole, Role, VisitKind
from seed_data.demo.builds import HOUSE
from seed_data.demo.deeds import (
    Came,
    Deed,
    FiguresLearned,
    Happened,
    LotCame,
    LotRecalled,
    MaterialCame,
    Moved,
    Visited,
    Walked,
)
from seed_data.demo.logger_files import Keep, digest_alone, record_readings
from seed_data.demo.pictures_taken import PictureReady, record_pictures
from seed_data.demo.register import read_owners, read_people, read_places, read_works
from seed_data.demo.stories import all_deeds
from seed_data.shipped import shipped_default_figures

# The day on which the collection stands as it is told.
LAST_DAY = day_number(date(2026, 11, 25))
REF = "ref:"
# In front of a role: the layer that has it in the package of the work now.
NOW = "now:"
# On one day, what comes first is what the rest of that day needs.
ORDER_ON_A_DAY: tuple[type[Deed], ...] = (
    MaterialCame,
    LotCame,
    Came,
    Moved,
    Happened,
    Visited,
    Walked,
    FiguresLearned,
    LotRecalled,
)


def no_pictures() -> list[PictureReady]:
    """Return no photographs: where only the words of the book are wanted."""
    return []


def deeds_in_order() -> list[Deed]:
    """Return every deed in the order in which it is recorded."""
    return sorted(all_deeds(), key=_day_and_order)


def record_demo(
    session: Session,
    *,
    today: int,
    keep: Keep = digest_alone,
    pictures: Callable[[], list[PictureReady]] = no_pictures,
) -> None:
    """Record the whole collection into a book that holds the reference data and nothing else.

    `today` is the day of the forecasts, not before LAST_DAY. The session is that of `recording`;
    `keep` keeps the files of the loggers; `pictures` waits for the photographs.
    """
    book = DemoBook(session, _record_people(session))
    for place in read_places():
        book.places[place.path] = add_place(session, book.viewer, place).id
    for name, build in HOUSE.items():
        add_house_package(session, book.viewer, name, build, defaults=shipped_default_figures())
    for deed in deeds_in_order():
        book.record(deed)
    record_readings(session, book.viewer, book.places, keep, today=today)
    refresh_forecasts(session, list(book.works.values()), today=today)
    record_pictures(session, book.viewer, book.works, pictures(), today=today)


def _record_people(session: Session) -> Viewer:
    """Add owners and people; return the keeper, who writes the book."""
    for owner in read_owners():
        add_owner(session, THE_HOUSE, OwnerTold(name=owner.name))
    keys = {}
    for person in read_people():
        told = PersonTold(name=person.name, role=person.role, owner=person.owner)
        keys[person.role] = add_person(session, THE_HOUSE, told).id
    return Viewer(keys[Role.KEEPER], Role.KEEPER)


def _day_and_order(deed: Deed) -> tuple[int, int]:
    return _day(deed.on), ORDER_ON_A_DAY.index(type(deed))


def _day(edtf: str) -> int:
    first = read_date(edtf).first_day
    assert first is not None, "every deed of the demonstration has a day"
    return first


class DemoBook:
    """The book while it is filled: the keys of what was told under a name, a number or a ref."""

    def __init__(self, session: Session, viewer: Viewer) -> None:
        self.session = session
        self.viewer = viewer
        self.works: dict[str, int] = {}
        self.places: dict[str, int] = {}
        self.refs: dict[tuple[str, str], int] = {}
        self._register = {work.told.number: work for work in read_works()}
        self._written_up = {
            home: _day(owner.written_up_on) for owner in read_owners() for home in owner.homes
        }

    def record(self, deed: Deed) -> None:
        """Record one deed by its own action."""
        match deed:
            case Came():
                self._came(deed)
            case Moved():
                told = MoveTold(place=deed.place, on=deed.on, by=deed.by, note=deed.note)
                self._move(deed.numbers, told)
            case Visited():
                self._visited(deed)
            case Walked():
                self._walked(deed)
            case Happened():
                self._happened(deed)
            case _:
                self._of_materials(deed)

    def _came(self, deed: Came) -> None:
        today = self._today(deed.on, deed.place)
        for number in deed.numbers:
            self.works[number] = register_work(
                self.session,
                self.viewer,
                self._register[number].told,
                today=today,
                random_bytes=_label_bytes(number),
            ).id
        self._move(deed.numbers, MoveTold(place=deed.place, on=deed.on))

    def _move(self, numbers: Iterable[str], told: MoveTold) -> None:
        today = self._today(told.on or "", told.place)
        move_works(self.session, self.viewer, self._keys(numbers), told, today=today)

    def _visited(self, deed: Visited) -> None:
        work_id = self.works[deed.number]
        stored = record_visit(
            self.session,
            self.viewer,
            work_id,
            self._with_keys(deed),
            today=self._today(deed.on, self._register[deed.number].place),
        )
        self.refs |= {(deed.number, REF + ref): key for ref, key in stored.refs.items()}

    def _walked(self, deed: Walked) -> None:
        exceptions = tuple(
            ExceptionTold(
                work_id=self.works[number],
                summary=found.summary,
                sightings=self._of_findings(number, found.sightings),
                stop=found.stop,
            )
            for number, found in deed.except_for.items()
        )
        told = WalkTold(
            on=deed.on,
            by=deed.by,
            seen=deed.seen,
            all_as_before_except=exceptions,
            not_found=tuple(self._keys(deed.not_found)),
            note=deed.note,
        )
        walk = record_box_check if deed.kind is VisitKind.BOX_CHECK else record_walk_round
        place_id, today = self.places[deed.place], self._today(deed.on, deed.place)
        walk(self.session, self.viewer, place_id, told, today=today)

    def _happened(self, deed: Happened) -> None:
        numbers = tuple(self._keys(deed.numbers))
        told = IncidentTold(
            kind=deed.what, on=deed.on, place=deed.place, works=numbers, note=deed.note
        )
        where = deed.place or self._register[deed.numbers[0]].place
        record_incident(self.session, self.viewer, told, today=self._today(deed.on, where))

    def _of_materials(self, deed: Deed) -> None:
        session, viewer, defaults = self.session, self.viewer, shipped_default_figures()
        match deed:
            case MaterialCame():
                add_material(session, viewer, deed.told, deed.figures, defaults=defaults)
            case FiguresLearned():
                kept = read_material(session, viewer, self._material(deed.material))
                correct_figures(
                    session,
                    viewer,
                    kept.id,
                    deed.changes,
                    defaults=defaults,
                    today=_day(deed.on),
                )
            case LotCame():
                material = self._material(deed.material)
                add_lot(session, viewer, material, deed.told, today=_day(deed.on))
            case LotRecalled():
                lot = lot_numbered(session, self._material(deed.material), deed.lot)
                recall_lot(session, viewer, key_of(lot), deed.reason, today=_day(deed.on))

    def _with_keys(self, deed: Visited) -> VisitTold:
        """Return the visit as the action wants it: keys where the story has names."""
        told = deed.told
        return replace(
            told,
            based_on=self._version(deed.number),
            sightings=self._of_findings(deed.number, told.sightings),
            mount=self._into_package(told.mount, deed.with_package_of),
            dismount=told.dismount
            and replace(
                told.dismount,
                holds=tuple(
                    replace(way, hold=self._known(deed.number, way.hold))
                    for way in told.dismount.holds
                ),
            ),
            layers_removed=tuple(
                replace(one, layer=self._known(deed.number, one.layer))
                for one in told.layers_removed
            ),
            layers_fitted=tuple(
                replace(one, replaces=one.replaces and self._known(deed.number, one.replaces))
                for one in told.layers_fitted
            ),
            tests=tuple(
                replace(one, layer=self._known(deed.number, one.layer)) for one in told.tests
            ),
            treatments=self._treatments(deed),
            also_unframed=tuple(self._keys(deed.also)),
        )

    def _known(self, number: str, named: Named) -> Named:
        """Return the key of a part told at an earlier visit, or of the layer that is there now."""
        if isinstance(named, str) and named.startswith(NOW):
            return self._layer_now(number, LayerRole(named.removeprefix(NOW)))
        return self.refs.get((number, named), named) if isinstance(named, str) else named

    def _layer_now(self, number: str, role: LayerRole) -> int:
        now = select(Layer).join(Mount, col(Mount.package_id) == Layer.package_id)
        now = now.where(Mount.work_id == self.works[number], ~col(Mount.ended))
        layer = self.session.exec(now.where(Layer.role == role, ~col(Layer.ended))).one()
        return key_of(layer)

    def _of_findings(
        self, number: str, sightings: Iterable[SightingTold]
    ) -> tuple[SightingTold, ...]:
        of_work = select(Finding.finding_no, Finding.id).where(
            Finding.work_id == self.works[number]
        )
        keys = dict(self.session.exec(of_work).all())
        return tuple(
            one if one.finding is None else replace(one, finding=keys[one.finding])
            for one in sightings
        )

    def _into_package(self, told: MountTold | None, of: str | None) -> MountTold | None:
        if told is None or of is None:
            return told
        current = select(Mount.package_id).where(Mount.work_id == self.works[of], ~col(Mount.ended))
        return replace(told, package=self.session.exec(current).one())

    def _treatments(self, deed: Visited) -> tuple[TreatmentTold, ...]:
        """Return the treatments; the first took off what was left, where the story says so."""
        if not deed.takes_off_remains:
            return deed.told.treatments
        first, *others = deed.told.treatments
        return (replace(first, removes=self._remains(deed.number)), *others)

    def _remains(self, number: str) -> tuple[int, ...]:
        left = select(Remain).where(Remain.work_id == self.works[number], ~col(Remain.ended))
        return tuple(key_of(remain) for remain in self.session.exec(left))

    def _version(self, number: str) -> int:
        return self.session.get_one(Work, self.works[number]).version

    def _material(self, name: str) -> int:
        return key_of(material_named(self.session, name))

    def _keys(self, numbers: Iterable[str]) -> list[int]:
        return [self.works[number] for number in numbers]

    def _today(self, on: str, place: str) -> int:
        """Return the day on which a deed in this place was recorded: never before the write-up."""
        return max(_day(on), self._written_up[names_in_path(place)[0]])


def _label_bytes(number: str) -> Callable[[int], bytes]:
    # The code on a label is drawn by lot; here it must be the same each time.
    return lambda count: hashlib.sha256(number.encode()).digest()[:count]
