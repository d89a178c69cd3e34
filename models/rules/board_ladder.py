"""Into which grade do tests at the bench turn a board that nobody knows?

An unknown board is a list of what it may be, and every test moves its weights
(`models.risk.acid_transfer`). From a weight on, a person may take it as a grade, by the
first of these rungs that it reaches; until then it stays unknown:

1. groundwood at 0.80: *groundwood board*
2. alpha-cellulose or cotton at 0.70: *alpha-cellulose board, unbuffered*, the least good
   of its kind, since no test on the list shows a reserve. Only a board framed after 2000
   that passed every test comes so far.
3. white-core or better at 0.90: *white-core board, not tested*. The tests tell groundwood
   from the rest well and the other two hardly; so it is taken as the lesser of them.

A surface pH under 5.5 says acid as the pen would, one of 7 or more says not acid, where
the pen was not used; in between it says nothing. Under 5.5 a board is never taken as
alpha-cellulose, whatever else was found. Without a test there is nothing to decide.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from models.risk.acid_transfer import board_weights
from models.rules.framing_date import framed_when
from models.rules.package_facts import BenchFacts, LayerFacts, PackageFacts
from models.vocabulary import UNKNOWN_BOARD, BenchTest

# Shares of 1. Defaults of this project (judgement).
GROUNDWOOD_FROM, ALPHA_FROM, WHITE_CORE_OR_BETTER_FROM = 0.80, 0.70, 0.90
GROUNDWOOD = "groundwood board"
ALPHA = "alpha-cellulose board, unbuffered"
WHITE_CORE = "white-core board, not tested"
# pH at the surface, by an electrode. Defaults of this project (judgement): well-made board
# of alpha-cellulose or cotton is sold at 7 to 9.5; groundwood has mostly gone under 5.5.
ACID_UNDER_PH = 5.5
NOT_ACID_FROM_PH = 7.0


@dataclass(frozen=True)
class LikelierGrade:
    """What an unknown board may be taken as: its grade, how likely, and by which tests."""

    grade: str
    weight: float
    tests: str

    @property
    def sentence(self) -> str:
        """Return what its tests say, in words."""
        better = " or better" if self.grade == WHITE_CORE else ""
        return f"By its tests ({self.tests}): {self.grade}{better}, {self.weight:.0%} likely."


def likelier_grade(layer: LayerFacts, package: PackageFacts) -> LikelierGrade | None:
    """Return what an unknown board may be taken as; None where no rung is reached.

    The newest result of each test counts; `layer` is one of the package with its blanks
    filled.
    """
    if layer.grade != UNKNOWN_BOARD or not layer.tests:
        return None
    newest = {test.test: test.result for test in layer.tests}
    ph = _surface_ph(newest)
    told = board_weights(framed_when(layer, package), _as_pen(newest, ph).items())
    groundwood, _white_core, alpha = told.tolist()
    is_too_acid = ph is not None and ph < ACID_UNDER_PH
    ladder = (
        (GROUNDWOOD, groundwood, GROUNDWOOD_FROM),
        (ALPHA, 0.0 if is_too_acid else alpha, ALPHA_FROM),
        (WHITE_CORE, 1.0 - groundwood, WHITE_CORE_OR_BETTER_FROM),
    )
    for grade, weight, at_least in ladder:
        if weight >= at_least:
            return LikelierGrade(grade, weight, tests_said(layer.tests))
    return None


def tests_said(tests: Sequence[BenchFacts]) -> str:
    """Return the newest result of each test: `pH pen: acid, lignin spot test: red`."""
    newest = {test.test: test.result for test in tests}
    return ", ".join(f"{test}: {result}" for test, result in newest.items())


def _as_pen(newest: dict[BenchTest, str], ph: float | None) -> dict[BenchTest, str]:
    """Return the results with a surface pH read as the pen would show it, unless it was used."""
    if ph is None or BenchTest.PH_PEN in newest or ACID_UNDER_PH <= ph < NOT_ACID_FROM_PH:
        return newest
    return {**newest, BenchTest.PH_PEN: "acid" if ph < ACID_UNDER_PH else "not acid"}


def _surface_ph(newest: dict[BenchTest, str]) -> float | None:
    result = newest.get(BenchTest.SURFACE_PH)
    return None if result is None else float(result)
