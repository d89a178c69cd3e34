"""Which works would a recall touch, and which would be due sooner by it, before it is done?

What is shown here is what the recall would do: the same rule says what touches a work, and
nothing is written. Six statements, however many works there are.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from sqlmodel import Session

from models.actions.work_records import packages_now
from models.errors import NotFound
from models.rules.package_facts import PackageFacts
from models.rules.permissions import Deed, require
from models.rules.recall_reach import Reach, comes_nearer, recall_reach, turns_doubtful
from models.tables.material_uses import Target, Use, UsedOn, uses_with_works
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
    current = [used[0].use.work_id for used in by_work if any(one.use.is_current for one in used)]
    packages = packages_now(session, viewer, current)
    found = [_in_reach(used, packages.get(used[0].use.work_id), today) for used in by_work]
    order = list(Reach)
    # Sorting keeps the order of the numbers within what is equally near.
    return tuple(sorted(found, key=lambda work: order.index(work.reach)))


def _in_reach(used: Sequence[UsedOn], package: PackageFacts | None, today: int) -> WorkInReach:
    uses = tuple(one.use for one in used)
    first = used[0]
    reach = recall_reach(
        package,
        {use.row_id for use in uses if use.kind == "layer"},
        {use.row_id for use in uses if use.kind == "hold"},
        is_on_work=any(use.is_current for use in uses),
        today=today,
    )
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
