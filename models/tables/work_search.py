"""Which works have words that begin so?

Every beginning is asked as a range of the index of `work_word`, never as a
pattern. The rarest drives: it gives the candidates, and the others are asked of
each candidate alone, so that a common word costs nothing beside a rare one. Are
all of them common, the works are walked in the order they are shown, and the
first pages fill at once. A beginning may also be that of a technique; then the
works of that technique answer to it as well.
"""

from collections.abc import Collection, Mapping, Sequence
from functools import cache
from string import ascii_lowercase
from typing import Any

from sqlalchemy import (
    BindParameter,
    ColumnElement,
    Select,
    Text,
    and_,
    bindparam,
    case,
    func,
    or_,
)
from sqlalchemy import select as columns
from sqlalchemy.orm import Mapped, aliased
from sqlmodel import Session, col, select

from models.tables.visible import Viewer, sees_all_works, visible_by_parameter
from models.tables.works import Work, WorkWord

# From a word up to, but not including, another.
Beginning = tuple[str, str]

# Above so many hits a beginning is common: counting stops, and it drives no longer.
COMMON = 20_000
# As bytes, figures and the full stop come before it, and every letter after it.
_AFTER_FIGURES = ":"


def rarest_first(
    session: Session,
    beginnings: Sequence[Beginning],
    techniques: Mapping[Beginning, Collection[int]],
) -> list[ColumnElement[bool]] | None:
    """Return the conditions on `work` that every beginning sets, the rarest first.

    `techniques` are the keys of those that a beginning means too. None: no work answers.
    """
    if not beginnings:
        return []
    hits = dict(zip(beginnings, _hits(session, beginnings), strict=True))
    if any(not hits[beginning] and beginning not in techniques for beginning in beginnings):
        return None
    # A whole technique is common: it drives only where nothing else can.
    rarest, *others = sorted(hits, key=lambda beginning: (beginning in techniques, hits[beginning]))
    first = _has(rarest) if hits[rarest] >= COMMON else _is_one_with(rarest)
    conditions = [(rarest, first), *((beginning, _has(beginning)) for beginning in others)]
    return [
        or_(condition, col(Work.technique_id).in_(techniques[beginning]))
        if beginning in techniques
        else condition
        for beginning, condition in conditions
    ]


def words_like(session: Session, viewer: Viewer, first_letter: Beginning) -> list[str]:
    """Return the words of visible works that begin so: what a near miss may be taken from.

    Words of letters alone: another number is another thing.
    """
    letter, end = first_letter
    # From the first word of which the second sign is a letter as well.
    first = letter + ascii_lowercase[0]
    given = {"first": first, "end": end, "viewer_owner_id": viewer.owner_id}
    found = _words_like(all_works=sees_all_works(viewer))
    words = session.connection().execute(found, given).scalars()
    return [word for word in words if word.isalpha()]


@cache
def _words_like(*, all_works: bool) -> Select[str]:
    """Go through the index from one word to the next: a common word costs no more than a rare."""
    end: BindParameter[str] = bindparam("end", type_=Text)
    before = columns(func.min(col(WorkWord.word)).label("word"))
    before = before.where(col(WorkWord.word) >= bindparam("first", type_=Text))
    known = before.where(col(WorkWord.word) < end).cte("known", recursive=True)
    following = columns(func.min(col(WorkWord.word)))
    following = following.where(col(WorkWord.word) > _last_of_its_kind(known.c.word))
    following = following.where(col(WorkWord.word) < end)
    step = columns(following.correlate(known).scalar_subquery()).where(known.c.word.is_not(None))
    known = known.union_all(step)
    its = columns(col(WorkWord.id)).join(Work, col(Work.id) == col(WorkWord.work_id))
    its = its.where(col(WorkWord.word) == known.c.word, visible_by_parameter(all_works=all_works))
    found = columns(known.c.word).where(known.c.word.is_not(None))
    return found.where(its.correlate(known).exists())


def _last_of_its_kind(word: ColumnElement[str]) -> ColumnElement[str]:
    """Return after what the next word is sought: numbers behind the same letters count as one.

    Else each number of the register, which is a word too, would be gone to.
    """
    rest = func.ltrim(word, ascii_lowercase, type_=Text)
    letters = func.substr(word, 1, func.length(word) - func.length(rest), type_=Text)
    is_number = and_(rest != "", func.substr(rest, 1, 1, type_=Text) < _AFTER_FIGURES)
    return case((is_number, letters + _AFTER_FIGURES), else_=word)


def _hits(session: Session, beginnings: Sequence[Beginning]) -> list[int]:
    given = {
        _bound(name, number): word
        for number, beginning in enumerate(beginnings)
        for name, word in zip(_BOUNDS, beginning, strict=True)
    }
    session.flush()
    return list(session.connection().execute(_counted(len(beginnings)), given).one())


_BOUNDS = ("first", "end")


def _bound(name: str, number: int) -> str:
    return f"{name}_{number}"


@cache
def _counted(beginnings: int) -> Select[*tuple[Any, ...]]:
    """Return the statement for so many beginnings, built once: every search sends it."""
    counts = []
    for number in range(beginnings):
        first, end = (bindparam(_bound(name, number), type_=Text) for name in _BOUNDS)
        word = col(WorkWord.word)
        some = columns(col(WorkWord.id)).where(word >= first, word < end).limit(COMMON)
        counts.append(columns(func.count()).select_from(some.subquery()).scalar_subquery())
    return columns(*counts)


def _is_one_with(beginning: Beginning) -> ColumnElement[bool]:
    return col(Work.id).in_(select(WorkWord.work_id).where(_within(col(WorkWord.word), beginning)))


def _has(beginning: Beginning) -> ColumnElement[bool]:
    other = aliased(WorkWord)
    its = select(other.id).where(other.work_id == Work.id, _within(col(other.word), beginning))
    return its.exists()


def _within(word: Mapped[str], beginning: Beginning) -> ColumnElement[bool]:
    first, end = beginning
    return and_(word >= first, word < end)
