"""How likely is it that harm has happened unseen by some day ahead?

Asked where somebody wants to put a date off: the chance by then is said before it
is done. Of a look what shows from outside counts, of an unframing or a remat what
shows when the package is opened; of a box check nothing is worked out.
"""

import numpy as np

from models.risk.hazard import chance, hazard_unseen, only_rows
from models.rules.calendar_days import years_between
from models.rules.default_figures import DefaultFigures
from models.rules.package_components import Experience
from models.rules.packed_rows import ROW, KeptWork, figure_columns, harm_rows
from models.vocabulary import DueKind


def chance_by_day(
    kept: KeptWork,
    kind: DueKind,
    *,
    today: int,
    day: int,
    figures: DefaultFigures,
    experience: Experience,
) -> float | None:
    """Return the chance between 0 and 1; None for a box check. `kept` has its clocks at today."""
    if kind is DueKind.BOX_CHECK:
        return None
    packed = np.frombuffer(kept.rows, dtype=ROW)
    rows = harm_rows(packed, np.array([len(packed)]), figure_columns(figures, experience))
    outside = rows.is_outside if kind is DueKind.LOOK else ~rows.is_outside
    counted = only_rows(rows.components, outside & rows.can_be_seen)
    return float(chance(hazard_unseen(counted, years_between(today, day)))[0])
