"""What would a remat of each work gain, what would it take, and what is to be asked before?

For many works at once: what each has still to lose as it is and in each package
worth weighing, less what the remat puts at risk. The package that reduces most
is proposed; what it costs is worked out from its hours and its boards. The
reason is said in a sentence. Where a remat harms more than it mends the work is
left alone and referred to a conservator; where the work can be had again for
less, its owner and its maker are asked first.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from models.rules.chance_words import ALMOST_CERTAIN, chance_in_words, percent
from models.rules.package_components import Circumstances, ComponentRow, component_rows
from models.rules.package_facts import FindingFacts, PackageFacts, WorkFacts
from models.rules.proposed_package import Proposal, Stock, Swap, proposals
from models.rules.remat_advice import CURE
from models.rules.remat_order import (
    StillToLose,
    risk_of_the_work_itself,
    risk_reduced,
    still_to_lose,
    weight_of_work,
)
from models.rules.three_questions import NOT_RECORDED
from models.rules.urgent_signs import may_be_opened, urgent_signs
from models.rules.work_forecast import WorkCase, package_on_record
from models.vocabulary import (
    Advice,
    Freeing,
    LayerRole,
    Mechanism,
    Replaceability,
    Shown,
    ValueBand,
)

# Hours at the bench. Defaults of this project (judgement); a quote stands above them.
HOURS_TO_OPEN_AND_CLOSE = 0.5
HOURS_FOR_A_LAYER = {
    LayerRole.OVERMAT: 0.4,
    LayerRole.WINDOW_MAT: 0.4,
    LayerRole.MOUNT_BOARD: 0.1,
    LayerRole.BACKING: 0.1,
    LayerRole.SPACER: 0.2,
}
HOURS_FOR_ANOTHER_LAYER = 0.2
HOURS_TO_UNDO = {
    Freeing.NO_ADHESIVE: 0.1,
    Freeing.WATER: 0.75,
    Freeing.SOLVENT_OR_HEAT: 2.0,
    Freeing.NOT_WITHOUT_HARM: 8.0,
}
HOURS_TO_HOLD = {"corner pockets": 0.3, "edge strips": 0.5}
HOURS_TO_HINGE = 0.75

# Money by square metre, for what nobody has priced. Defaults of this project (judgement).
PRICE_OF_A_M2 = {LayerRole.BACKING: 18.0, LayerRole.SPACER: 30.0, LayerRole.INTERLEAF: 6.0}
PRICE_OF_BOARD_A_M2 = 35.0
# A mat is larger than its sheet by this on each side; a sheet that nobody measured, in mm.
BORDER_MM = 80.0
UNMEASURED_MM = (400.0, 500.0)
MM2_PER_M2 = 1e6
# What another impression may cost, money. Defaults of this project (judgement).
PRICE_OF_A_REPRINT = {ValueBand.LOW: 40.0, ValueBand.NORMAL: 120.0, ValueBand.HIGH: 400.0}

# A gain below this is no reason to open a package. Default of this project.
SMALLEST_GAIN = 0.01

LEAVE_IT = "Leave it; refer to a conservator"
REPRINT = "A reprint may cost less: ask owner and maker"

# What drying or moving mends, and no package.
_DAMP = frozenset({Mechanism.MOULD, Mechanism.FOXING})


@dataclass(frozen=True, kw_only=True)
class RematScore:
    """What a remat of one work would do. Risks and chances are shares of 1, cost is money.

    `lost_*` is what is still to lose before the work is weighed; `reduced` is by what
    remats are ranked. `chance_*` is that of new harm within five years.
    """

    reduced: float
    lost_now: float
    lost_then: float
    risk_of_remat: float
    chance_now: float
    chance_then: float
    hours: float
    cost: float
    cure: Advice
    reason: str
    weak_layer: str
    method: str
    board: str
    swaps: tuple[Swap, ...]
    kept_because: tuple[str, ...]
    ask_before: tuple[str, ...]
    leave_it: bool
    may_reprint: bool
    is_listed: bool
    package: PackageFacts


@dataclass(frozen=True)
class _Weighed:
    """One way to lessen the risk: the rows that it would leave, and what it puts at risk."""

    of: int
    proposal: Proposal
    rows: tuple[ComponentRow, ...]
    risk: float
    is_dry: bool = False


def remat_scores(
    cases: Sequence[WorkCase],
    stock: Stock,
    rows_of_works: Sequence[tuple[ComponentRow, ...]] | None = None,
) -> list[RematScore]:
    """Return what a remat of each work would do, all worked out in one pass.

    `rows_of_works`: the rows of the packages on record, where a forecast has made them.
    """
    rows = rows_of_works or [_rows(case, package_on_record(case)) for case in cases]
    found = [case.findings for case in cases]
    now = still_to_lose(rows, found)
    ways = [
        way
        for of, case in enumerate(cases)
        for way in (
            _ways(of, case, rows[of], stock)
            if case.was_ever_examined and now.loss[of] >= SMALLEST_GAIN
            else [_as_it_is(of, case, rows[of])]
        )
    ]
    left, known = [way.rows for way in ways], [_dated(found[way.of]) for way in ways]
    # Where every package stays as it is, so does what is still to lose.
    is_same = len(ways) == len(cases) and known == found
    is_same = is_same and all(way.rows is rows[way.of] for way in ways)
    then = now if is_same else still_to_lose(left, known)
    weights = [weight_of_work(case.work.replaceability, case.work.value_band) for case in cases]
    reduced = risk_reduced(
        as_it_is=now.loss[[way.of for way in ways]],
        proposed=then.loss,
        of_the_work=[way.risk for way in ways],
        weight=[weights[way.of] for way in ways],
    )
    best: dict[int, int] = {}
    for index, way in enumerate(ways):
        # The ways that change least come first: a sound hold is not undone for next to nothing.
        enough = SMALLEST_GAIN * weights[way.of]
        if way.of not in best or reduced[index] > reduced[best[way.of]] + enough:
            best[way.of] = index
    return [
        _score(case, now, of, ways[best[of]], then, best[of], float(reduced[best[of]]))
        for of, case in enumerate(cases)
    ]


def _as_it_is(of: int, case: WorkCase, rows: tuple[ComponentRow, ...]) -> _Weighed:
    """Return what is done where nothing can be gained, or where nobody knows what there is."""
    return _Weighed(of, Proposal(package=package_on_record(case), swaps=()), rows, 0.0)


def _ways(of: int, case: WorkCase, rows: tuple[ComponentRow, ...], stock: Stock) -> list[_Weighed]:
    package = package_on_record(case)
    signs = [finding.urgent_sign for finding in case.findings if finding.is_still_there]
    ways = [
        _Weighed(
            of,
            proposal,
            _rows(case, proposal.package),
            risk_of_the_work_itself(case.work.surface, signs, proposal.undone),
        )
        for proposal in proposals(package, case.work, stock, case.figures, today=case.today)
    ]
    if any(row.mechanism in _DAMP for row in rows):
        dry = tuple(row for row in rows if row.mechanism not in _DAMP)
        ways.append(_Weighed(of, Proposal(package=package, swaps=()), dry, 0.0, is_dry=True))
    return ways


def _rows(case: WorkCase, package: PackageFacts) -> tuple[ComponentRow, ...]:
    return component_rows(
        Circumstances(
            package=package,
            work=case.work,
            climate=case.climate,
            past=case.past,
            seen=case.seen,
            figures=case.figures,
            experience=case.experience,
            today=case.today,
        )
    )


def _dated(findings: Sequence[FindingFacts]) -> tuple[FindingFacts, ...]:
    """Return the findings of which it is known whether they were there before a new layer."""
    return tuple(finding for finding in findings if finding.first_seen_day is not None)


def _score(
    case: WorkCase,
    now: StillToLose,
    of: int,
    way: _Weighed,
    then: StillToLose,
    at: int,
    reduced: float,
) -> RematScore:
    leading, proposal = now.leading[of], way.proposal
    hours = 0.0 if way.is_dry else hours_of(proposal)
    cost = hours * case.policy.hourly_rate + materials_cost(proposal, case.work)
    stays_closed = not may_be_opened(
        urgent_signs(case.findings, package_on_record(case), today=case.today)
    )
    # What must not be opened stands below what can be rematted, however much it would gain.
    reduced = min(reduced, 0.0) if stays_closed else reduced
    leave_it = reduced < 0 or stays_closed
    chances = float(now.chance_new_5y[of]), float(then.chance_new_5y[at])
    return RematScore(
        reduced=reduced,
        lost_now=float(now.loss[of]),
        lost_then=float(then.loss[at]),
        risk_of_remat=way.risk,
        chance_now=chances[0],
        chance_then=chances[1],
        hours=hours,
        cost=cost,
        cure=_cure(leading, way),
        reason=_reason(leading, chances, way),
        weak_layer="" if leading is None else leading.name,
        method=proposal.method,
        board=proposal.board,
        swaps=proposal.swaps,
        kept_because=proposal.kept_because,
        ask_before=proposal.ask_before,
        leave_it=leave_it,
        may_reprint=case.work.replaceability is Replaceability.REPLACEABLE
        and cost > PRICE_OF_A_REPRINT[case.work.value_band],
        # A work that nobody has examined stands in the first survey: nobody knows what it is in.
        is_listed=case.was_ever_examined and now.loss[of] - then.loss[at] >= SMALLEST_GAIN,
        package=proposal.package,
    )


def hours_of(proposal: Proposal) -> float:
    """Return the hours at the bench that a remat takes."""
    hours = HOURS_TO_OPEN_AND_CLOSE
    hours += sum(HOURS_FOR_A_LAYER.get(s.role, HOURS_FOR_ANOTHER_LAYER) for s in proposal.swaps)
    hours += sum(HOURS_TO_UNDO[freeing] for freeing in proposal.undone)
    if proposal.renews_the_hold:
        hours += HOURS_TO_HOLD.get(proposal.method, HOURS_TO_HINGE)
    return hours


def materials_cost(proposal: Proposal, work: WorkFacts) -> float:
    """Return the money for new boards, by the area of the sheet with its borders."""
    height = (work.height_mm or UNMEASURED_MM[0]) + 2 * BORDER_MM
    width = (work.width_mm or UNMEASURED_MM[1]) + 2 * BORDER_MM
    prices = [PRICE_OF_A_M2.get(swap.role, PRICE_OF_BOARD_A_M2) for swap in proposal.swaps]
    return sum(prices) * height * width / MM2_PER_M2


def _cure(leading: ComponentRow | None, way: _Weighed) -> Advice:
    if way.is_dry:
        return Advice.DRY_OR_MOVE
    if leading is None or leading.mechanism in _DAMP:
        return Advice.REMAT
    cure = CURE[leading.mechanism]
    # Where more is changed than what closes the frame, resealing would say too little.
    return Advice.REMAT if cure is Advice.RESEAL and _is_more_than_a_seal(way.proposal) else cure


def _is_more_than_a_seal(proposal: Proposal) -> bool:
    swaps_more = any(swap.role is not LayerRole.SEALING_TAPE for swap in proposal.swaps)
    return proposal.renews_the_hold or swaps_more


_CHANCES = "New harm within 5 years: "
_HOLD_STAYS = "What holds it stays as it is."


def _reason(leading: ComponentRow | None, chances: tuple[float, float], way: _Weighed) -> str:
    if leading is None:
        return "Nothing in its package is known to harm it."
    now, then = (chance_said(one) for one in chances)
    name = "Something not recorded" if leading.name == NOT_RECORDED else leading.name
    said = [
        f"{name}: {leading.mechanism}, to be seen {_WHERE[leading.shown]}.",
        f"{_CHANCES}{now}; {_WITH[way.is_dry]}: {then}.",
    ]
    if not way.is_dry and not way.proposal.renews_the_hold:
        said.append(_HOLD_STAYS)
    return " ".join(said)


def reason_without_chances(reason: str) -> str:
    """Return a reason for where the chances stand beside it by themselves."""
    before, _, rest = reason.partition(f" {_CHANCES}")
    return f"{before} {_HOLD_STAYS}" if rest.endswith(_HOLD_STAYS) else before


def chance_said(chance: float) -> str:
    """Return a chance in words and in percent; what is almost certain says both already."""
    words = chance_in_words(chance)
    return words if chance > ALMOST_CERTAIN else f"{words} ({percent(chance)})"


_WHERE = {
    Shown.FRONT: "from the front",
    Shown.BACK_OF_FRAME: "on the back of the frame",
    Shown.MARGINS: "at the margins",
    Shown.VERSO: "on the verso",
    Shown.UNDER_HINGES: "under the hinges",
}
_WITH = {True: "dry", False: "with the proposed package"}
