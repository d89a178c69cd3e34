"""What was on record of a work right after one of its visits?

What was told of later visits, or happened on later days, is left out; what has been
undone since still stands. What nobody dated, and no visit tells of, was there then.
Figures of materials are today's: a report says so.
"""

from dataclasses import replace

from models.actions.work_records import WorkRecords
from models.tables.case_rows import HoldRow, LayerRow, MountRow, RemainRow, StayRow


def records_after_visit(records: WorkRecords, visit_id: int, *, today: int) -> WorkRecords:
    """Return the records as they were after this visit of theirs.

    `today` stands for the day of a visit of which nobody recorded the day.
    """
    at = next(n for n, visit in enumerate(records.visits) if visit.id == visit_id)
    visits = records.visits[: at + 1]
    on = visits[-1].on_first
    then = _Then(frozenset(visit.id for visit in visits), today if on is None else min(on, today))
    mounts = tuple(then.mount(row) for row in records.mounts if then.has_begun_mount(row))
    over = {mount.id for mount in mounts if mount.ended}
    is_last = at + 1 == len(records.visits)
    stays = tuple(then.stay(row) for row in records.stays if (row.since_first or 0) <= then.on)
    place = stays[-1].place_id if stays else records.work.place_id
    advised_on = records.work.advised_on
    return replace(
        records,
        work=records.work._replace(
            place_id=place,
            advised_on=None if advised_on is None or advised_on > then.on else advised_on,
        ),
        mounts=mounts,
        layers={
            mount.package_id: tuple(
                then.layer(row)
                for row in records.layers[mount.package_id]
                if then.has_begun(row.fitted_visit_id, row.fitted_first)
            )
            for mount in mounts
        },
        holds={
            mount.id: tuple(
                then.hold(row, is_last or mount.id in over) for row in records.holds[mount.id]
            )
            for mount in mounts
        },
        remains=tuple(
            then.remain(row)
            for row in records.remains
            if then.has_begun(row.left_visit_id, row.since_first)
        ),
        stays=stays,
        visits=visits,
        sightings=tuple(row for row in records.sightings if row.visit_id in then.visits),
        put_off=tuple(row for row in records.put_off if row.made_on <= then.on),
        tests={
            layer: tuple(test for test in tests if test.visit_id in then.visits)
            for layer, tests in records.tests.items()
        },
    )


class _Then:
    """The end of one visit: which visits there had been, and the day."""

    def __init__(self, visits: frozenset[int], on: int) -> None:
        self.visits = visits
        self.on = on

    def has_begun(self, visit_id: int | None, first_day: int | None) -> bool:
        if visit_id is not None:
            return visit_id in self.visits
        return first_day is None or first_day <= self.on

    def has_begun_mount(self, row: MountRow) -> bool:
        return self.has_begun(row.mounted_visit_id, row.mounted_first)

    def mount(self, row: MountRow) -> MountRow:
        if not row.ended or self.has_begun(row.dismounted_visit_id, row.dismounted_first):
            return row
        return row._replace(
            ended=False,
            dismounted_edtf=None,
            dismounted_first=None,
            dismounted_last=None,
            dismounted_by=None,
            dismounted_visit_id=None,
            dismount_reason="",
            harm_at_dismount="",
        )

    def layer(self, row: LayerRow) -> LayerRow:
        if not row.ended or self.has_begun(row.removed_visit_id, row.removed_first):
            return row
        return row._replace(
            ended=False,
            removed_edtf=None,
            removed_first=None,
            removed_last=None,
            removed_visit_id=None,
            condition="",
            kept=None,
        )

    def hold(self, row: HoldRow, is_as_now: bool) -> HoldRow:
        # Of what came off before visits were kept with it, the last visit shows what is now.
        if is_as_now or (row.outcome_visit_id is not None and row.outcome_visit_id in self.visits):
            return row
        return row._replace(outcome=None, freed_by=None, residue="", outcome_visit_id=None)

    def remain(self, row: RemainRow) -> RemainRow:
        if not row.ended or row.removed_visit_id is None or row.removed_visit_id in self.visits:
            return row
        return row._replace(ended=False, removed_visit_id=None)

    def stay(self, row: StayRow) -> StayRow:
        if not row.ended or (row.ended_first or 0) <= self.on:
            return row
        return row._replace(ended=False, ended_edtf=None, ended_first=None, ended_last=None)
