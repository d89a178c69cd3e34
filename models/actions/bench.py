"""What lies on the bench while one visit is recorded?

The work and its visit, what was on record when the visit began, and the parts
that the visit itself adds, found by their number or by the `ref` they were
given: "ref:a" may stand wherever a number is expected.
"""

from dataclasses import dataclass, field
from typing import TypeVar

from sqlmodel import Session, SQLModel

from models.actions.record_changes import key_of
from models.actions.work_records import WorkRecords
from models.errors import BadValue, RuleBroken
from models.rules.half_known_dates import HalfKnownDate
from models.rules.visit_as_told import Named
from models.tables.mounts import Hold, Layer, Mount
from models.tables.visible import Viewer
from models.tables.visits import Visit
from models.tables.works import Work

REF = "ref:"
_Part = TypeVar("_Part", Layer, Hold)


@dataclass
class Bench:
    """One visit being recorded; `mount` is the mount that holds the work at this moment."""

    session: Session
    viewer: Viewer
    work: Work
    visit: Visit
    on: HalfKnownDate
    records: WorkRecords
    # The highest numbers given so far to mounts and findings of this work, which is locked.
    last_mount_no: int
    last_finding_no: int
    mount: Mount | None = None
    touched_packages: set[int] = field(default_factory=set)
    made_packages: set[int] = field(default_factory=set)
    named: dict[str, SQLModel] = field(default_factory=dict)

    @property
    def visit_id(self) -> int:
        """Return the number of the visit."""
        return key_of(self.visit)

    @property
    def work_id(self) -> int:
        """Return the number of the work."""
        return key_of(self.work)

    def next_mount_no(self) -> int:
        """Return the number of a new mount of this work."""
        self.last_mount_no += 1
        return self.last_mount_no

    def next_finding_no(self) -> int:
        """Return the number of a new finding of this work."""
        self.last_finding_no += 1
        return self.last_finding_no

    def name(self, ref: str | None, row: SQLModel) -> None:
        """Keep a part under the `ref` it was given. Raises BadValue when that is taken."""
        if ref is None:
            return
        if ref in self.named:
            raise BadValue(f"Two parts of this visit are called {ref!r}; give each its own ref.")
        # Only what is asked for by name must have its key at once.
        self.session.flush()
        self.named[ref] = row

    def layer(self, named: Named, at: str) -> Layer:
        """Return a layer that is in the package of the work now."""
        layer = self._of_package(named, at)
        if layer.ended or layer.withdrawn_reason is not None:
            raise RuleBroken(
                f"Layer {named} was removed before; name one that is in the package.",
                "layer_is_gone",
            )
        return layer

    def taken_out(self, named: Named, at: str) -> Layer:
        """Return a layer that is in the package now, or was taken out at this visit."""
        layer = self._of_package(named, at)
        return layer if layer.removed_visit_id == self.visit_id else self.layer(named, at)

    def hold(self, named: Named, at: str) -> Hold:
        """Return a hold of the mount that holds the work now."""
        hold = self._part(Hold, named, at, "hold")
        if self.mount is None or hold.mount_id != self.mount.id:
            raise RuleBroken(
                f"Hold {named} does not hold this work; name one of its current mount.",
                "hold_of_another_mount",
            )
        return hold

    def any_layer(self, named: Named, at: str) -> Layer:
        """Return a layer of any package this work is or was in: a layer taken out can be tested."""
        layer = self._part(Layer, named, at, "layer")
        packages = {mount.package_id for mount in self.records.mounts}
        if self.mount is not None:
            packages.add(self.mount.package_id)
        if layer.package_id not in packages | self.touched_packages:
            raise RuleBroken(
                f"Layer {named} is in no package of this work.", "layer_of_another_package"
            )
        return layer

    def _of_package(self, named: Named, at: str) -> Layer:
        layer = self._part(Layer, named, at, "layer")
        if self.mount is None or layer.package_id != self.mount.package_id:
            raise RuleBroken(
                f"Layer {named} is not in the package of this work; name one that is.",
                "layer_of_another_package",
            )
        return layer

    def _part(self, table: type[_Part], named: Named, at: str, kind: str) -> _Part:
        row = self._row(table, named)
        if not isinstance(row, table):
            message = f"There is no {kind} {named!r} here."
            right = f"the number of a {kind} of this work, or ref: and the ref of one told here"
            raise BadValue.at(at, message, right)
        return row

    def _row(self, table: type[_Part], named: Named) -> SQLModel | None:
        if isinstance(named, str):
            return self.named.get(named.removeprefix(REF)) if named.startswith(REF) else None
        return self.session.get(table, named)
