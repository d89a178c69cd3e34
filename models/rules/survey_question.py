"""Which one question is worth asking before a work of the first survey is opened?

Of a board that nobody knows, every test at the bench has two answers, and each would
set the day of the unframing elsewhere. The question worth asking is the one whose
answers move that day furthest, each weighed by how likely it is: the weights of what
the board may be, times how often such a board answers so (`models.risk.acid_transfer`).
Days are by formula alone, before limits, and may be past: then the work has been due
since. The colour of the bevel is asked of a window only, and only after ten years:
before that white says nothing. A work without unknown board has no such question.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from models.risk.acid_transfer import TEST_FACTORS, board_weights
from models.risk.hazard import Floats, only_rows, years_to_chance_from
from models.rules.allowed_chance import allowed_chance
from models.rules.calendar_days import add_years, day_date
from models.rules.framing_date import framed_when
from models.rules.package_components import Circumstances, ComponentRow, component_rows
from models.rules.package_facts import BenchFacts, LayerFacts, PackageFacts
from models.rules.packed_rows import figure_columns, harm_rows, pack_rows
from models.rules.three_questions import with_blanks_filled
from models.rules.work_forecast import WorkCase, package_on_record
from models.vocabulary import DAYS_PER_YEAR, UNKNOWN_BOARD, BenchTest, LayerRole

HAS_BEVEL = frozenset({LayerRole.WINDOW_MAT, LayerRole.OVERMAT})
# White says nothing before (judgement, as the name of that result has it).
BEVEL_TELLS_AFTER_YEARS = 10
# A day further off than that is as good as never.
FURTHEST_YEARS = 100.0
# An answer that moves the day by less is not worth the asking (judgement).
LEAST_MOVE_DAYS = 30.0
ASKED = {
    BenchTest.BEVEL_COLOUR: "what colour is the bevel of the {role}?",
    BenchTest.PH_PEN: "what does the pH pen say of the {role}?",
    BenchTest.LIGNIN_SPOT: "what does the lignin spot test say of the {role}?",
}


@dataclass(frozen=True)
class Answered:
    """One answer: how likely it is, and the day that it would set; None for never."""

    result: str
    likely: float
    on: int | None


@dataclass(frozen=True)
class SurveyQuestion:
    """The question worth asking of one work, with both answers; `moves_days` is expected."""

    test: BenchTest
    role: LayerRole
    answers: tuple[Answered, ...]
    moves_days: float
    today: int

    @property
    def sentence(self) -> str:
        """The question, and what each answer would make of the date."""
        asked = ASKED[self.test].format(role=self.role)
        said = "; ".join(f"{one.result}: {_when(one.on, self.today)}" for one in self.answers)
        return f"Worth asking: {asked} {said[:1].upper()}{said[1:]}."


@dataclass(frozen=True)
class _Variant:
    case: int
    package: PackageFacts
    layer: LayerFacts
    test: BenchTest | None = None
    result: str = ""
    likely: float = 1.0


def questions_worth_asking(cases: Sequence[WorkCase]) -> list[SurveyQuestion | None]:
    """Return the question of each work, None where none would move its day; in one pass."""
    variants = [one for index, case in enumerate(cases) for one in _variants(index, case)]
    if not variants:
        return [None] * len(cases)
    days = _days_by_formula(cases, variants)
    found: dict[int, list[tuple[_Variant, float]]] = {}
    for variant, day in zip(variants, days, strict=True):
        found.setdefault(variant.case, []).append((variant, float(day)))
    return [_best(found.get(index, []), case.today) for index, case in enumerate(cases)]


def _variants(index: int, case: WorkCase) -> list[_Variant]:
    """Return the package as it is, then with each answer; nothing where no board is unknown."""
    package = with_blanks_filled(package_on_record(case))
    at = _asked_layer(package)
    if at is None:
        return []
    layer = package.layers[at]
    newest = {test.test: test.result for test in layer.tests}
    weights = board_weights(framed_when(layer, package), newest.items())
    return [
        _Variant(index, package, layer),
        *(
            _Variant(
                index,
                _tested(package, at, test, result, case.today),
                layer,
                test,
                result,
                float(weights @ np.array(factors)),
            )
            for (test, result), factors in TEST_FACTORS.items()
            if test not in newest and _can_be_asked(test, layer, package, case.today)
        ),
    ]


def _asked_layer(package: PackageFacts) -> int | None:
    """Return the unknown board that is asked about: a window, whose bevel shows, before others."""
    unknown = [n for n, layer in enumerate(package.layers) if layer.grade == UNKNOWN_BOARD]
    windows = [n for n in unknown if package.layers[n].role in HAS_BEVEL]
    return next(iter((*windows, *unknown)), None)


def _can_be_asked(test: BenchTest, layer: LayerFacts, package: PackageFacts, today: int) -> bool:
    if test is not BenchTest.BEVEL_COLOUR:
        return True
    since = layer.fitted_first_day or package.mounted_day
    is_old = since is None or add_years(since, BEVEL_TELLS_AFTER_YEARS) <= today
    return layer.role in HAS_BEVEL and is_old


def _tested(
    package: PackageFacts, at: int, test: BenchTest, result: str, today: int
) -> PackageFacts:
    layer = package.layers[at]
    told = replace(layer, tests=(*layer.tests, BenchFacts(test=test, result=result, on_day=today)))
    return replace(package, layers=(*package.layers[:at], told, *package.layers[at + 1 :]))


def _days_by_formula(cases: Sequence[WorkCase], variants: Sequence[_Variant]) -> Floats:
    """Return the day on which each variant's chance unseen reaches what the work may bear."""
    shared = cases[0]
    each = [_rows(cases[variant.case], variant.package) for variant in variants]
    packed = np.concatenate([pack_rows(rows, shared.figures) for rows in each])
    rows = harm_rows(
        packed,
        np.array([len(one) for one in each], dtype=np.int64),
        figure_columns(shared.figures, shared.experience),
    )
    opened = only_rows(rows.components, ~rows.is_outside & rows.can_be_seen)
    its = [cases[variant.case] for variant in variants]
    allowed = np.array([allowed_chance(case.work.replaceability, case.policy) for case in its])
    back = np.array([_years_back(case, one) for case, one in zip(its, each, strict=True)])
    years = years_to_chance_from(opened, allowed, back_years=back)
    today = np.array([case.today for case in its], dtype=np.float64)
    return today + np.ceil(np.minimum(years, FURTHEST_YEARS) * DAYS_PER_YEAR)


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


