"""Which of two materials is better, where, and why?

Each is judged as if it touched a work on paper today, by the same rules as a layer or hold
on record: how long it typically takes to noticeable harm by each way that it can harm by,
at 20 degC and 50 % RH. Of one kind, the one that does no harm by a way is better there; of
different kinds only what both do is weighed, for the one seldom stands in for the other.
What nobody knows counts as suspect, as the worst that it may be.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from models.risk.acid_transfer import MIXTURE_MEDIANS
from models.rules.default_figures import DefaultFigures
from models.rules.distance_from_work import PlacedLayer
from models.rules.fit_choices import KINDS, as_hold, in_place
from models.rules.freeing import (
    EASIEST_FIRST,
    freeing_of_adhesive_layer,
    freeing_of_hold,
)
from models.rules.package_facts import HoldFacts, LayerFacts, PackageFacts, WorkFacts
from models.rules.package_verdict import (
    LARGEST_KAPPA,
    SMALLEST_RESERVE_PERCENT,
    WORST_LAST,
    LayerVerdict,
    verdict_of_hold,
    verdict_of_layer,
)
from models.rules.photographic_contact import (
    ALKALI,
    acts_on_photograph,
    hold_acts_on_photograph,
    is_alkali_on_cyanotype,
)
from models.rules.proposed_package import StockMaterial
from models.vocabulary import (
    Distance,
    Freeing,
    LayerRole,
    LayerSide,
    Mechanism,
    ProcessGroup,
)

# Where each way to harm is weighed, in words that begin a sentence.
WHERE = {
    Mechanism.ACID_MIGRATION: "Touching a work",
    Mechanism.ADHESIVE_AGEING: "Stuck to a work",
    Mechanism.HOLD_FAILURE: "Holding a work",
    Mechanism.PHOTO_ACTIVITY: "Touching a silver or dye photograph",
    Mechanism.ALKALI_CONTACT: "Touching a cyanotype",
}


@dataclass(frozen=True, kw_only=True)
class MaterialWeighed:
    """A material with what else speaks for or against it; UV in percent blocked."""

    material: StockMaterial
    uv_block_percent: float | None = None
    is_recalled: bool = False


@dataclass(frozen=True)
class Harm:
    """One way of a material to harm: typical years at 20 degC and 50 %, or the worst it may be."""

    years: float
    is_suspect: bool = False


@dataclass(frozen=True)
class HarmCompared:
    """One way to harm of both; None for one that harms by it not at all. `better` is 0 or 1."""

    mechanism: Mechanism
    harms: tuple[Harm | None, Harm | None]
    better: int | None


@dataclass(frozen=True)
class Compared:
    """Both judged, each way to harm, and in sentences what speaks for the one and the other."""

    verdicts: tuple[LayerVerdict, LayerVerdict]
    harms: tuple[HarmCompared, ...]
    better_in: tuple[tuple[str, ...], tuple[str, ...]]


def compare_materials(
    first: MaterialWeighed, second: MaterialWeighed, figures: DefaultFigures, *, today: int
) -> Compared:
    """Return what each of two materials would do, and which is better in what."""
    both = (first, second)
    verdicts = (
        _verdict(first.material, figures, today),
        _verdict(second.material, figures, today),
    )
    harms = tuple(_harms(both, figures, today))
    said: tuple[list[str], list[str]] = ([], [])
    for better, sentence in (
        *_by_verdict(verdicts),
        *_by_harms(harms),
        *_by_figures(both),
        *_by_freeing(both, figures, today),
    ):
        said[better].append(sentence)
    return Compared(verdicts, harms, (tuple(said[0]), tuple(said[1])))


def role_of_kind(kind: str) -> LayerRole:
    """Return as what a material of this kind usually lies in a package."""
    return next((role for role, kinds in KINDS.items() if kind in kinds), LayerRole.BACKING)


def harms_of(
    material: StockMaterial, figures: DefaultFigures, *, today: int
) -> dict[Mechanism, Harm]:
    """Return by what a material harms where it touches a work, and how soon, by mechanism."""
    placed = _touching(material, today)
    hold = _hold(material, figures)
    found: dict[Mechanism, str] = {}
    mechanism = figures.mechanism_of_layer(material.grade) if material.grade else None
    if mechanism is not None and material.grade is not None:
        found[mechanism] = material.grade
    if hold is not None:
        found[Mechanism.HOLD_FAILURE] = hold.grade
        acting = hold_acts_on_photograph(hold, ProcessGroup.SILVER_PHOTOGRAPH)
    else:
        acting = acts_on_photograph(placed, ProcessGroup.SILVER_PHOTOGRAPH)
    if acting is not None:
        found[Mechanism.PHOTO_ACTIVITY] = acting.grade
    if is_alkali_on_cyanotype(placed, ProcessGroup.CYANOTYPE):
        found[Mechanism.ALKALI_CONTACT] = ALKALI
    return {of: _harm(figures.figure(of, grade).median) for of, grade in found.items()}


def _harm(median: float | None) -> Harm:
    """Return the time to harm; of a board nobody knows, that of the worst it may be."""
    return Harm(float(min(MIXTURE_MEDIANS)), is_suspect=True) if median is None else Harm(median)


def _touching(material: StockMaterial, today: int) -> PlacedLayer:
    layer = LayerFacts(role=role_of_kind(material.kind))
    return in_place(PlacedLayer(layer, LayerSide.BEHIND, Distance.TOUCHES), material, today)


def _hold(material: StockMaterial, figures: DefaultFigures) -> HoldFacts | None:
    if material.hold_grade is None:
        return None
    return as_hold(material, figures.grades(Mechanism.ADHESIVE_AGEING))


def _verdict(material: StockMaterial, figures: DefaultFigures, today: int) -> LayerVerdict:
    hold = _hold(material, figures)
    if hold is not None:
        return verdict_of_hold(hold, WorkFacts(), figures, today)
    placed = _touching(material, today)
    return verdict_of_layer(placed, PackageFacts(), WorkFacts(), figures, today)


def _harms(
    both: tuple[MaterialWeighed, MaterialWeighed], figures: DefaultFigures, today: int
) -> Iterator[HarmCompared]:
    first, second = (harms_of(one.material, figures, today=today) for one in both)
    is_one_kind = both[0].material.kind == both[1].material.kind
    for mechanism in WHERE:
        pair = (first.get(mechanism), second.get(mechanism))
        if pair == (None, None):
            continue
        # A hold that is none never fails, and holds nothing either.
        is_weighed = None not in pair or (is_one_kind and mechanism is not Mechanism.HOLD_FAILURE)
        yield HarmCompared(mechanism, pair, _longer(pair) if is_weighed else None)


def _longer(pair: tuple[Harm | None, Harm | None]) -> int | None:
    return _larger(*(float("inf") if harm is None else harm.years for harm in pair))


def _larger(first: float, second: float) -> int | None:
    return None if first == second else int(second > first)


def _by_verdict(verdicts: tuple[LayerVerdict, LayerVerdict]) -> Iterator[tuple[int, str]]:
    first, second = (WORST_LAST.index(its.verdict) for its in verdicts)
    better = _larger(second, first)
    if better is not None:
        own, other = verdicts[better].verdict, verdicts[1 - better].verdict
        yield better, f"Touching a work it is {own}, the other {other}."


def _by_harms(harms: Sequence[HarmCompared]) -> Iterator[tuple[int, str]]:
    for one in harms:
        if one.better is not None:
            own, other = one.harms[one.better], one.harms[1 - one.better]
            yield one.better, f"{WHERE[one.mechanism]} {_longer_said(one.mechanism, own, other)}."


def _longer_said(mechanism: Mechanism, own: Harm | None, other: Harm | None) -> str:
    theirs = "" if other is None else _years_said(other)
    if own is None:
        return f"it does no harm by {mechanism}, the other typically after {theirs}"
    does = "it holds longer" if mechanism is Mechanism.HOLD_FAILURE else "it is harmless longer"
    return f"{does}, typically {_years_said(own)} against {theirs} ({mechanism})"


def _years_said(harm: Harm) -> str:
    return f"{harm.years:g} years{', if it is the worst it may be' if harm.is_suspect else ''}"


def _by_figures(both: tuple[MaterialWeighed, MaterialWeighed]) -> Iterator[tuple[int, str]]:
    first, second = (one.material for one in both)
    reserves = first.alkaline_reserve_percent, second.alkaline_reserve_percent
    short = _within_bound(*reserves, SMALLEST_RESERVE_PERCENT)
    better = None if short is None else 1 - short
    if better is not None:
        yield (
            better,
            f"Its alkaline reserve is enough: {reserves[better]:g} % against"
            f" {reserves[1 - better]:g} %, where {SMALLEST_RESERVE_PERCENT:g} % is asked.",
        )
    better = _within_bound(first.kappa, second.kappa, LARGEST_KAPPA)
    if better is not None:
        kappas = first.kappa, second.kappa
        yield (
            better,
            f"It has next to no lignin: kappa {kappas[better]:g} against"
            f" {kappas[1 - better]:g}, where at most {LARGEST_KAPPA:g} is asked.",
        )
    uv = both[0].uv_block_percent, both[1].uv_block_percent
    if uv[0] is not None and uv[1] is not None and (better := _larger(uv[0], uv[1])) is not None:
        yield (
            better,
            f"It keeps more ultraviolet out: {uv[better]:g} % against {uv[1 - better]:g} %.",
        )
    if both[0].is_recalled != both[1].is_recalled:
        yield int(both[0].is_recalled), "It is not recalled, the other is."


def _within_bound(first: float | None, second: float | None, bound: float) -> int | None:
    """Return which of two keeps a bound that the other does not; None where one is not known."""
    if first is None or second is None or (first <= bound) == (second <= bound):
        return None
    return int(second <= bound)


def _by_freeing(
    both: tuple[MaterialWeighed, MaterialWeighed], figures: DefaultFigures, today: int
) -> Iterator[tuple[int, str]]:
    first, second = (_freeing(one.material, figures, today) for one in both)
    if first is None or second is None:
        return
    better = _larger(EASIEST_FIRST.index(second), EASIEST_FIRST.index(first))
    if better is not None:
        ways = (_FREED[first], _FREED[second])
        yield better, f"The work is freed {ways[better]}, of the other {ways[1 - better]}."


_FREED = {
    Freeing.NO_ADHESIVE: "without anything sticking to it",
    Freeing.WATER: "by water",
    Freeing.SOLVENT_OR_HEAT: "by solvent or heat",
    Freeing.NOT_WITHOUT_HARM: "not without harm",
}


def _freeing(material: StockMaterial, figures: DefaultFigures, today: int) -> Freeing | None:
    """Return what frees a work from it; None of what neither holds nor sticks."""
    hold = _hold(material, figures)
    if hold is not None:
        return freeing_of_hold(hold)
    layer = _touching(material, today).layer
    return freeing_of_adhesive_layer(layer) if layer.role is LayerRole.ADHESIVE else None
