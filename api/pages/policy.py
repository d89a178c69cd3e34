"""What has the house set, and what would a change of it move?

Settings stand in one form, each with its unit, its range and the shipped figure beside
it; each figure of a mechanism and grade has a form of its own. Whatever is changed first
shows which dates it would move; only there it is kept, with a reason. A blank field is
the shipped figure.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import Now, ReadSession, SignedIn, Today, WriteSession, requires
from api.forms import Typed, TypedForm
from api.pages.form_answers import (
    REFUSED,
    STALE,
    Answers,
    Difference,
    Refusal,
    differences,
    faults_beside,
    figure_to_type,
    number,
    typed_in,
    version_in,
)
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.policy import (
    FigureName,
    FigureOnRecord,
    FigureTold,
    PolicyChange,
    PolicyOnRecord,
    PolicyPreview,
    SettingOnRecord,
    Touched,
    change_policy,
    preview_policy,
    read_policy,
)
from models.errors import BadValue, Fault, NotFound, Stale
from models.rules.calendar_days import day_number
from models.rules.default_figures import DefaultFigure
from models.rules.permissions import Deed, may
from models.rules.policy import FIGURE_RANGES, SETTINGS
from models.tables.renewal import count_stale
from models.tables.visible import Viewer

router = APIRouter(prefix="/policy", route_class=Route)

SEE_OTHER = 303
SETTING_FIELDS = tuple(setting.name for setting in SETTINGS)
FIGURE_FIELDS = ("median", "shape", "severity", "basis")
LABELS = {
    "median": "Typical time to noticeable harm",
    "shape": "Shape of its spread",
    "severity": "How bad the harm is, 0 to 1",
}


@dataclass(frozen=True)
class SettingShown:
    """One setting: what is in force, the hint under its field, and who changed it."""

    name: str
    label: str
    value: str
    typed: str
    hint: str
    touched: str


@dataclass(frozen=True)
class FigureShown:
    """One figure: what is in force and what is shipped, in words."""

    path: str
    grade: str
    now: str
    shipped: str
    is_own: bool
    basis: str
    touched: str


@dataclass(frozen=True)
class FiguresOfMechanism:
    """The figures of one mechanism."""

    mechanism: str
    figures: tuple[FigureShown, ...]


@dataclass(frozen=True)
class PolicyPage:
    """What templates/policy/policy.html is given."""

    settings: tuple[SettingShown, ...]
    mechanisms: tuple[FiguresOfMechanism, ...]
    version: int
    may_set: bool
    marked: int
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class FieldShown:
    """One number of a figure, to be typed."""

    name: str
    label: str
    typed: str
    hint: str


@dataclass(frozen=True)
class FigurePage:
    """What templates/policy/figure.html is given."""

    figure: FigureShown
    of: str
    mechanism: str
    fields: tuple[FieldShown, ...]
    basis: str
    version: int
    may_set: bool
    faults: tuple[Fault, ...] = ()
    differences: tuple[Difference, ...] = ()


@dataclass(frozen=True)
class ExampleShown:
    """A work whose date would move."""

    work_id: int
    number: str
    title: str
    before: str
    after: str


@dataclass(frozen=True)
class PreviewPage:
    """What templates/policy/preview.html is given; `typed` are the fields of the change."""

    changes: tuple[str, ...]
    sentences: tuple[str, ...]
    examples: tuple[ExampleShown, ...]
    typed: tuple[tuple[str, str], ...]
    back: str
    reason: str = ""
    faults: tuple[Fault, ...] = ()


@router.get("", dependencies=[requires(Deed.READ)])
def shown(request: Request, session: ReadSession, viewer: SignedIn) -> Response:
    """Show what is set, the shipped figures beside it."""
    return show(request, "policy/policy.html", _page(session, viewer))


@router.get("/figure", dependencies=[requires(Deed.READ)])
def one_figure(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    of: Annotated[str, Query(max_length=500)] = "",
) -> Response:
    """Show one figure and what it rests on."""
    return show(request, "policy/figure.html", _figure_page(session, viewer, of))


@router.post("/preview", dependencies=[requires(Deed.SET_POLICY)])
def previewed(
    request: Request, session: ReadSession, viewer: SignedIn, today: Today, form: Typed
) -> Response:
    """Show which dates a change would move; nothing is kept."""
    try:
        page = _preview_page(session, viewer, form, day_number(today))
    except Refusal as error:
        return _form_again(request, session, viewer, form, _faults(error), REFUSED)
    return show(request, "policy/preview.html", page)


@router.post("", dependencies=[requires(Deed.SET_POLICY)])
def kept(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    now: Now,
    form: Typed,
) -> Response:
    """Keep a change with its reason; every forecast follows."""
    try:
        change = _change(read_policy(session, viewer), form)
        change_policy(
            session,
            viewer,
            change,
            reason=form["reason"],
            based_on=version_in(form),
            today=day_number(today),
            now=now,
        )
    except Stale as error:
        return _form_again(request, session, viewer, form, (Fault("", error.message),), STALE)
    except Refusal as error:
        faults = _faults(error)
        if not any(fault.pointer == "/reason" for fault in faults):
            return _form_again(request, session, viewer, form, faults, REFUSED)
        page = _preview_page(session, viewer, form, day_number(today))
        again = replace(page, reason=form["reason"], faults=faults)
        return show(request, "policy/preview.html", again, REFUSED)
    return RedirectResponse("/policy", SEE_OTHER)


def _form_again(
    request: Request,
    session: Session,
    viewer: Viewer,
    form: TypedForm,
    faults: tuple[Fault, ...],
    status: int,
) -> Response:
    """Show the form that was sent with what was typed and what is wrong with it."""
    if form["of"]:
        page = _figure_page(session, viewer, form["of"])
        now = {**{one.name: one.typed for one in page.fields}, "basis": page.basis}
        labels = {**{one.name: one.label for one in page.fields}, "basis": "what it rests on"}
        fields = tuple(replace(one, typed=form[one.name]) for one in page.fields)
        page = replace(
            page,
            fields=fields,
            basis=form["basis"],
            faults=faults,
            differences=_differences(labels, form, now, status),
        )
        return show(request, "policy/figure.html", page, status)
    all_of_it = _page(session, viewer)
    now = {one.name: one.typed for one in all_of_it.settings}
    labels = {one.name: one.label for one in all_of_it.settings}
    settings = tuple(replace(one, typed=form[one.name]) for one in all_of_it.settings)
    all_of_it = replace(
        all_of_it,
        settings=settings,
        faults=faults,
        differences=_differences(labels, form, now, status),
    )
    return show(request, "policy/policy.html", all_of_it, status)


def _differences(
    labels: Mapping[str, str], form: TypedForm, now: Mapping[str, str], status: int
) -> tuple[Difference, ...]:
    return differences(labels, typed_in(form, labels), now) if status == STALE else ()


def _faults(error: BadValue | Exception) -> tuple[Fault, ...]:
    assert isinstance(error, Refusal), "what a form answers itself"
    faults = faults_beside(error, (*SETTING_FIELDS, *FIGURE_FIELDS, "reason"))
    if not isinstance(error, BadValue) or not error.faults:
        return faults
    # An action names the place in what it was told; a form has one figure at a time.
    last = {f.pointer: f"/{f.pointer.rpartition('/')[2]}" for f in error.faults}
    told = BadValue(
        error.message, [Fault(last[f.pointer], f.message, f.right) for f in error.faults]
    )
    return faults_beside(told, (*SETTING_FIELDS, *FIGURE_FIELDS, "reason"))


def _change(policy: PolicyOnRecord, form: TypedForm) -> PolicyChange:
    """Return what a form changes. Raises BadValue for what cannot be read, and for nothing."""
    answers = Answers(form)
    if form["of"]:
        figure = _figure(policy, form["of"])
        told = FigureTold(
            median=_own(answers, "median", figure.shipped.median),
            shape=_own(answers, "shape", figure.shipped.shape),
            severity=_own(answers, "severity", figure.shipped.severity),
            basis=answers.text("basis"),
        )
        answers.refuse()
        key: FigureName = (figure.shipped.mechanism, figure.shipped.grade)
        return PolicyChange(figures={key: told})
    own = {
        one.setting.name: _own(answers, one.setting.name, one.shipped) for one in policy.settings
    }
    answers.refuse()
    settings = {
        one.setting.name: own[one.setting.name]
        for one in policy.settings
        if _then(own[one.setting.name], one.shipped) != one.value
    }
    if not settings:
        raise BadValue("Nothing was changed: every field is as it is in force.")
    return PolicyChange(settings=settings)


def _own(answers: Answers, name: str, shipped: float | None) -> float | None:
    """Return a keeper's own number; None for a blank field and for what is shipped."""
    typed = answers.read(name, number)
    return None if typed == shipped else typed


