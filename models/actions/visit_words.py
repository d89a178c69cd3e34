"""What do the words of a visit mean: which material, lot, method, term, person, day?

Everything is looked up before anything is written, so that all that is wrong is
said at once, each fault beside its part of the visit. Nothing is created in
passing. A usual build of the house stands in for layers and holds, with the
lots that are in use.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from sqlalchemy import bindparam
from sqlmodel import Session, col, select

from models.actions.named_records import (
    finding_term_named,
    house_package_named,
    lot_numbered,
    material_named,
    mount_method_named,
    person_named,
    treatment_named,
)
from models.actions.record_changes import key_of
from models.errors import BadValue, Fault
from models.risk.acid_transfer import TEST_FACTORS
from models.rules.default_figures import DefaultFigures
from models.rules.half_known_dates import HalfKnownDate, read_record_date
from models.rules.house_build import read_build
from models.rules.mat_windows import windows_text
from models.rules.material_for_role import refuse_impossible_hold, refuse_impossible_layer
from models.rules.record_values import Faults, offset_um
from models.rules.visit_as_told import (
    HoldTold,
    LayerTestTold,
    LayerTold,
    MountTold,
    SightingTold,
    VisitTold,
)
from models.tables.materials import (
    Lot,
    Material,
    MaterialFigures,
    Recall,
    lots_in_use,
    open_recalls,
)
from models.tables.terms import MountMethod
from models.vocabulary import (
    UNKNOWN_GRADES,
    UNKNOWN_HOLD,
    Answer,
    BenchTest,
    Change,
    Mechanism,
)

_HIGHEST_PH = 14.0
# What a first sighting may say of itself, and what only a later one can.
FIRST_TIME = frozenset({Change.NEW, Change.FOUND_AGE_UNKNOWN})
# Without a severity these say enough.
SAYS_ENOUGH = frozenset({Change.NOT_SEEN, Change.NO_LONGER_VISIBLE, Change.TREATED})


@dataclass(frozen=True, kw_only=True)
class LayerMeant:
    """A layer with the records its words mean; `grade` is a person's own word or None."""

    told: LayerTold
    material_id: int | None
    figures_id: int | None
    lot_id: int | None
    grade: str | None
    windows: str | None
    fitted: HalfKnownDate | None


@dataclass(frozen=True, kw_only=True)
class HoldMeant:
    """A hold with the records its words mean, and the grade by which it is judged."""

    told: HoldTold
    material_id: int | None
    figures_id: int | None
    lot_id: int | None
    grade: str
    adhesive_grade: str | None
    clearance_um: int | None
    since: HalfKnownDate | None


@dataclass(frozen=True, kw_only=True)
class MountMeant:
    """A mount with the records its words mean."""

    told: MountTold
    method_id: int | None
    layers: tuple[LayerMeant, ...]
    holds: tuple[HoldMeant, ...]
    held: Answer
    mounted: HalfKnownDate | None
    dismounted: HalfKnownDate | None


@dataclass(frozen=True, kw_only=True)
class VisitMeant:
    """A whole visit, every word of which is on record."""

    told: VisitTold
    on: HalfKnownDate
    by_id: int | None
    found: MountMeant | None
    mount: MountMeant | None
    layers_fitted: tuple[LayerMeant, ...]
    term_ids: tuple[int | None, ...]
    treatment_ids: tuple[int, ...]
    treated_by_ids: tuple[int | None, ...]
    treatment_material_ids: tuple[tuple[int, ...], ...]


def meant_by(session: Session, told: VisitTold, figures: DefaultFigures) -> VisitMeant:
    """Return the visit with every word looked up. Raises BadValue with all faults at once."""
    return _Dictionary(session, told, figures).visit()


def mount_meant(session: Session, told: MountTold, figures: DefaultFigures) -> MountMeant:
    """Return one mount with every word looked up, as `meant_by`."""
    reader = _Dictionary(session, None, figures)
    mount = reader.mount("", told)
    reader.faults.refuse()
    return mount


def layer_meant(session: Session, told: LayerTold, figures: DefaultFigures) -> LayerMeant:
    """Return one layer with every word looked up, as `meant_by`."""
    reader = _Dictionary(session, None, figures)
    layer = reader.layer("", told)
    reader.faults.refuse()
    return layer


def hold_meant(session: Session, told: HoldTold, figures: DefaultFigures) -> HoldMeant:
    """Return one hold with every word looked up, as `meant_by`."""
    reader = _Dictionary(session, None, figures)
    hold = reader.hold("", told, None)
    reader.faults.refuse()
    return hold


