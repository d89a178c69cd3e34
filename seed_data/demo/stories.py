"""What happened in the invented collection in 25 years, all of it?

The ordinary years stand in CSV files; whatever needs telling stands in a file of its own.
"""

from seed_data.demo.a_long_history import A_LONG_HISTORY
from seed_data.demo.deeds import Deed
from seed_data.demo.ordinary_years import arrivals, plain_visits, rounds
from seed_data.demo.quiet_lives import QUIET_LIVES
from seed_data.demo.stains_under_mats import STAINS_UNDER_MATS
from seed_data.demo.wanting_a_remat import WANTING_A_REMAT
from seed_data.demo.what_does_not_wait import WHAT_DOES_NOT_WAIT


def all_deeds() -> list[Deed]:
    """Return every deed, in no order."""
    return [
        *arrivals(),
        *plain_visits(),
        *rounds(),
        *STAINS_UNDER_MATS,
        *A_LONG_HISTORY,
        *WANTING_A_REMAT,
        *WHAT_DOES_NOT_WAIT,
        *QUIET_LIVES,
    ]
