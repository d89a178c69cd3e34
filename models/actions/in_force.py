"""What is in force in this house: places and their climates, figures, policy, own experience?

Everything that a forecast rests on besides the records of its work, read together in one
place. Whoever works out a forecast asks for it once. It changes seldom and is asked for
with every page, so what was read is kept in this process beside the tokens of
`house_state`, which the database draws anew with every change: one statement says that it
still holds. A transaction that changed something itself sees its own tokens, and what it
rolls back nobody sees again.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock
from typing import TypeVar

from sqlmodel import Session

from models.actions.place_climates import Records, climate_records
from models.actions.places import place_tree
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Experience
from models.rules.place_tree import PlaceTree
from models.rules.policy import Policy, own_figure, policy_from
from models.tables.own_evidence import factors_in_use
from models.tables.policy import Tokens, figures_in_force, settings_in_force, tokens_now
from seed_data.shipped import shipped_default_figures

# Things kept at a time, of all databases that this process has open: what is in force now,
# and what a reader who began before the last change still sees. Climates are the largest,
# 0.2 MB for each place and year of record.
MOST_KEPT = 24

Thing = TypeVar("Thing")
_Key = tuple[str, ...]
_kept: OrderedDict[_Key, object] = OrderedDict()
_lock = Lock()


@dataclass(frozen=True, kw_only=True)
class InForce:
    """What all forecasts have in common."""

    tree: PlaceTree
    figures: DefaultFigures
    policy: Policy = field(default_factory=Policy)
    experience: Experience = field(default_factory=dict)
    climates: Records = field(default_factory=dict)


def in_force(session: Session) -> InForce:
    """Return what is in force, as this transaction sees it."""
    tokens = tokens_now(session)
    while True:
        found = _read(session, tokens)
        if found.is_all_kept:
            return found.force
        # Another may have changed it between these statements: then it is read again, and
        # what was read is kept only under tokens that it surely goes by.
        after = tokens_now(session)
        if after == tokens:
            found.keep()
            return found.force
        tokens = after


def figures_now(session: Session) -> DefaultFigures:
    """Return the typical times to harm by which everything is judged."""
    return in_force(session).figures


class _Reading:
    """What is found by its tokens, and what had to be read because nobody had kept it."""

    def __init__(self, session: Session, tokens: Tokens | None) -> None:
        self._database = str(session.get_bind().engine.url)
        self._tokens = tokens
        self._read: dict[_Key, object] = {}
        self.force = InForce(tree=PlaceTree(()), figures=DefaultFigures(()))

    @property
    def is_all_kept(self) -> bool:
        return not self._read

    def thing(self, names: tuple[str, ...], load: Callable[[], Thing]) -> Thing:
        """Return what goes by the tokens of these names, read where it was not kept."""
        key = (self._database, *names, *(getattr(self._tokens, name, "") for name in names))
        with _lock:
            if self._tokens is not None and key in _kept:
                _kept.move_to_end(key)
                thing: Thing = _kept[key]  # type: ignore[assignment]
                return thing
        self._read[key] = thing = load()
        return thing

    def keep(self) -> None:
        """Keep what was read, and let go what was not asked for longest."""
        if self._tokens is None:
            return
        with _lock:
            _kept.update(self._read)
            while len(_kept) > MOST_KEPT:
                _kept.popitem(last=False)


def _read(session: Session, tokens: Tokens | None) -> _Reading:
    reading = _Reading(session, tokens)
    tree = reading.thing(("places",), lambda: place_tree(session))
    reading.force = InForce(
        tree=tree,
        figures=reading.thing(("figures",), lambda: _figures(session)),
        policy=reading.thing(("policy",), lambda: policy_from(settings_in_force(session))),
        experience=reading.thing(("experience",), lambda: factors_in_use(session)),
        climates=reading.thing(("places", "climates"), lambda: climate_records(session, tree)),
    )
    return reading


def _figures(session: Session) -> DefaultFigures:
    shipped = shipped_default_figures()
    own = figures_in_force(session)
    return shipped.with_figures(
        own_figure(
            shipped.figure(row.mechanism, row.grade),
            median=row.median,
            shape=row.shape,
            severity=row.severity,
            basis=row.basis,
        )
        for row in own
    )