class _Dictionary:
    def __init__(self, session: Session, told: VisitTold | None, figures: DefaultFigures) -> None:
        self.session = session
        self.told = told
        self.figures = figures
        self.faults = Faults()
        self._in_use: dict[int, Lot] = {}
        self._recalls: list[Recall] | None = None
        # What was found was put there by others; what is fitted now can still be chosen.
        self._is_fitted_now = False
        self._materials = _materials_named(session, _material_names(told))

    def visit(self) -> VisitMeant:
        told = self.told
        assert told is not None, "a visit is read from a visit"
        on = self.faults.read("/on", read_record_date, told.on)
        by_id = self._person("/by", told.by)
        found = None if told.found is None else self.mount("/found", told.found)
        self._is_fitted_now = True
        mount = None if told.mount is None else self.mount("/mount", told.mount)
        fitted = tuple(
            self.layer(f"/layers_fitted/{i}", fitted.layer)
            for i, fitted in enumerate(told.layers_fitted)
        )
        terms = tuple(
            self._term(f"/report/sightings/{i}", sighting)
            for i, sighting in enumerate(told.sightings)
        )
        treatments = [
            self.faults.read(f"/treatments/{i}/term", self._treatment, treatment.term)
            for i, treatment in enumerate(told.treatments)
        ]
        treated_by = tuple(
            self._person(f"/treatments/{i}/by", treatment.by)
            for i, treatment in enumerate(told.treatments)
        )
        treated_with = tuple(
            self._treated_with(i, treatment.materials)
            for i, treatment in enumerate(told.treatments)
        )
        for i, test in enumerate(told.tests):
            self.faults.read(f"/tests/{i}/result", _checked_result(test), test.result)
        self.faults.refuse()
        assert on is not None, "a fault was refused"
        return VisitMeant(
            told=told,
            on=on,
            by_id=by_id,
            found=found,
            mount=mount,
            layers_fitted=fitted,
            term_ids=terms,
            treatment_ids=tuple(t for t in treatments if t is not None),
            treated_by_ids=treated_by,
            treatment_material_ids=treated_with,
        )

    def mount(self, at: str, told: MountTold) -> MountMeant:
        self._in_use = {}
        told = self._with_house_package(at, told)
        method = self.faults.read_if_given(f"{at}/method", self._method, told.method)
        told = _with_what_the_method_says(told, method)
        holds = tuple(
            self.hold(f"{at}/holds/{i}", hold, method) for i, hold in enumerate(told.holds)
        )
        layers = tuple(self.layer(f"{at}/layers/{i}", layer) for i, layer in enumerate(told.layers))
        self._in_use = {}
        return MountMeant(
            told=told,
            method_id=None if method is None else key_of(method),
            layers=layers,
            holds=holds,
            held=_answer(told.held, is_listed=bool(holds)),
            mounted=self.faults.read_if_given(
                f"{at}/mounted_on", read_record_date, told.mounted_on
            ),
            dismounted=self.faults.read_if_given(
                f"{at}/dismounted_on", read_record_date, told.dismounted_on
            ),
        )

    def layer(self, at: str, told: LayerTold) -> LayerMeant:
        material, figures = self._material(f"{at}/material", told.material)
        if material is not None:
            self._refuse_impossible_layer(f"{at}/material", told, material, figures)
        return LayerMeant(
            told=told,
            material_id=None if material is None else key_of(material),
            figures_id=None if figures is None else key_of(figures),
            lot_id=self._lot(f"{at}/lot", material, told.lot),
            grade=self._own_grade(f"{at}/grade", told.grade, figures),
            windows=self._windows(f"{at}/windows", told),
            fitted=self.faults.read_if_given(f"{at}/fitted_on", read_record_date, told.fitted_on),
        )

    def _windows(self, at: str, told: LayerTold) -> str | None:
        return self.faults.read(at, lambda windows: windows_text(told.role, windows), told.windows)

    def _own_grade(self, at: str, grade: str | None, figures: MaterialFigures | None) -> str | None:
        """Return a person's own word for a grade; a material whose grade is known needs none."""
        own = self.faults.read_if_given(at, self._layer_grade, grade)
        known = None if figures is None else figures.grade
        if own is None or known is None or known in UNKNOWN_GRADES or own == known:
            return own
        self.faults.note(
            at,
            BadValue.at(
                "",
                f"This material is {known} by its figures.",
                "Leave the grade out, or leave the material out and tell the grade.",
            ),
        )
        return None

    def hold(self, at: str, told: HoldTold, method: MountMethod | None) -> HoldMeant:
        material, figures = self._material(f"{at}/material", told.material)
        of_material = None if figures is None else figures.hold_grade
        if material is not None:
            self._refuse_impossible_hold(f"{at}/material", material, of_material)
        own = self.faults.read_if_given(f"{at}/grade", self._hold_grade, told.grade)
        of_method = None if method is None else method.default_hold_grade or None
        adhesive = self.faults.read_if_given(
            f"{at}/adhesive_grade", self._adhesive_grade, told.adhesive_grade
        )
        if adhesive is None and figures is not None and self._is_adhesive(figures.grade):
            adhesive = figures.grade
        return HoldMeant(
            told=told,
            material_id=None if material is None else key_of(material),
            figures_id=None if figures is None else key_of(figures),
            lot_id=self._lot(f"{at}/lot", material, told.lot),
            grade=own or of_material or of_method or UNKNOWN_HOLD,
            adhesive_grade=adhesive,
            clearance_um=self.faults.read_if_given(
                f"{at}/clearance_mm", offset_um, told.clearance_mm
            ),
            since=self.faults.read_if_given(f"{at}/since", read_record_date, told.since),
        )

    def _refuse_impossible_layer(
        self, at: str, told: LayerTold, material: Material, figures: MaterialFigures | None
    ) -> None:
        sticks = figures is not None and self._is_adhesive(figures.grade)
        try:
            refuse_impossible_layer(told.role, material.name, material.kind, sticks=sticks)
        except BadValue as error:
            self.faults.note(at, error)

    def _refuse_impossible_hold(self, at: str, material: Material, hold_grade: str | None) -> None:
        try:
            refuse_impossible_hold(material.name, material.kind, holds=bool(hold_grade))
        except BadValue as error:
            self.faults.note(at, error)

    def _with_house_package(self, at: str, told: MountTold) -> MountTold:
        if told.house_package is None:
            return told
        package = self.faults.read(f"{at}/house_package", self._house_package, told.house_package)
        if package is None:
            return told
        self._in_use = lots_in_use(self.session)
        return replace(
            told,
            layers=package.layers,
            holds=package.holds,
            method=told.method or package.method,
            held=package.held,
            in_front=package.in_front,
            behind=package.behind,
        )

    def _house_package(self, name: str) -> MountTold:
        return read_build(house_package_named(self.session, name).build)

    def _material(
        self, at: str, name: str | None
    ) -> tuple[Material | None, MaterialFigures | None]:
        if name is None:
            return None, None
        if name not in self._materials:
            meant = self.faults.read(at, lambda n: material_named(self.session, n), name)
            if meant is None:
                return None, None
            self._materials[name] = _materials_named(self.session, [meant.name])[meant.name]
        return self._materials[name]

    def _lot(self, at: str, material: Material | None, number: str | None) -> int | None:
        if number is None:
            lot = self._in_use.get(key_of(material)) if material is not None else None
            self._refuse_recalled(at.removesuffix("/lot"), material, lot)
            return None if lot is None else key_of(lot)
        if material is None:
            self.faults.note(at, BadValue("A lot is a lot of a material: name the material too."))
            return None
        of = key_of(material)
        found = self.faults.read(at, lambda n: lot_numbered(self.session, of, n), number)
        self._refuse_recalled(at.removesuffix("/lot"), material, found)
        return None if found is None else key_of(found)

    def _refuse_recalled(self, at: str, material: Material | None, lot: Lot | None) -> None:
        """Note a fault for what was recalled and is to be put next to a work now."""
        if not self._is_fitted_now or material is None:
            return
        if self._recalls is None:
            self._recalls = open_recalls(self.session)
        of_material = any(recall.material_id == material.id for recall in self._recalls)
        of_lot = lot is not None and any(recall.lot_id == lot.id for recall in self._recalls)
        if of_material or of_lot:
            name = material.name if of_material or lot is None else f"Lot {lot.number}"
            where = f"{at}/material" if of_material else f"{at}/lot"
            self.faults.note(
                where, BadValue.at("", f"{name} was recalled.", "Take another into use.")
            )

    def _method(self, name: str) -> MountMethod:
        return mount_method_named(self.session, name)

    def _person(self, at: str, name: str | None) -> int | None:
        person = self.faults.read_if_given(at, lambda n: person_named(self.session, n), name)
        return None if person is None else key_of(person)

    def _treatment(self, term: str) -> int:
        return key_of(treatment_named(self.session, term))

    def _treated_with(self, index: int, names: Iterable[str]) -> tuple[int, ...]:
        found = [
            self._material(f"/treatments/{index}/materials/{i}", name)[0]
            for i, name in enumerate(names)
        ]
        return tuple(dict.fromkeys(key_of(material) for material in found if material is not None))

    def _term(self, at: str, told: SightingTold) -> int | None:
        if told.finding is not None:
            if told.change in FIRST_TIME:
                self.faults.note(
                    f"{at}/change",
                    BadValue.at(
                        "",
                        f"A finding seen before cannot be {told.change}.",
                        "unchanged, grown, treated, no longer visible or not seen this time",
                    ),
                )
            return None
        if told.change not in FIRST_TIME:
            self.faults.note(
                f"{at}/change",
                BadValue.at(
                    "",
                    f"A finding that is seen for the first time cannot be {told.change}.",
                    "new, or found age unknown; or give the number of the finding",
                ),
            )
        if told.severity is None:
            self.faults.note(
                f"{at}/severity", BadValue.at("", "How strong is it?", "slight, moderate or severe")
            )
        if told.term is None:
            self.faults.note(f"{at}/term", BadValue.at("", "What is it?", "a term on record"))
            return None
        term = self.faults.read(
            f"{at}/term", lambda t: finding_term_named(self.session, t), told.term
        )
        return None if term is None else key_of(term)

    def _layer_grade(self, grade: str) -> str:
        acid = self.figures.grades(Mechanism.ACID_MIGRATION)
        return _one_of(grade, (*acid, *self.figures.grades(Mechanism.ADHESIVE_AGEING)))

    def _hold_grade(self, grade: str) -> str:
        return _one_of(grade, self.figures.grades(Mechanism.HOLD_FAILURE))

    def _adhesive_grade(self, grade: str) -> str:
        return _one_of(grade, self.figures.grades(Mechanism.ADHESIVE_AGEING))

    def _is_adhesive(self, grade: str | None) -> bool:
        return grade in self.figures.grades(Mechanism.ADHESIVE_AGEING)