def _years_back(case: WorkCase, rows: Sequence[ComponentRow]) -> float:
    first = min((row.begun_day for row in rows), default=case.today)
    return max(case.today - first, 0) / DAYS_PER_YEAR


def _best(found: Sequence[tuple[_Variant, float]], today: int) -> SurveyQuestion | None:
    if not found:
        return None
    (_, as_it_is), *answers = found
    last = today + FURTHEST_YEARS * DAYS_PER_YEAR
    questions = [
        SurveyQuestion(
            test=test,
            role=found[0][0].layer.role,
            answers=tuple(
                Answered(one.result, one.likely, None if day >= last else int(day))
                for one, day in answers
                if one.test is test
            ),
            moves_days=sum(
                one.likely * abs(day - as_it_is) for one, day in answers if one.test is test
            ),
            today=today,
        )
        for test in dict.fromkeys(one.test for one, _ in answers)
        if test is not None
    ]
    best = max(questions, key=lambda question: question.moves_days, default=None)
    return best if best is not None and best.moves_days >= LEAST_MOVE_DAYS else None


def _when(on: int | None, today: int) -> str:
    if on is None:
        return "it can wait"
    day = day_date(on)
    month = f"{day:%B} {day.year}"
    return f"due since {month}" if on <= today else f"due in {month}"
