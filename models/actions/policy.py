"""What has the house set, what would a change of it do, and how is it changed?

Everybody who reads the record may read the policy, with the shipped figure beside each and
who changed it why. A keeper changes it: first they see how many dates would move, and by how
much, then they say why. The change, its reason and every date that follows from it are kept
together; where the works are many they are marked, and worked out in the background.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime

import numpy as np
from sqlmodel import Session, col, select

from models.actions.bulk_renewal import dates_if
from models.actions.forecasts import case_of
from models.actions.in_force import InForce, in_force
from models.actions.record_changes import refuse_stale, write
from models.actions.renewal import refresh_or_mark_all
from models.actions.work_records import load_records
from models.errors import BadValue
from models.rules.default_figures import DefaultFigure
from models.rules.permissions import Deed, require
from models.rules.policy import SETTINGS, Policy, Setting, own_figure, policy_from
from models.rules.record_values import Faults, a_name, a_note
from models.rules.work_forecast import forecasts
from models.tables.people import Person
from models.tables.policy import (
    FigureSetting,
    PolicySetting,
    figures_kept,
    hold_house_state,
    settings_kept,
)
from models.tables.renewal import oldest_forecasts
from models.tables.visible import THE_HOUSE, Viewer
from models.tables.works import Work
from models.vocabulary import Mechanism
from seed_data.shipped import shipped_default_figures

# Works that are worked out from their records; of more the kept rows tell it, and where these
# do not, an even share of so many stands for all.
MOST_COMPARED = 2000
IN_ONE_PASS = 500
MOST_EXAMPLES = 10

FigureName = tuple[Mechanism, str]


@dataclass(frozen=True, kw_only=True)
class FigureTold:
    """A keeper's figures for one mechanism and grade; what is None is as shipped."""

    median: float | None = None
    shape: float | None = None
    severity: float | None = None
    basis: str = ""


@dataclass(frozen=True, kw_only=True)
class PolicyChange:
    """What is to be set; a setting that is None goes back to the shipped one."""

    settings: Mapping[str, float | None] = field(default_factory=dict)
    figures: Mapping[FigureName, FigureTold] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Touched:
    """Who last changed something, when and why."""

    by: str | None
    at: datetime
    reason: str


@dataclass(frozen=True, kw_only=True)
class SettingOnRecord:
    """A setting: what is in force and what is shipped, in its unit."""

    setting: Setting
    value: float
    shipped: float
    touched: Touched | None


@dataclass(frozen=True, kw_only=True)
class FigureOnRecord:
    """A figure: what is in force and what is shipped."""

    figure: DefaultFigure
    shipped: DefaultFigure
    touched: Touched | None

    @property
    def is_own(self) -> bool:
        """Whether the keeper's figure differs from the shipped one."""
        return self.figure != self.shipped


@dataclass(frozen=True, kw_only=True)
class PolicyOnRecord:
    """All that can be set; `version` counts every change of it."""

    version: int
    settings: tuple[SettingOnRecord, ...]
    figures: tuple[FigureOnRecord, ...]


@dataclass(frozen=True, kw_only=True)
class MovedDate:
    """The day on which something is due for a work, as it is and as it would be."""

    work_id: int
    number: str
    title: str
    before: int | None
    after: int | None


@dataclass(frozen=True, kw_only=True)
class PolicyPreview:
    """How the days on which works are due would move; days by how much, without a sign.

    `compared` of `works` were worked out: all, or an even share. `examples` are those that
    would move farthest.
    """

    works: int
    compared: int
    earlier: int
    later: int
    begun: int
    ended: int
    median_days: float | None
    largest_days: int | None
    become_due: int
    cease_to_be_due: int
    examples: tuple[MovedDate, ...]

    @property
    def moved(self) -> int:
        """How many days would be others."""
        return self.earlier + self.later + self.begun + self.ended


