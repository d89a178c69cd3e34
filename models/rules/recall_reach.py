"""What would a recall do to a work: is it due at once, only judged anew, or as it was?

What is recalled does not wait where it touches the work or holds it; anywhere else in the
package it makes a sound package doubtful. What was put on the work, or was left on it by
an earlier mount, has no layer to be taken away, and what is gone changes nothing: both
are told, for somebody may want to look.
"""

from collections.abc import Collection
from dataclasses import replace
from enum import StrEnum

from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts
from models.rules.urgent_signs import urgent_signs
from models.vocabulary import Verdict


class Reach(StrEnum):
    """How near what is recalled is to a work, the nearest first."""

    TOUCHES = "it touches the work, or holds it"
    IN_PACKAGE = "it lies in the package, apart from the work"
    ON_WORK = "it was put on the work, or is left on it of an earlier mount"
    FORMERLY = "it was with the work formerly"


def recall_reach(
    package: PackageFacts | None,
    layer_keys: Collection[int],
    hold_keys: Collection[int],
    *,
    is_on_work: bool,
    today: int,
) -> Reach:
    """Return how near a recall of these layers and holds would come to the work.

    `package` is the one in which it is now; `is_on_work` says that something of it is there
    still, in whatever way.
    """
    called = None if package is None else _called(package, layer_keys, hold_keys, today)
    if called is not None and urgent_signs((), called, today=today):
        return Reach.TOUCHES
    if called is not None and any(layer.recalled for layer in called.layers):
        return Reach.IN_PACKAGE
    return Reach.ON_WORK if is_on_work else Reach.FORMERLY


def comes_nearer(reach: Reach, due_day: int | None, *, today: int) -> bool:
    """Say whether the work would be due sooner than it is: today, and not some day to come."""
    return reach is Reach.TOUCHES and (due_day is None or due_day > today)


def turns_doubtful(reach: Reach, verdict: Verdict | None) -> bool:
    """Say whether a package that is sound would be sound no longer."""
    return reach in (Reach.TOUCHES, Reach.IN_PACKAGE) and verdict is Verdict.SOUND


def _called(
    package: PackageFacts, layer_keys: Collection[int], hold_keys: Collection[int], today: int
) -> PackageFacts:
    """Return the package with these recalled today, and with nothing else recalled."""

    def layer(one: LayerFacts) -> LayerFacts:
        return replace(one, recalled=one.key in layer_keys, recalled_day=today)

    def hold(one: HoldFacts) -> HoldFacts:
        return replace(one, recalled=one.key in hold_keys, recalled_day=today)

    return replace(
        package, layers=tuple(map(layer, package.layers)), holds=tuple(map(hold, package.holds))
    )