def _with_what_the_method_says(told: MountTold, method: MountMethod | None) -> MountTold:
    """Return the mount with its holds lying all over, where that is how the method holds.

    Where no hold is told, such a method is a hold of which nothing more is known.
    """
    if method is None or not method.covers_all or told.held is Answer.NONE:
        return told
    holds = told.holds or (HoldTold(),)
    return replace(told, holds=tuple(replace(hold, covers_all=True) for hold in holds))


def _answer(told: Answer | None, *, is_listed: bool) -> Answer:
    if is_listed:
        return Answer.THIS
    return Answer.NONE if told is Answer.NONE else Answer.UNKNOWN


def _one_of(grade: str, known: tuple[str, ...]) -> str:
    if grade not in known:
        raise BadValue(
            f"There is no grade called {grade!r}.",
            [Fault("", f"There is no grade called {grade!r}.", f"One of: {'; '.join(known)}.")],
        )
    return grade


def _checked_result(told: LayerTestTold) -> Callable[[str], str]:
    def check(result: str) -> str:
        if told.test is BenchTest.SURFACE_PH:
            surface_ph(result)
            return result
        return _result_on_the_list(told.test, result)

    return check


def _result_on_the_list(test: BenchTest, result: str) -> str:
    results = [known for of, known in TEST_FACTORS if of is test]
    if result not in results:
        message = f"{result!r} is no result of the {test}."
        raise BadValue.at("", message, f"One of: {', '.join(results)}.")
    return result


