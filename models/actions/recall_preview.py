"""Which works would a recall touch, and which would be due sooner by it, before it is done?

What is shown here is what the recall would do: the same rule says what touches a work, and
nothing is written. Seven statements at most, however many works there are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session

from models.actions.work_records import package_lying
from models.errors import NotFound
from models.rules.permissions import Deed, require
from models.rules.recall_reach import Reach, comes_nearer, recall_reach, turns_doubtful
from models.tables.material_uses import (
    Target,
    Use,
    UsedOn,
    layers_around,
    uses_with_works,
    works_held,
)
from models.tables.materials import Lot, Material, open_recalls
from models.tables.visible import Viewer
from models.vocabulary import DueKind, Verdict


@dataclass(frozen=True, kw_only=True)
class WorkInReach:
    """A work on which what would be recalled is or was; verdict and date as they are now."""

    id: int
    number: str
    title: str
    reach: Reach
    uses: tuple[Use, ...]
    verdict: Verdict | None
    due_on: int | None
    due_kind: DueKind | None
    comes_nearer: bool
    turns_doubtful: bool


@dataclass(frozen=True, kw_only=True)
class RecallPreview:
    """What a recall would do, the nearest works first; `is_called` that it stands already."""

    material: str
    material_id: int
    lot: str | None
    lot_id: int | None
    works: tuple[WorkInReach, ...]
    is_called: bool


def preview_material_recall(
    session: Session, viewer: Viewer, material_id: int, *, today: int
) -> RecallPreview:
    """Return what recalling a material in every lot would do. Raises NotFound."""
    require(viewer.role, Deed.RECALL)
    material = session.get(Material, material_id)
    if material is None:
        raise NotFound("material", material_id)
    return _preview(session, viewer, material, None, today)


def preview_lot_recall(
    session: Session, viewer: Viewer, lot_id: int, *, today: int
) -> RecallPreview:
    """Return what recalling one lot would do. Raises NotFound."""
    require(viewer.role, Deed.RECALL)
    lot = session.get(Lot, lot_id)
    if lot is None:
        raise NotFound("lot", lot_id)
    return _preview(session, viewer, session.get_one(Material, lot.material_id), lot, today)


def _preview(
    session: Session, viewer: Viewer, material: Material, lot: Lot | None, today: int
) -> RecallPreview:
    assert material.id is not None, "the material is stored"
    lot_id = None if lot is None else lot.id
    called = open_recalls(session)
    return RecallPreview(
        material=material.name,
        material_id=material.id,
        lot=None if lot is None else lot.number,
        lot_id=lot_id,
        works=works_in_reach(session, viewer, Target(material.id, lot_id), today=today),
        is_called=any(
            recall.material_id == material.id if lot_id is None else recall.lot_id == lot_id
            for recall in called
        ),
    )


def works_in_reach(
    session: Session, viewer: Viewer, target: Target, *, today: int
) -> tuple[WorkInReach, ...]:
    """Return the works on which a material or lot is or was, the nearest first, by number."""
    by_work = [
        list(those)
        for _, those in groupby(
            uses_with_works(session, viewer, target), key=lambda used: used.use.work_id
        )
    ]
    reaches = _Reaches(session, viewer, target, today)
    found = [_in_reach(used, reaches, today) for used in by_work]
    order = list(Reach)
    # Sorting keeps the order of the numbers within what is equally near.
    return tuple(sorted(found, key=lambda work: order.index(work.reach)))


class _Reaches:
    """How near what is asked for is to each work, worked out once for what lies alike.

    Framers build the same package every day: thousands of works have few ways of lying.
    """

    def __init__(self, session: Session, viewer: Viewer, target: Target, today: int) -> None:
        rows = layers_around(session, viewer, target)
        self._around = {
            work_id: tuple(row._replace(work_id=0) for row in those)
            for work_id, those in groupby(rows, key=lambda row: row.work_id)
        }
        self._held = works_held(session, viewer, target)
        self._today = today
        self._known: dict[tuple[object, ...], Reach] = {}

    def of(self, work_id: int, *, is_on_work: bool) -> Reach:
        """Return how near a recall would come to a work."""
        layers, is_held = self._around.get(work_id), work_id in self._held
        lying = (layers, is_held, is_on_work)
        if lying not in self._known:
            self._known[lying] = recall_reach(
                None if layers is None else package_lying(layers, holds=is_held),
                {number for number, row in enumerate(layers or ()) if row.is_asked},
                {0} if is_held else (),
                is_on_work=is_on_work,
                today=self._today,
            )
        return self._known[lying]


def _in_reach(used: Sequence[UsedOn], reaches: _Reaches, today: int) -> WorkInReach:
    uses = tuple(one.use for one in used)
    first = used[0]
    reach = reaches.of(first.use.work_id, is_on_work=any(use.is_current for use in uses))
    return WorkInReach(
        id=first.use.work_id,
        number=first.use.work_number,
        title=first.title,
        reach=reach,
        uses=uses,
        verdict=first.verdict,
        due_on=first.due_on,
        due_kind=first.due_kind,
        comes_nearer=comes_nearer(reach, first.due_on, today=today),
        turns_doubtful=turns_doubtful(reach, first.verdict),
    )
