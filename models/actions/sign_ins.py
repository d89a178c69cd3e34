"""Who is it, how long do they stay signed in, and how soon may a wrong name try again?

A browser holds a cookie of 256 random bits, a program a token; the database keeps digests
only. A sign-in ends when nobody used it for twelve hours, fourteen days after it began, or
when the person signs out. Wrong passwords make the next try wait, longer each time, by
name and address and by address; nobody is ever locked out. Reading never writes: when
somebody was last seen is written after the answer, to the nearest five minutes.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import bindparam, delete
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from models.errors import NotFound
from models.tables.base import Moment
from models.tables.own_settings import OwnSetting
from models.tables.people import ApiToken, Person, SignIn, SignInTry, TokenUse
from models.tables.visible import Viewer
from models.vocabulary import Lengths, Role, Scheme

# Defaults of this project: a working day with its evening; two weeks.
IDLE_FOR = timedelta(hours=12)
LONGEST = timedelta(days=14)
SEEN_EVERY = timedelta(minutes=5)
SECRET_BYTES = 32

# How many tries in the last quarter of an hour are free of any wait, then 2, 4, 8 … seconds.
# An address gets more: a whole studio may stand behind one.
TRIES_COUNT_FOR = timedelta(minutes=15)
FREE_TRIES_OF_NAME = 3
FREE_TRIES_OF_ADDRESS = 20
LONGEST_WAIT_S = 60


@dataclass(frozen=True)
class Recognised:
    """Somebody who proved who they are, and by what."""

    viewer: Viewer
    name: str
    seen_at: datetime
    sign_in_id: int | None = None
    token_id: int | None = None
    form_sha256: str | None = None
    scheme: Scheme = Scheme.SYSTEM
    lengths: Lengths = Lengths.METRIC


def digest(secret: str) -> str:
    """Return what the database keeps of a secret with many random bits."""
    return hashlib.sha256(secret.encode()).hexdigest()


def new_secret() -> str:
    """Return 256 random bits as text."""
    return secrets.token_urlsafe(SECRET_BYTES)


def form_token(cookie: str) -> str:
    """Return what every form of this browser carries; another page cannot know it."""
    return digest(f"form|{cookie}")


def person_who_may_sign_in(session: Session, name: str) -> Person | None:
    """Return the person of exactly this name, if they may sign in."""
    return session.exec(
        select(Person).where(Person.name == name, col(Person.may_sign_in))
    ).one_or_none()


def begin_sign_in(session: Session, person_id: int, now: datetime) -> str:
    """Store a new sign-in and return its cookie; sign-ins that are over go."""
    session.execute(delete(SignIn).where(col(SignIn.ends_at) < now))
    cookie = new_secret()
    session.add(
        SignIn(
            person_id=person_id,
            cookie_sha256=digest(cookie),
            form_sha256=digest(form_token(cookie)),
            began_at=now,
            last_seen_at=now,
            ends_at=now + LONGEST,
        )
    )
    return cookie


def end_sign_in(session: Session, cookie: str) -> None:
    """End the sign-in of this cookie, if there is one."""
    session.execute(delete(SignIn).where(col(SignIn.cookie_sha256) == digest(cookie)))


def recognise_browser(session: Session, cookie: str, now: datetime) -> Recognised | None:
    """Return whose sign-in this is, unless it is over."""
    given = {"cookie_sha256": digest(cookie), "now": now, "idle_since": now - IDLE_FOR}
    found = session.connection().execute(_OF_BROWSER, given).one_or_none()
    if found is None:
        return None
    person_id, name, role, owner_id, key, seen_at, form_sha256, scheme, lengths = found
    return Recognised(
        _viewer(person_id, role, owner_id),
        name,
        seen_at,
        sign_in_id=key,
        form_sha256=form_sha256,
        scheme=scheme or Scheme.SYSTEM,
        lengths=lengths or Lengths.METRIC,
    )


def recognise_token(session: Session, token: str, now: datetime) -> Recognised | None:
    """Return as whom this token acts, unless it was ended."""
    found = session.connection().execute(_OF_TOKEN, {"token_sha256": digest(token)}).one_or_none()
    if found is None:
        return None
    person_id, name, role, owner_id, key, used_at = found
    seen_at = used_at or now - LONGEST
    return Recognised(_viewer(person_id, role, owner_id), name, seen_at, token_id=key)


# Asked for with every request, so each is built once.
_WHO = (col(Person.id), col(Person.name), col(Person.role), col(Person.owner_id))
_OF_BROWSER = (
    columns(
        *_WHO,
        col(SignIn.id),
        col(SignIn.last_seen_at),
        col(SignIn.form_sha256),
        col(OwnSetting.scheme),
        col(OwnSetting.lengths),
    )
    .select_from(SignIn)
    .join(Person, col(Person.id) == SignIn.person_id)
    .outerjoin(OwnSetting, col(OwnSetting.person_id) == Person.id)
    .where(
        col(SignIn.cookie_sha256) == bindparam("cookie_sha256"),
        col(SignIn.ends_at) > bindparam("now", type_=Moment()),
        col(SignIn.last_seen_at) > bindparam("idle_since", type_=Moment()),
        col(Person.may_sign_in),
    )
)
_OF_TOKEN = (
    columns(*_WHO, col(ApiToken.id), col(TokenUse.last_used_at))
    .select_from(ApiToken)
    .join(Person, col(Person.id) == ApiToken.person_id)
    .outerjoin(TokenUse, col(TokenUse.token_id) == ApiToken.id)
    .where(
        col(ApiToken.token_sha256) == bindparam("token_sha256"),
        ~col(ApiToken.ended),
        col(Person.may_sign_in),
    )
)


def viewer_of(person: Person) -> Viewer:
    """Return a person who may sign in, as far as seeing and doing depend on it."""
    return _viewer(person.id, person.role, person.owner_id)


def _viewer(person_id: int | None, role: Role | None, owner_id: int | None) -> Viewer:
    assert person_id is not None, "a person on record has a key"
    assert role is not None, "whoever may sign in has a role"
    return Viewer(person_id, role, owner_id)


def is_to_be_noted(recognised: Recognised, now: datetime) -> bool:
    """Say whether it is time to write down that somebody was seen."""
    return now - recognised.seen_at >= SEEN_EVERY


def note_seen(session: Session, recognised: Recognised, now: datetime) -> None:
    """Write down that somebody was seen now."""
    if recognised.sign_in_id is not None:
        sign_in = session.get(SignIn, recognised.sign_in_id)
        if sign_in is not None:
            sign_in.last_seen_at = now
    elif recognised.token_id is not None:
        _note_token_use(session, recognised.token_id, now)


def _note_token_use(session: Session, token_id: int, now: datetime) -> None:
    # Two answers may want to write the first use at once: the token's row lets one wait.
    session.exec(select(ApiToken.id).where(ApiToken.id == token_id).with_for_update())
    use = session.exec(select(TokenUse).where(TokenUse.token_id == token_id)).one_or_none()
    if use is None:
        session.add(TokenUse(token_id=token_id, last_used_at=now))
    else:
        use.last_used_at = now


def add_token(session: Session, person: Person, name: str, now: datetime) -> str:
    """Store a token that acts as this person and return it; it cannot be shown again."""
    assert person.id is not None, "a person on record has a key"
    token = f"hb_{new_secret()}"
    session.add(ApiToken(person_id=person.id, name=name, token_sha256=digest(token), made_at=now))
    return token


def tokens_of(session: Session, person: Person) -> list[tuple[ApiToken, datetime | None]]:
    """Return the tokens that still act for a person, oldest first, and when each was last used."""
    found = (
        select(ApiToken, TokenUse.last_used_at)
        .outerjoin(TokenUse, col(TokenUse.token_id) == ApiToken.id)
        .where(ApiToken.person_id == person.id, ~col(ApiToken.ended))
    )
    return [(token, used_at) for token, used_at in session.exec(found.order_by(col(ApiToken.id)))]


def end_tokens(session: Session, person: Person, name: str) -> int:
    """End the tokens of this name that act for a person; return how many. Raises NotFound."""
    ended = [token for token, _ in tokens_of(session, person) if token.name == name]
    if not ended:
        raise NotFound(f"token of {person.name} called", repr(name))
    for token in ended:
        token.ended = True
    return len(ended)


def seconds_to_wait(session: Session, name: str, address: str, now: datetime) -> int:
    """Return for how many seconds the next try must wait; 0 when it may be made now."""
    by_name = _seconds_left(session, _name_at(name, address), FREE_TRIES_OF_NAME, now)
    return max(by_name, _seconds_left(session, address, FREE_TRIES_OF_ADDRESS, now))


def _name_at(name: str, address: str) -> str:
    return f"{name}|{address}"


def _seconds_left(session: Session, who: str, free: int, now: datetime) -> int:
    tries = session.exec(
        select(SignInTry.at)
        .where(SignInTry.who_sha256 == digest(who), SignInTry.at > now - TRIES_COUNT_FOR)
        .order_by(col(SignInTry.at))
    ).all()
    if len(tries) < free:
        return 0
    wait_s = min(2 ** (len(tries) - free + 1), LONGEST_WAIT_S)
    left = tries[-1] + timedelta(seconds=wait_s) - now
    return max(0, -(-left // timedelta(seconds=1)))


def note_wrong_try(session: Session, name: str, address: str, now: datetime) -> None:
    """Count a wrong password against this name at this address, and against the address."""
    session.execute(delete(SignInTry).where(col(SignInTry.at) < now - TRIES_COUNT_FOR))
    for who in (_name_at(name, address), address):
        session.add(SignInTry(who_sha256=digest(who), at=now))


def forget_wrong_tries(session: Session, name: str, address: str) -> None:
    """Forget the tries of a name at an address once the right password was given."""
    who = digest(_name_at(name, address))
    session.execute(delete(SignInTry).where(col(SignInTry.who_sha256) == who))
