"""What can become of a proposed remat, and who may say so?

It is proposed until somebody says otherwise: asked (with a quote), agreed, declined
until a day, with a conservator, cannot be (why), done. A declined row leaves the
list until its day; one that is done until the time in which new harm is reckoned
has passed. Owners may ask, agree, or decline until a day; the rest is the bench's.
"""

from dataclasses import dataclass

from models.errors import BadValue, Fault, NotAllowed
from models.rules.calendar_days import add_months, day_in_words
from models.rules.record_values import LONGEST_NOTE
from models.vocabulary import RematState, Role

# The five years for which new harm is reckoned, in calendar months.
DONE_FOR_MONTHS = 60
LARGEST_QUOTE = 10_000_000.0

OWNER_MAY_SAY = frozenset({RematState.ASKED, RematState.AGREED, RematState.DECLINED_UNTIL})
# Off the list until a day.
RESTING = frozenset({RematState.DECLINED_UNTIL, RematState.DONE})


@dataclass(frozen=True, kw_only=True)
class RematSaid:
    """What somebody says of a remat; days since 1970-01-01, the quote in money."""

    state: RematState
    on: int
    until: int | None = None
    quote: float | None = None
    why: str = ""


def require_may_say(role: Role, state: RematState, *, quotes_anew: bool) -> None:
    """Raise NotAllowed, in words, unless somebody of this role may say this.

    `quotes_anew`: the quote would be another than it is.
    """
    if role is Role.OWNER and quotes_anew:
        raise NotAllowed("The quote is the bench's: an owner may answer it, and not change it.")
    if role is Role.OWNER and state not in OWNER_MAY_SAY:
        allowed = ", ".join(sorted(OWNER_MAY_SAY))
        raise NotAllowed(f"An owner may say of a remat: {allowed}; ask a keeper for {state!r}.")


def said_in_full(said: RematSaid, *, today: int) -> RematSaid:
    """Return what is kept of it. Raises BadValue with every value that cannot be right."""
    if faults := [*_faults_of_days(said, today), *_faults_of_words(said)]:
        raise BadValue(faults[0].message, faults)
    until = said.until
    if said.state is RematState.DONE:
        until = add_months(said.on, DONE_FOR_MONTHS)
    elif said.state is not RematState.DECLINED_UNTIL:
        until = None
    return RematSaid(
        state=said.state, on=said.on, until=until, quote=said.quote, why=said.why.strip()
    )


def in_a_sentence(
    state: RematState,
    *,
    on: int | None,
    until: int | None,
    quote: float | None,
    by: str,
    by_owner: bool,
    why: str,
) -> str:
    """Return what has become of a remat in a sentence.

    The bench puts a remat to its owner; an owner who asks has a question to the bench.
    """
    words = [_OWNERS_QUESTION if by_owner and state is RematState.ASKED else _BEGINNING[state]]
    if state is RematState.DECLINED_UNTIL and until is not None:
        words.append(day_in_words(until))
    elif on is not None and state is not RematState.PROPOSED:
        words.append(f"on {day_in_words(on)}")
    if by and state is not RematState.PROPOSED:
        words.append(f"by {by}")
    said = " ".join(words)
    said += f", quote {quote:.2f}" if quote is not None else ""
    return f"{said}: {why}" if why else said


_OWNERS_QUESTION = "Question of the owner"
_BEGINNING = {
    RematState.PROPOSED: "Proposed",
    RematState.ASKED: "Put to the owner",
    RematState.AGREED: "Agreed",
    RematState.DECLINED_UNTIL: "Declined until",
    RematState.WITH_CONSERVATOR: "Given to a conservator",
    RematState.CANNOT: "Cannot be",
    RematState.DONE: "Done",
}


def _faults_of_days(said: RematSaid, today: int) -> list[Fault]:
    faults = []
    if said.on > today:
        faults.append(Fault("/on", "This day is still to come.", "Today or before."))
    if said.state is RematState.DECLINED_UNTIL and (said.until is None or said.until <= today):
        faults.append(
            Fault("/until", "A remat is declined until a day to come.", "A day after today.")
        )
    return faults


def _faults_of_words(said: RematSaid) -> list[Fault]:
    faults = []
    if said.state is RematState.CANNOT and not said.why.strip():
        faults.append(Fault("/why", "The reason is missing.", "Say why it cannot be."))
    if len(said.why) > LONGEST_NOTE:
        faults.append(Fault("/why", "This is too long.", f"At most {LONGEST_NOTE} characters."))
    if said.quote is not None and not 0 <= said.quote <= LARGEST_QUOTE:
        faults.append(
            Fault("/quote", "This is no sum of money.", f"From 0 to {LARGEST_QUOTE:,.0f}.")
        )
    return faults