def _then(own: float | None, shipped: float) -> float:
    return shipped if own is None else own


def _page(session: Session, viewer: Viewer) -> PolicyPage:
    policy = read_policy(session, viewer)
    mechanisms: dict[str, list[FigureShown]] = {}
    for one in policy.figures:
        mechanisms.setdefault(one.shipped.mechanism, []).append(_figure_shown(one))
    return PolicyPage(
        settings=tuple(_setting_shown(one) for one in policy.settings),
        mechanisms=tuple(FiguresOfMechanism(name, tuple(of)) for name, of in mechanisms.items()),
        version=policy.version,
        may_set=may(viewer.role, Deed.SET_POLICY),
        marked=count_stale(session, viewer),
    )


def _setting_shown(one: SettingOnRecord) -> SettingShown:
    own = one.value != one.shipped
    value = figure_to_type(one.value)
    return SettingShown(
        name=one.setting.name,
        label=one.setting.label,
        value=f"{value} {one.setting.unit}",
        typed=value if own else "",
        hint=f"{one.setting.range_said} Shipped: {figure_to_type(one.shipped)},"
        f" {one.setting.basis}.",
        touched=_touched(one.touched),
    )


def _figure_shown(one: FigureOnRecord) -> FigureShown:
    return FigureShown(
        path="/policy/figure?" + urlencode({"of": _scope(one.shipped)}),
        grade=one.shipped.grade,
        now=_said(one.figure),
        shipped=_said(one.shipped),
        is_own=one.is_own,
        basis=one.figure.basis,
        touched=_touched(one.touched),
    )