def surface_ph(result: str) -> float:
    """Return the pH that a surface electrode showed. Raises BadValue outside 0 to 14."""
    try:
        value = float(result)
    except ValueError:
        raise BadValue.at("", f"{result!r} is no pH.", "a number such as 4.8") from None
    if not 0.0 <= value <= _HIGHEST_PH:
        raise BadValue.at("", f"A pH of {result} is not between 0 and 14.", "a number such as 4.8")
    return value


def _material_names(told: VisitTold | None) -> list[str]:
    if told is None:
        return []
    mounts = [mount for mount in (told.found, told.mount) if mount is not None]
    layers = [layer for mount in mounts for layer in mount.layers]
    layers += [fitted.layer for fitted in told.layers_fitted]
    holds = [hold for mount in mounts for hold in mount.holds]
    names = [*(layer.material for layer in layers), *(hold.material for hold in holds)]
    names += [name for treatment in told.treatments for name in treatment.materials]
    return sorted({name for name in names if name is not None})


def _materials_named(
    session: Session, names: Iterable[str]
) -> dict[str, tuple[Material, MaterialFigures | None]]:
    """Return the materials of exactly these names, each with its newest figures."""
    wanted = list(names)
    if not wanted:
        return {}
    found = session.exec(_MATERIALS, params={"wanted": wanted})
    # Editions ascend, so that the last one stays.
    return {material.name: (material, figures) for material, figures in found}


_MATERIALS = (
    select(Material, MaterialFigures)
    .outerjoin(MaterialFigures)
    .where(col(Material.name).in_(bindparam("wanted", expanding=True)))
    .order_by(col(MaterialFigures.edition))
)
