"""What else was done and read at the bench: tests, inscriptions, treatments?

A test belongs to the layer it was made on, an inscription is kept with where it
went, and a treatment may take off what an old mount left on the work.
"""

from collections.abc import Sequence

from sqlmodel import col, select

from models.actions.bench import Bench
from models.actions.record_changes import key_of
from models.actions.visit_words import VisitMeant, surface_ph
from models.errors import BadValue, Fault
from models.risk.acid_transfer import STILL_WHITE
from models.rules.calendar_days import add_months
from models.rules.visit_as_told import InscriptionTold, LayerTestTold, TreatmentTold
from models.tables.mounts import Layer, Remain
from models.tables.visits import Inscription, LayerTest, Treatment, TreatmentMaterial
from models.vocabulary import BenchTest

# As the result says.
STILL_WHITE_AFTER_MONTHS = 120


def record_tests(bench: Bench, told: Sequence[LayerTestTold]) -> None:
    """Add the tests of layers, also of layers taken out at this visit."""
    for index, test in enumerate(told):
        layer = bench.any_layer(test.layer, f"/tests/{index}/layer")
        bench.touched_packages.add(layer.package_id)
        _refuse_too_young(bench, layer, test, index)
        is_ph = test.test is BenchTest.SURFACE_PH
        bench.session.add(
            LayerTest(
                visit_id=bench.visit_id,
                layer_id=key_of(layer),
                test=test.test,
                result=test.result,
                surface_ph=surface_ph(test.result) if is_ph else None,
            )
        )


def _refuse_too_young(bench: Bench, layer: Layer, test: LayerTestTold, index: int) -> None:
    """Raise BadValue where a board has certainly not lain there long enough for this result."""
    fitted, seen = layer.fitted_first, bench.on.last_day
    if test.result != STILL_WHITE or fitted is None or seen is None:
        return
    if seen < add_months(fitted, STILL_WHITE_AFTER_MONTHS):
        message = "This board has not been there for 10 years: a white bevel says nothing yet."
        fault = Fault(f"/tests/{index}/result", message, "leave it out, or say brown")
        raise BadValue(message, [fault])


def record_inscriptions(bench: Bench, told: Sequence[InscriptionTold]) -> None:
    """Add what was found written or stuck on, and where it is kept."""
    for inscription in told:
        bench.session.add(
            Inscription(
                visit_id=bench.visit_id,
                found_where=inscription.where,
                inscribed=inscription.text,
                kept=inscription.kept,
            )
        )


def record_treatments(bench: Bench, meant: VisitMeant) -> None:
    """Add what was done to the work, with what, and what it took off."""
    for index, told in enumerate(meant.told.treatments):
        treatment = Treatment(
            visit_id=bench.visit_id,
            term_id=meant.treatment_ids[index],
            by_id=meant.treated_by_ids[index] or bench.visit.by_id,
            note=told.note,
        )
        bench.session.add(treatment)
        bench.session.flush()
        for material_id in meant.treatment_material_ids[index]:
            bench.session.add(
                TreatmentMaterial(treatment_id=key_of(treatment), material_id=material_id)
            )
        _take_off(bench, told, index)


def _take_off(bench: Bench, told: TreatmentTold, index: int) -> None:
    for place, remain_id in enumerate(told.removes):
        on_the_work = select(Remain).where(
            Remain.id == remain_id,
            Remain.work_id == bench.work_id,
            ~col(Remain.ended),
            col(Remain.withdrawn_reason).is_(None),
        )
        remain = bench.session.exec(on_the_work).first()
        if remain is None:
            at = f"/treatments/{index}/removes/{place}"
            message = f"Nothing numbered {remain_id} is left on this work."
            raise BadValue.at(at, message, "the number of a remain of this work")
        remain.ended = True
        remain.removed_visit_id = bench.visit_id