def _said(figure: DefaultFigure) -> str:
    severity = f"severity {figure.severity:g}"
    if figure.median is None or figure.shape is None:
        return f"a list of what it may be, {severity}"
    return f"{figure.median:g} {figure.unit}, shape {figure.shape:g}, {severity}"


def _touched(touched: Touched | None) -> str:
    if touched is None:
        return ""
    by = "" if touched.by is None else f" by {touched.by}"
    return f"Changed on {day(touched.at.date())}{by}: {touched.reason}"


def _scope(figure: DefaultFigure) -> str:
    return f"{figure.mechanism}/{figure.grade}"


def _figure(policy: PolicyOnRecord, of: str) -> FigureOnRecord:
    found = next((one for one in policy.figures if _scope(one.shipped) == of), None)
    if found is None:
        raise NotFound("figure", of)
    return found


def _figure_page(session: Session, viewer: Viewer, of: str) -> FigurePage:
    policy = read_policy(session, viewer)
    one = _figure(policy, of)
    names = [name for name in LABELS if getattr(one.shipped, name) is not None]
    return FigurePage(
        figure=_figure_shown(one),
        of=of,
        mechanism=one.shipped.mechanism,
        fields=tuple(_field(one, name) for name in names),
        basis=one.figure.basis if one.is_own else "",
        version=policy.version,
        may_set=may(viewer.role, Deed.SET_POLICY),
    )