def read_policy(session: Session, viewer: Viewer) -> PolicyOnRecord:
    """Return everything that can be set."""
    require(viewer.role, Deed.READ)
    settings, figures, force = settings_kept(session), figures_kept(session), in_force(session)
    shipped = shipped_default_figures()
    people = _people(session, [*settings.values(), *figures.values()])
    return PolicyOnRecord(
        version=_version(settings, figures),
        settings=tuple(
            SettingOnRecord(
                setting=setting,
                value=getattr(force.policy, setting.name),
                shipped=getattr(Policy(), setting.name),
                touched=_touched(settings.get(setting.name), people),
            )
            for setting in SETTINGS
        ),
        figures=tuple(
            FigureOnRecord(
                figure=force.figures.figure(one.mechanism, one.grade),
                shipped=one,
                touched=_touched(figures.get((one.mechanism, one.grade)), people),
            )
            for one in shipped.all()
        ),
    )


def preview_policy(
    session: Session, viewer: Viewer, change: PolicyChange, *, today: int
) -> PolicyPreview:
    """Return which dates a change would move; nothing is kept.

    Raises BadValue with every value that cannot be set.
    """
    require(viewer.role, Deed.SET_POLICY)
    now = in_force(session)
    then = _in_force_with(session, change)
    works = sorted(oldest_forecasts(session, None, None))
    if len(works) > MOST_COMPARED and not _needs_records(change):
        found = _dates_of_rows(session, then, today)
    else:
        step = max(1, -(-len(works) // MOST_COMPARED))
        found = _dates_of_records(session, works[::step], now, then, today)
    return _preview(session, found, works=len(works), today=today)


def _needs_records(change: PolicyChange) -> bool:
    """Say whether rows that are kept do not tell all: how good a layer is, what was assumed."""
    return bool(change.figures) or "assumed_mounted_months" in change.settings


def change_policy(
    session: Session,
    viewer: Viewer,
    change: PolicyChange,
    *,
    reason: str,
    based_on: int,
    today: int,
    now: datetime,
) -> int:
    """Set what is told and work out everything that rests on it.

    Returns how many works are only marked and will be worked out in the background. Raises
    Stale when somebody changed the policy since, BadValue with every value that cannot be.
    """
    require(viewer.role, Deed.SET_POLICY)
    hold_house_state(session)
    before = read_policy(session, viewer)
    refuse_stale(_Seen(before.version), based_on, theirs=before)
    why = _reason(reason)
    _in_force_with(session, change)
    touched: dict[str, object] = {"reason": why, "by_id": viewer.person_id, "at": now}
    kept, figures = settings_kept(session), figures_kept(session)
    for name, value in change.settings.items():
        row = kept.get(name)
        if row is None and value is not None:
            row = PolicySetting(name=name, reason=why, at=now)
            session.add(row)
        if row is not None and row.value != value:
            write(row, {"value": value, **touched})
    for key, told in change.figures.items():
        if (one := figures.get(key)) is None:
            one = FigureSetting(mechanism=key[0], grade=key[1], reason=why, at=now)
        _set_figure(session, one, told, touched)
    session.flush()
    return refresh_or_mark_all(session, today=today)


@dataclass
class _Seen:
    version: int


def _set_figure(
    session: Session, row: FigureSetting, told: FigureTold, touched: Mapping[str, object]
) -> None:
    columns = asdict(told)
    if any(getattr(row, name) != value for name, value in columns.items()):
        write(row, {**columns, **touched})
        session.add(row)


def _reason(given: str) -> str:
    faults = Faults()
    why = faults.read("/reason", a_name("reason"), given)
    faults.refuse()
    assert why is not None, "a reason without a fault is one"
    return why


def _in_force_with(session: Session, change: PolicyChange) -> InForce:
    """Return what would be in force. Raises BadValue with every value that cannot be set."""
    faults = Faults()
    kept = {name: row.value for name, row in settings_kept(session).items()}
    told = {**kept, **change.settings}
    policy = faults.read("/settings", policy_from, {n: v for n, v in told.items() if v is not None})
    known = {setting.name for setting in SETTINGS}
    for name in change.settings.keys() - known:
        if change.settings[name] is None:
            faults.note(f"/settings/{name}", BadValue(f"There is no setting {name!r}."))
    now = in_force(session)
    own = [
        figure
        for index, (key, figure_told) in enumerate(change.figures.items())
        if (figure := faults.read(f"/figures/{index}", _own, (key, figure_told)))
    ]
    faults.refuse()
    assert policy is not None, "a policy without a fault is one"
    return replace(now, policy=policy, figures=now.figures.with_figures(own))


def _own(told: tuple[FigureName, FigureTold]) -> DefaultFigure:
    (mechanism, grade), figure = told
    return own_figure(
        shipped_default_figures().figure(mechanism, grade),
        median=figure.median,
        shape=figure.shape,
        severity=figure.severity,
        basis=a_note(figure.basis),
    )


@dataclass(frozen=True)
class _Days:
    """The days on which works are due, as they are and as they would be."""

    work_ids: list[int]
    before: list[int | None]
    after: list[int | None]


def _dates_of_records(
    session: Session, works: list[int], now: InForce, then: InForce, today: int
) -> _Days:
    found = _Days([], [], [])
    for start in range(0, len(works), IN_ONE_PASS):
        records = load_records(session, THE_HOUSE, works[start : start + IN_ONE_PASS])
        for force, days in ((now, found.before), (then, found.after)):
            cases = [case_of(its, force, today=today) for its in records.values()]
            days += [one.due_on for one in forecasts(cases)]
        found.work_ids.extend(records)
    return found


def _dates_of_rows(session: Session, then: InForce, today: int) -> _Days:
    session.flush()
    connection = session.connection()
    found = dates_if(connection, then.figures, then.policy, then.experience, today)
    before, after = (
        [None if day != day else int(day) for day in days.tolist()]
        for days in (found.old, found.new)
    )
    return _Days(found.work_ids.tolist(), before, after)


def _preview(session: Session, days: _Days, *, works: int, today: int) -> PolicyPreview:
    both = zip(days.work_ids, days.before, days.after, strict=True)
    moved = [(key, before, after) for key, before, after in both if before != after]
    by_days = {
        key: after - before
        for key, before, after in moved
        if before is not None and after is not None
    }
    sizes = np.abs(list(by_days.values()))
    farthest = sorted(moved, key=lambda one: (-abs(by_days.get(one[0], 0)), one[0]))
    return PolicyPreview(
        works=works,
        compared=len(days.work_ids),
        earlier=sum(days < 0 for days in by_days.values()),
        later=sum(days > 0 for days in by_days.values()),
        begun=sum(before is None for _, before, _ in moved),
        ended=sum(after is None for _, _, after in moved),
        median_days=float(np.median(sizes)) if len(sizes) else None,
        largest_days=int(sizes.max()) if len(sizes) else None,
        become_due=sum(_is_due(after, today) > _is_due(was, today) for _, was, after in moved),
        cease_to_be_due=sum(_is_due(was, today) > _is_due(after, today) for _, was, after in moved),
        examples=_examples(session, farthest[:MOST_EXAMPLES]),
    )


def _examples(
    session: Session, moved: list[tuple[int, int | None, int | None]]
) -> tuple[MovedDate, ...]:
    keys = [key for key, _, _ in moved]
    rows = session.exec(select(Work.id, Work.number, Work.title).where(col(Work.id).in_(keys)))
    named = {key: (number, title) for key, number, title in rows}
    return tuple(
        MovedDate(
            work_id=key,
            number=named[key][0],
            title=named[key][1],
            before=before,
            after=after,
        )
        for key, before, after in moved
    )


def _is_due(on: int | None, today: int) -> bool:
    return on is not None and on <= today


def _version(
    settings: Mapping[str, PolicySetting], figures: Mapping[FigureName, FigureSetting]
) -> int:
    of_settings = sum(row.version for row in settings.values())
    return 1 + of_settings + sum(row.version for row in figures.values())


def _touched(
    row: PolicySetting | FigureSetting | None, people: Mapping[int, str]
) -> Touched | None:
    if row is None:
        return None
    by = None if row.by_id is None else people.get(row.by_id)
    return Touched(by=by, at=row.at, reason=row.reason)


def _people(session: Session, rows: list[PolicySetting | FigureSetting]) -> dict[int, str]:
    keys = {row.by_id for row in rows if row.by_id is not None}
    found = select(Person.id, Person.name).where(col(Person.id).in_(keys))
    return {key: name for key, name in session.exec(found) if key is not None}
