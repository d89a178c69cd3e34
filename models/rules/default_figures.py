"""How long does each way to harm take, as long as nobody knows better?

One figure for every mechanism and grade: the typical time (or dose) to
noticeable harm at 20 degC and 50 % RH for a layer that touches the work, the
shape of its spread, the clock it runs by, and how bad the harm is. The figures
themselves are data (`seed_data/risk_defaults.csv`); a keeper may change them.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from models.errors import UnknownWord
from models.vocabulary import UNKNOWN_BOARD, Mechanism


class Clock(StrEnum):
    """What makes the time to harm run faster or slower."""

    PAPER = "ageing 100 kJ"
    ADHESIVE = "ageing 70 kJ"
    CALENDAR = "calendar"
    DAMP = "damp"
    DAMP_FROM_60 = "damp from 60 %"


@dataclass(frozen=True)
class DefaultFigure:
    """One row of the risk defaults; no `median` and `shape` for the mixture of unknown board."""

    mechanism: Mechanism
    grade: str
    median: float | None
    unit: str
    shape: float | None
    clock: Clock
    severity: float
    basis: str = ""


class DefaultFigures:
    """All rows, found by mechanism and grade."""

    def __init__(self, figures: Iterable[DefaultFigure]) -> None:
        self._figures = {(f.mechanism, f.grade): f for f in figures}

    def figure(self, mechanism: Mechanism, grade: str) -> DefaultFigure:
        """Return the row; an unknown grade is refused with the grades there are."""
        try:
            return self._figures[mechanism, grade]
        except KeyError:
            raise UnknownWord("grade", grade, self.grades(mechanism)) from None

    def median_and_shape(self, mechanism: Mechanism, grade: str) -> tuple[float, float]:
        """Return median (in the unit of its clock) and shape of a row that is no mixture."""
        figure = self.figure(mechanism, grade)
        if figure.median is None or figure.shape is None:
            raise UnknownWord("grade with one median", grade, self.grades(mechanism))
        return figure.median, figure.shape

    def all(self) -> tuple[DefaultFigure, ...]:
        """Return every row in the order of the table."""
        return tuple(self._figures.values())

    def with_figures(self, own: Iterable[DefaultFigure]) -> "DefaultFigures":
        """Return these figures with others in the place of some of them."""
        return DefaultFigures({**self._figures, **DefaultFigures(own)._figures}.values())

    def grades(self, mechanism: Mechanism) -> tuple[str, ...]:
        """Return the grades of a mechanism in the order of the table."""
        return tuple(grade for of, grade in self._figures if of is mechanism)

    def mechanism_of_layer(self, grade: str) -> Mechanism | None:
        """Return what a layer of this grade harms by: acid migration or adhesive ageing."""
        for mechanism in (Mechanism.ACID_MIGRATION, Mechanism.ADHESIVE_AGEING):
            if (mechanism, grade) in self._figures:
                return mechanism
        return None


def read_default_figures(rows: Iterable[Mapping[str, str]]) -> DefaultFigures:
    """Return the figures from rows of text with the columns of `risk_defaults.csv`."""
    return DefaultFigures(_figure(row) for row in rows)


def _figure(row: Mapping[str, str]) -> DefaultFigure:
    is_mixture = row["grade"] == UNKNOWN_BOARD
    return DefaultFigure(
        mechanism=Mechanism(row["mechanism"]),
        grade=row["grade"],
        median=None if is_mixture else float(row["median"]),
        unit=row["unit"],
        shape=None if is_mixture else float(row["shape"]),
        clock=Clock(row["clock"]),
        severity=float(row["severity"]),
        basis=row["basis"],
    )