def _field(one: FigureOnRecord, name: str) -> FieldShown:
    value, shipped = getattr(one.figure, name), getattr(one.shipped, name)
    lowest, highest = FIGURE_RANGES[name]
    unit = f" {one.shipped.unit}" if name == "median" else ""
    return FieldShown(
        name=name,
        label=LABELS[name],
        typed="" if value == shipped else figure_to_type(value),
        hint=f"From {lowest:g} to {highest:g}{unit}. Shipped: {figure_to_type(shipped)}.",
    )


def _preview_page(session: Session, viewer: Viewer, form: TypedForm, today: int) -> PreviewPage:
    policy = read_policy(session, viewer)
    change = _change(policy, form)
    seen = preview_policy(session, viewer, change, today=today)
    fields = ("of", *FIGURE_FIELDS) if form["of"] else SETTING_FIELDS
    return PreviewPage(
        changes=tuple(_changes(policy, change)),
        sentences=sentences(seen),
        examples=tuple(
            ExampleShown(
                one.work_id,
                one.number,
                one.title,
                _day_or_none(one.before),
                _day_or_none(one.after),
            )
            for one in seen.examples
        ),
        typed=(*((name, form[name]) for name in fields), ("version", form["version"])),
        back="/policy/figure?" + urlencode({"of": form["of"]}) if form["of"] else "/policy",
    )


def _changes(policy: PolicyOnRecord, change: PolicyChange) -> list[str]:
    by_name: Mapping[str, SettingOnRecord] = {one.setting.name: one for one in policy.settings}
    said = []
    for name, value in change.settings.items():
        one = by_name[name]
        then = _then(value, one.shipped)
        said.append(
            f"{one.setting.label} ({one.setting.unit}): {figure_to_type(one.value)} now,"
            f" {figure_to_type(then)} then."
        )
    for (mechanism, grade), told in change.figures.items():
        one_figure = _figure(policy, f"{mechanism}/{grade}")
        then_figure = replace(
            one_figure.shipped,
            median=told.median or one_figure.shipped.median,
            shape=told.shape or one_figure.shipped.shape,
            severity=one_figure.shipped.severity if told.severity is None else told.severity,
        )
        said.append(f"{mechanism}, {grade}: {_said(one_figure.figure)} now,")
        said.append(f"{_said(then_figure)} then.")
    return said


def sentences(seen: PolicyPreview) -> tuple[str, ...]:
    """Return in words how dates would move."""
    whole = seen.compared == seen.works
    of = _works(seen.works) if whole else f"{_works(seen.compared)} taken evenly from {seen.works}"
    if not seen.moved:
        return (f"Of {of} no date would move.",)
    ways = [
        f"{count} {way}"
        for count, way in (
            (seen.earlier, "earlier"),
            (seen.later, "later"),
            (seen.begun, "for the first time"),
            (seen.ended, "to no date at all"),
        )
        if count
    ]
    said = [f"Of {of} {_dates(seen.moved)} would move: {', '.join(ways)}."]
    if seen.median_days is not None and seen.largest_days is not None:
        said.append(
            f"Half of them by {seen.median_days:.0f} days or less, none by more than"
            f" {seen.largest_days} days."
        )
    said.append(
        f"Due today and not so far: {_works(seen.become_due)}; due so far and no more:"
        f" {_works(seen.cease_to_be_due)}."
    )
    return tuple(said)


def _works(count: int) -> str:
    return "1 work" if count == 1 else f"{count} works"


def _dates(count: int) -> str:
    return "1 date" if count == 1 else f"{count} dates"


def _day_or_none(on: int | None) -> str:
    return "no date" if on is None else day(on)
