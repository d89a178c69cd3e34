"""Which works have words that begin so?

Every beginning is asked as a range of the index of `work_word`, never as a
pattern. The rarest drives: it gives the candidates, and the others are asked of
each candidate alone, so that a common word costs nothing beside a rare one. Are
all of them common, the works are walked in the order they are shown, and the
first pages fill at once. A beginning may also be that of a technique; then the
works of that technique answer to it as well.
"""

from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import ColumnElement, and_, func, or_
from sqlalchemy.orm import Mapped, aliased
from sqlmodel import Session, col, select

from models.tables.visible import Viewer, visible_works
from models.tables.works import Work, WorkWord

# From a word up to, but not including, another.
Beginning = tuple[str, str]

# Above so many hits a beginning is common: counting stops, and it drives no longer.
COMMON = 20_000


def rarest_first(
    session: Session,
    beginnings: Sequence[Beginning],
    techniques: Mapping[Beginning, Collection[int]],
) -> list[ColumnElement[bool]]:
    """Return the conditions on `work` that every beginning sets, the rarest first.

    `techniques` are the keys of those that a beginning means too.
    """
    if not beginnings:
        return []
    hits = dict(zip(beginnings, _hits(session, beginnings), strict=True))
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
    """Return the words of visible works in this range: what a near miss may be taken from."""
    words = select(WorkWord.word).join(Work, col(Work.id) == WorkWord.work_id)
    words = words.where(visible_works(viewer), _within(col(WorkWord.word), first_letter))
    return list(session.exec(words.distinct().order_by(col(WorkWord.word))))


def _hits(session: Session, beginnings: Sequence[Beginning]) -> list[int]:
    counts = []
    for beginning in beginnings:
        some = select(WorkWord.id).where(_within(col(WorkWord.word), beginning)).limit(COMMON)
        counts.append(select(func.count()).select_from(some.subquery()).scalar_subquery())
    return list(session.execute(select(*counts)).one())


def _is_one_with(beginning: Beginning) -> ColumnElement[bool]:
    return col(Work.id).in_(select(WorkWord.work_id).where(_within(col(WorkWord.word), beginning)))


def _has(beginning: Beginning) -> ColumnElement[bool]:
    other = aliased(WorkWord)
    its = select(other.id).where(other.work_id == Work.id, _within(col(other.word), beginning))
    return its.exists()


def _within(word: Mapped[str], beginning: Beginning) -> ColumnElement[bool]:
    first, end = beginning
    return and_(word >= first, word < end)
