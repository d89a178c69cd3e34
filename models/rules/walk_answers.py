"""What becomes of the answers of one walk when more than one tablet gives them?

Every work is answered for by itself, so that two who share a room share its walk: each
answer stands beside those of the other. Only where both said something else of the same
work since they last saw the same is nothing written over: both are shown, and the person
chooses. A page that has no answer never takes one away that it has not seen.
"""

from collections.abc import Mapping
from dataclasses import dataclass

# The fields of one work, each with what it holds; none where nothing is answered.
Fields = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class KeptAnswer:
    """What is kept of one work: since which version of the walk, and by which opened page."""

    fields: Fields
    version: int
    hand: str


@dataclass(frozen=True)
class MergedAnswers:
    """All that is kept now; `contradicted` is what another page kept where this one differs."""

    kept: Mapping[str, KeptAnswer]
    contradicted: Mapping[str, Fields]


def merged_answers(
    kept: Mapping[str, KeptAnswer],
    told: Mapping[str, Fields],
    *,
    seen_version: int,
    hand: str,
    version: int,
) -> MergedAnswers:
    """Return what is kept after a page told these, having seen the walk at `seen_version`.

    `version` is the one that what changes now gets. The same page may tell the same again,
    for its answer may be lost on the way.
    """
    now, contradicted = dict(kept), {}
    for work, fields in told.items():
        before = kept.get(work)
        if before is None and not fields:
            continue
        if before is None or before.fields == fields:
            now[work] = before or KeptAnswer(fields, version, hand)
        elif before.version <= seen_version or before.hand == hand:
            now[work] = KeptAnswer(fields, version, hand)
        elif fields:
            contradicted[work] = before.fields
    return MergedAnswers(now, contradicted)


def told_elsewhere(
    kept: Mapping[str, KeptAnswer], *, seen_version: int, hand: str
) -> dict[str, Fields]:
    """Return what other pages have kept since this one has seen the walk."""
    return {
        work: answer.fields
        for work, answer in kept.items()
        if answer.version > seen_version and answer.hand != hand
    }
