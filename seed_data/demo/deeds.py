"""What happened in the invented collection, as it is told before it is recorded?

Plain values. Works go by their numbers, holds and layers by the `ref` under which
they were told, findings by their number within the work: `record.py` puts the
keys of the database in their place. Days are EDTF.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from models.actions.lots import LotTold
from models.actions.materials import FiguresTold, MaterialTold
from models.rules.visit_as_told import SightingTold, StopTold, VisitTold
from models.vocabulary import Shown, VisitKind


@dataclass(frozen=True, kw_only=True)
class Came:
    """Works came to the collection on one day, and into one place."""

    on: str
    numbers: tuple[str, ...]
    place: str


@dataclass(frozen=True, kw_only=True)
class Moved:
    """Works went to another place."""

    on: str
    numbers: tuple[str, ...]
    place: str
    by: str | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Visited:
    """A visit.

    `with_package_of` names the work whose package this one shares, `also` the works
    that were opened with it; `takes_off_remains` says that its treatment took off
    everything that old mounts had left.
    """

    number: str
    told: VisitTold
    with_package_of: str | None = None
    also: tuple[str, ...] = ()
    takes_off_remains: bool = False

    @property
    def on(self) -> str:
        """Return the day of the visit."""
        return self.told.on


@dataclass(frozen=True, kw_only=True)
class NotAsBefore:
    """What a walk-round found of one work."""

    summary: str
    sightings: tuple[SightingTold, ...] = ()
    stop: StopTold | None = None


@dataclass(frozen=True, kw_only=True)
class Walked:
    """A walk-round of a place, or the check of a box."""

    on: str
    place: str
    by: str
    kind: VisitKind = VisitKind.LOOK
    seen: frozenset[Shown] | None = None
    except_for: Mapping[str, NotAsBefore] = field(default_factory=dict)
    not_found: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Happened:
    """An incident in a place, or of these works."""

    on: str
    what: str
    place: str | None = None
    numbers: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class MaterialCame:
    """A material that is not in every book came on record."""

    on: str
    told: MaterialTold
    figures: FiguresTold


@dataclass(frozen=True, kw_only=True)
class FiguresLearned:
    """More became known of a material: a new edition of its figures."""

    on: str
    material: str
    changes: Mapping[str, object]


@dataclass(frozen=True, kw_only=True)
class LotCame:
    """A delivery came."""

    on: str
    material: str
    told: LotTold


@dataclass(frozen=True, kw_only=True)
class LotRecalled:
    """A lot was found bad."""

    on: str
    material: str
    lot: str
    reason: str


Deed = (
    Came
    | Moved
    | Visited
    | Walked
    | Happened
    | MaterialCame
    | FiguresLearned
    | LotCame
    | LotRecalled
)
