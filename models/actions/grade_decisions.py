"""How is an unknown board taken as a grade by its bench tests, and how is that taken back?

The decision is a person's, by the ladder of `models.rules.board_ladder`; it is recorded
with its tests, and the layer says the grade from then on. Taking it back puts there what
the layer said before, unless somebody has said otherwise since.
"""

from dataclasses import dataclass

from sqlmodel import Session

from models.actions.forecasts import refresh_forecasts
from models.actions.record_changes import flush_unless_taken, lock, write
from models.actions.work_records import WorkRecords, load_records, package_now
from models.errors import NotFound, RuleBroken
from models.rules.board_ladder import LikelierGrade, likelier_grade
from models.rules.package_facts import Key
from models.rules.permissions import Deed, require
from models.rules.three_questions import with_blanks_filled
from models.tables.case_rows import works_in_packages
from models.tables.grade_decisions import GradeDecision, standing_decision
from models.tables.mounts import Layer
from models.tables.register import get_works_to_change
from models.tables.visible import THE_HOUSE, Viewer
from models.vocabulary import KnownBy

_STANDS = "A decision of this layer stands already; take it back first."


@dataclass(frozen=True, kw_only=True)
class GradeDecided:
    """What a layer was taken as; `likely` is a share of 1."""

    layer_id: int
    grade: str
    likely: float
    tests: str
    grade_before: str | None


def likelier_grades(records: WorkRecords) -> dict[Key, LikelierGrade]:
    """Return, by layer, what the unknown boards of the package now may be taken as."""
    package = with_blanks_filled(package_now(records))
    found = {layer.key: likelier_grade(layer, package) for layer in package.layers}
    return {key: grade for key, grade in found.items() if key is not None and grade is not None}


def decide_grade(session: Session, viewer: Viewer, layer_id: int, *, today: int) -> GradeDecided:
    """Take an unknown board as what its tests say, and work out its works anew.

    Raises NotFound, NotAllowed, RuleBroken (`decided_already`, `tests_say_too_little`).
    """
    require(viewer.role, Deed.RECORD_VISIT)
    layer, work_ids = _layer_to_change(session, viewer, layer_id)
    if standing_decision(session, layer_id) is not None:
        raise RuleBroken(_STANDS, "decided_already")
    likelier = _likelier(session, work_ids, layer_id)
    if likelier is None:
        raise RuleBroken(
            "The tests of this layer do not say enough to take it as a grade;"
            " another test would, or say the grade yourself.",
            "tests_say_too_little",
        )
    before = layer.grade
    session.add(
        GradeDecision(
            layer_id=layer_id,
            grade=likelier.grade,
            likely=likelier.weight,
            tests=likelier.tests,
            grade_before=before,
            known_by_before=layer.known_by,
            decided_on=today,
            decided_by_id=viewer.person_id or None,
        )
    )
    write(layer, {"grade": likelier.grade, "known_by": KnownBy.TESTED})
    standing = RuleBroken(_STANDS, "decided_already")
    flush_unless_taken(session, "uq_grade_decision_standing_layer_id", standing)
    refresh_forecasts(session, work_ids, today=today)
    return GradeDecided(
        layer_id=layer_id,
        grade=likelier.grade,
        likely=likelier.weight,
        tests=likelier.tests,
        grade_before=before,
    )


def take_back_grade(session: Session, viewer: Viewer, layer_id: int, *, today: int) -> None:
    """Take back the decision that stands, and work out its works anew.

    Raises NotFound, NotAllowed.
    """
    require(viewer.role, Deed.RECORD_VISIT)
    layer, work_ids = _layer_to_change(session, viewer, layer_id)
    decision = standing_decision(session, layer_id)
    if decision is None:
        raise NotFound("standing decision of layer", layer_id)
    write(decision, {"taken_back_on": today, "taken_back_by_id": viewer.person_id or None})
    if layer.grade == decision.grade:
        write(layer, {"grade": decision.grade_before, "known_by": decision.known_by_before})
    session.flush()
    refresh_forecasts(session, work_ids, today=today)


def _layer_to_change(session: Session, viewer: Viewer, layer_id: int) -> tuple[Layer, list[int]]:
    """Return the layer, held, and the works that are in its package now. Raises NotFound."""
    layer = session.get(Layer, layer_id)
    if layer is None or layer.ended or layer.withdrawn_reason is not None:
        raise NotFound("layer", layer_id)
    work_ids = [work for _, work in works_in_packages(session, [layer.package_id])]
    if not work_ids:
        raise NotFound("layer", layer_id)
    get_works_to_change(session, viewer, work_ids)
    return lock(session, Layer, layer_id, "layer"), work_ids


def _likelier(session: Session, work_ids: list[int], layer_id: int) -> LikelierGrade | None:
    """Return what the layer may be taken as; its tests may belong to any work of its package."""
    for records in load_records(session, THE_HOUSE, work_ids).values():
        if (found := likelier_grades(records).get(layer_id)) is not None:
            return found
    return None
