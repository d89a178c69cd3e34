"""What all forecasts rest on is read once, kept, and never served when it does not hold."""

from datetime import UTC, datetime
from itertools import pairwise

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from models.actions.in_force import in_force
from models.database import read_session, write_session
from models.tables.places import Place
from models.tables.policy import FigureSetting, PolicySetting, tokens_now
from models.vocabulary import Mechanism
from tests.counting import statements

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
ACID, GROUNDWOOD = Mechanism.ACID_MIGRATION, "groundwood board"


class _Dropped(Exception):
    """A transaction that is given up."""


def allow(session: Session, share: float | None) -> None:
    """Set the chance that unique works may be exposed to."""
    row = session.get(PolicySetting, 1)
    if row is None:
        session.add(PolicySetting(name="allowed_unique", value=share, reason="tried", at=NOW))
    else:
        row.value = share
    session.flush()


def allowed(session: Session) -> float:
    return in_force(session).policy.allowed_unique


def set_and_drop(engine: Engine) -> None:
    with write_session(engine) as session:
        allow(session, 0.02)
        assert allowed(session) == 0.02
        raise _Dropped


def test_what_is_in_force_costs_one_statement_once_it_was_read(engine: Engine) -> None:
    with read_session(engine) as session:
        first = in_force(session)
        with statements(session) as sent:
            again = in_force(session)
    assert len(sent) == 1
    assert again == first


def test_a_keepers_setting_and_figure_are_in_force(engine: Engine) -> None:
    with write_session(engine) as session:
        allow(session, 0.02)
        session.add(
            FigureSetting(mechanism=ACID, grade=GROUNDWOOD, median=9, reason="tried", at=NOW)
        )
    with read_session(engine) as session:
        force = in_force(session)
    assert force.policy.allowed_unique == 0.02
    assert force.figures.median_and_shape(ACID, GROUNDWOOD) == (9, 2.5)


def test_a_setting_that_was_set_back_is_as_shipped(engine: Engine) -> None:
    with write_session(engine) as session:
        allow(session, 0.02)
    with write_session(engine) as session:
        allow(session, None)
    with read_session(engine) as session:
        assert allowed(session) == 0.05


def test_what_was_rolled_back_is_never_served(engine: Engine) -> None:
    with pytest.raises(_Dropped):
        set_and_drop(engine)
    with read_session(engine) as session:
        assert allowed(session) == 0.05
    # A count that was rolled back would come again here, for something else.
    with write_session(engine) as session:
        allow(session, 0.03)
        assert allowed(session) == 0.03
    with read_session(engine) as session:
        assert allowed(session) == 0.03


def test_a_reader_sees_what_held_when_it_began(engine: Engine) -> None:
    with read_session(engine) as reader:
        assert allowed(reader) == 0.05
        with write_session(engine) as writer:
            allow(writer, 0.02)
            assert allowed(writer) == 0.02
        assert allowed(reader) == 0.05
    with read_session(engine) as reader:
        assert allowed(reader) == 0.02


def test_a_transaction_sees_the_place_that_it_has_just_added(engine: Engine) -> None:
    with write_session(engine) as session:
        before = in_force(session)
        session.add(Place(name="Stair"))
        after = in_force(session)
    assert (list(before.tree.paths()), list(after.tree.paths())) == ([], ["Stair"])
    assert after.figures is before.figures, "only what changed is read anew"


def test_each_change_of_each_thing_draws_a_new_token_for_it_alone(engine: Engine) -> None:
    seen = []
    with write_session(engine) as session:
        seen.append(tokens_now(session))
        for row in (
            Place(name="Stair"),
            PolicySetting(name="hourly_rate", value=50, reason="tried", at=NOW),
            FigureSetting(mechanism=ACID, grade=GROUNDWOOD, shape=2, reason="tried", at=NOW),
        ):
            session.add(row)
            seen.append(tokens_now(session))
    changed = [
        [name for name in old._fields if getattr(old, name) != getattr(new, name)]
        for old, new in pairwise(seen)
        if old is not None and new is not None
    ]
    assert changed == [["places"], ["policy"], ["figures"]]
