import pytest

from models.errors import NotAllowed
from models.rules.permissions import (
    MAY,
    OPEN_FOR_DAYS,
    Deed,
    deed_of_correction,
    may,
    require,
)
from models.vocabulary import Role


def test_a_keeper_may_do_everything() -> None:
    assert MAY[Role.KEEPER] == set(Deed)


def test_an_owner_may_only_read_and_answer_for_remats() -> None:
    assert MAY[Role.OWNER] == {Deed.READ, Deed.ANSWER_FOR_REMAT}


def test_every_role_has_its_row() -> None:
    assert set(MAY) == set(Role)


@pytest.mark.parametrize(
    ("deed", "allowed"),
    [
        (Deed.SEE_ALL_WORKS, True),
        (Deed.RECORD_VISIT, True),
        (Deed.MOVE_WORK, True),
        (Deed.PLAN_REMATS, True),
        (Deed.CORRECT_OPEN_VISIT, True),
        (Deed.CORRECT_CLOSED_VISIT, False),
        (Deed.WITHDRAW, False),
        (Deed.RECALL, False),
        (Deed.ERASE_NAME, False),
        (Deed.KEEP_REGISTER, False),
    ],
)
def test_a_framer_works_at_the_bench_and_leaves_the_register_alone(
    deed: Deed, allowed: bool
) -> None:
    assert may(Role.FRAMER, deed) is allowed


def test_a_refusal_says_whom_to_ask() -> None:
    with pytest.raises(NotAllowed, match="may not recall a lot or a material; ask a keeper"):
        require(Role.FRAMER, Deed.RECALL)


def test_a_visit_closes_to_its_framer_after_a_fortnight() -> None:
    today = 20_000
    last = today - OPEN_FOR_DAYS
    own = [
        deed_of_correction(is_own=True, recorded_on=day, today=today) for day in (last, last - 1)
    ]
    assert own == [Deed.CORRECT_OPEN_VISIT, Deed.CORRECT_CLOSED_VISIT]


def test_the_visit_of_another_is_closed_at_once() -> None:
    deed = deed_of_correction(is_own=False, recorded_on=20_000, today=20_000)
    assert deed is Deed.CORRECT_CLOSED_VISIT
