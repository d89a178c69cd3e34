"""Who may do what?

Keepers answer for the record and may do everything. Framers work at the bench:
they see every work, record visits, moves and lots, and mend their own visits
while the memory is fresh. Owners read what is theirs, and say what becomes of its
remats. Everything not listed is refused.
"""

from enum import StrEnum

from models.errors import NotAllowed
from models.vocabulary import Role


class Deed(StrEnum):
    """What somebody wants to do, worded to follow "may"."""

    READ = "read the record"
    SEE_ALL_WORKS = "see works that are not their own"
    RECORD_VISIT = "record a visit"
    WALK_ROUND = "record a walk-round or a box check"
    MOVE_WORK = "record where a work went"
    POSTPONE = "put a date off"
    LEVEL_LOAD = "level the load of the months ahead"
    CORRECT_OPEN_VISIT = "correct a visit of their own that is still open"
    CORRECT_CLOSED_VISIT = "correct a closed visit"
    WITHDRAW = "withdraw a record"
    KEEP_REGISTER = "add or change works"
    KEEP_PLACES = "add or change places"
    KEEP_OWNERS = "add or change owners"
    KEEP_PEOPLE = "add or change people"
    ERASE_NAME = "erase a person's name"
    KEEP_MATERIALS = "add or change materials"
    KEEP_LOTS = "add lots and say which is in use"
    KEEP_HOUSE_PACKAGES = "add or change house packages"
    SET_POLICY = "set what holds for the whole house"
    RECALL = "recall a lot or a material"
    RECORD_INCIDENT = "record an incident"
    SWITCH_OWN_EVIDENCE = "switch own evidence off or on"
    READ_ALL_HISTORY = "take away the history of all works"
    ANSWER_FOR_REMAT = "say what becomes of a remat"
    PLAN_REMATS = "make or change a remat job"
    IMPORT_READINGS = "bring in readings of climate and light"
    KEEP_REMINDERS = "say where reminders go"
    PHOTOGRAPH = "add or correct photographs"


_AT_THE_BENCH = frozenset(
    {
        Deed.READ,
        Deed.SEE_ALL_WORKS,
        Deed.RECORD_VISIT,
        Deed.WALK_ROUND,
        Deed.MOVE_WORK,
        Deed.POSTPONE,
        Deed.CORRECT_OPEN_VISIT,
        Deed.KEEP_LOTS,
        Deed.RECORD_INCIDENT,
        Deed.READ_ALL_HISTORY,
        Deed.ANSWER_FOR_REMAT,
        Deed.PLAN_REMATS,
        Deed.IMPORT_READINGS,
        Deed.PHOTOGRAPH,
    }
)
MAY: dict[Role, frozenset[Deed]] = {
    Role.KEEPER: frozenset(Deed),
    Role.FRAMER: _AT_THE_BENCH,
    Role.OWNER: frozenset({Deed.READ, Deed.ANSWER_FOR_REMAT}),
}

# Days for which a framer's own visit stays open to them. Default of this project.
OPEN_FOR_DAYS = 14


def may(role: Role, deed: Deed) -> bool:
    """Say whether somebody of this role may do this."""
    return deed in MAY[role]


def require(role: Role, deed: Deed) -> None:
    """Raise NotAllowed, in words, unless somebody of this role may do this."""
    if not may(role, deed):
        who = ", ".join(f"a {other}" for other in Role if may(other, deed))
        raise NotAllowed(f"Somebody signed in as {role} may not {deed}; ask {who}.")


def deed_of_correction(*, is_own: bool, recorded_on: int, today: int) -> Deed:
    """Return which deed it is to correct a visit: an open one of one's own, or a closed one."""
    is_open = is_own and today - recorded_on <= OPEN_FOR_DAYS
    return Deed.CORRECT_OPEN_VISIT if is_open else Deed.CORRECT_CLOSED_VISIT
