"""How are the works of a room, or the sheets of a box, looked at in one act on one form?

First the room is chosen, then one form shows all its works in the order in which one walks.
Each is answered for by itself: as before, different, not found, or not looked at. None is
answered for beforehand, and the form is not recorded while one has no answer: what nobody
looked at must not count as seen. "All the rest as before" is an answer, given by a press of
its own, that comes back to be read. Every answer is saved as it is given; on another tablet
one goes on, and two walk one round together. Did works come or go while somebody walked, or
was somebody else quicker, nothing is recorded until the person has seen it and says so again.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from sqlmodel import Session

from api.dependencies import (
    MaybeSignedIn,
    Now,
    ReadSession,
    SignedIn,
    Today,
    WriteSession,
    requires,
)
from api.forms import Typed, TypedForm
from api.installation import installation_of
from api.pages.dates_said import date_said
from api.pages.form_answers import REFUSED, STALE, Refusal, is_key, keys_in
from api.pages.path_ids import PathId
from api.pages.walk_form import (
    FIELDS,
    OF_THE_REST,
    FoundWork,
    WalkedShown,
    WalkPage,
    kind_of_walk,
    said_elsewhere,
    walk_form_page,
    with_answers,
    with_the_rest,
)
from api.pages.walk_typed import answers_typed, form_of, refused_page, walk_told
from api.routes import Route
from api.template_filters import day
from api.templating import show
from models.actions.due import marks_of_works
from models.actions.place_counts import count_by_place
from models.actions.places import place_tree
from models.actions.sign_ins import new_secret
from models.actions.walk_drafts import (
    OF_THE_WALK,
    AnswersTold,
    WalkBegun,
    finish_walk,
    open_walk,
    put_walk_away,
    save_answers,
    take_walk_up,
    walk_begun,
)
from models.actions.walks import (
    SEEN_ON_A_WALK,
    record_box_check,
    record_walk_round,
    walked_meanwhile,
)
from models.errors import Fault, RuleBroken
from models.rules.calendar_days import day_number
from models.rules.inspection_schedule import shown_day
from models.rules.permissions import Deed
from models.rules.place_tree import BETWEEN, PlaceTree, names_in_path
from models.rules.walk_answers import Fields
from models.tables.people import names_of_people
from models.tables.renewal import count_stale
from models.tables.visible import Viewer
from models.tables.walk_drafts import BegunWalk, begun_walks
from models.tables.walks import (
    OtherWalk,
    WalkVisit,
    count_looked_at,
    get_walk,
    last_walk_days,
    next_days,
    visits_not_as_before,
    walks_before,
)
from models.vocabulary import VisitKind

router = APIRouter(prefix="/walk-round", route_class=Route)

TEMPLATE = "walk_round/form.html"
SEE_OTHER = 303
# So many walks of others are told of when somebody was quicker; one is usual.
MOST_TOLD = 3
LONGEST_HAND = 100


@dataclass(frozen=True)
class Room:
    """A place that can be walked round, or a box that can be checked; `begun` what was begun."""

    id: int
    name: str
    around: str
    works: int
    last: int | None
    begun: str


@dataclass(frozen=True)
class ChoosePage:
    """What templates/walk_round/choose.html is given; `put_away` can be taken up again."""

    rooms: tuple[Room, ...]
    boxes: tuple[Room, ...]
    walked: WalkedShown | None
    put_away: str


@router.get("", dependencies=[requires(Deed.WALK_ROUND)])
def choose(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    today: Today,
    walk: str = "",
    put_away: str = "",
) -> Response:
    """Ask which room or box it is; say what the walk just recorded holds.

    `put_away` is the walk whose answers were forgotten a moment ago.
    """
    tree = place_tree(session)
    rooms = _rooms(request, session, viewer, tree)
    said = _walked(session, viewer, tree, int(walk), day_number(today)) if is_key(walk) else None
    page = ChoosePage(
        rooms=tuple(room for room, is_box in rooms if not is_box),
        boxes=tuple(room for room, is_box in rooms if is_box),
        walked=said,
        put_away=put_away,
    )
    return show(request, "walk_round/choose.html", page)


@router.get("/{place_id:int}", dependencies=[requires(Deed.WALK_ROUND)])
def walk_page(
    request: Request,
    session: ReadSession,
    viewer: SignedIn,
    recognised: MaybeSignedIn,
    today: Today,
    place_id: PathId,
) -> Response:
    """Show every work of the place in walking order, each with what was answered so far."""
    newest, last = walks_before(session, viewer, place_id)
    name = recognised.name if recognised else ""
    typed = {"on": day(today), "by": name, "note": "", "last_walk": str(newest)}
    page = walk_form_page(session, viewer, place_id, last=last, typed=typed, seen=())
    begun = open_walk(session, viewer, place_id)
    if begun is None:
        seen = () if page.is_box else tuple(SEEN_ON_A_WALK)
        page = replace(page, seen=seen, key=new_secret(), hand=new_secret())
    else:
        page = _gone_on_with(request, page, begun)
    return show(request, TEMPLATE, page)


@router.post("/{place_id:int}/answers", dependencies=[requires(Deed.WALK_ROUND)])
def answers_saved(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    now: Now,
    place_id: PathId,
    form: Typed,
) -> Response:
    """Save the answers of the works named in `of`; tell what other tablets have answered."""
    kind_of_walk(place_tree(session), place_id)
    told = _answers(form, place_id, form.all("of"))
    saved = save_answers(session, viewer, form["draft"], told, now=now)
    return JSONResponse(
        {
            "key": saved.walk.key,
            "version": saved.walk.version,
            "saved": _clock(request, saved.walk.saved),
            "elsewhere": saved.elsewhere,
            "contradicted": {
                work: {"fields": fields, "said": said_elsewhere(work, fields)}
                for work, fields in saved.contradicted.items()
            },
        }
    )


@router.post("/{place_id:int}/put-away", dependencies=[requires(Deed.WALK_ROUND)])
def answers_forgotten(
    session: WriteSession, viewer: SignedIn, now: Now, place_id: PathId
) -> Response:
    """Forget the answers of a walk; the list of rooms offers to take them up again."""
    put_away = put_walk_away(session, viewer, place_id, now=now)
    which = "" if put_away is None else f"?put_away={put_away.key}"
    return RedirectResponse(f"/walk-round{which}", SEE_OTHER)


@router.post("/{key}/take-up", dependencies=[requires(Deed.WALK_ROUND)])
def walk_taken_up(session: WriteSession, viewer: SignedIn, key: str) -> Response:
    """Go on with a walk whose answers were forgotten."""
    return RedirectResponse(f"/walk-round/{take_walk_up(session, viewer, key)}", SEE_OTHER)


@router.post("/{place_id:int}", dependencies=[requires(Deed.WALK_ROUND)])
def walk_sent(
    request: Request,
    session: WriteSession,
    viewer: SignedIn,
    today: Today,
    now: Now,
    place_id: PathId,
    form: Typed,
) -> Response:
    """Record the walk-round or the box check, once; or answer for the rest of the works."""
    page = _sent_page(session, viewer, place_id, form)
    told = _answers(form, place_id, [str(work.id) for work in page.works] + [OF_THE_WALK])
    page = with_answers(page, told.answers)
    if form["rest"] in OF_THE_REST:
        request.state.keep = False
        return show(request, TEMPLATE, with_the_rest(page, form["rest"]))
    try:
        saved = save_answers(session, viewer, page.key, told, now=now)
    except RuleBroken:
        begun = walk_begun(session, viewer, page.key)
        if _is_what_was_recorded(begun, told.answers):
            return _recorded(begun.walk_id or 0, form)
        # What was answered after it is another walk, told beside the first.
        page = replace(page, key=new_secret(), version=0)
        told = replace(told, seen_version=0)
        saved = save_answers(session, viewer, page.key, told, now=now)
    if form["later"]:
        return RedirectResponse("/walk-round", SEE_OTHER)
    answers = {**told.answers, **_of_others(told.answers, saved.elsewhere)}
    page = with_answers(replace(page, key=saved.walk.key), answers, saved.contradicted)
    if saved.contradicted:
        # Both have been shown: what is sent next is told on top of the newest.
        page = replace(page, version=saved.walk.version, is_contradicted=True)
        return show(request, TEMPLATE, page, STALE)
    if set(keys_in(form, "listed")) != {work.id for work in page.works}:
        came_or_went = Fault("", "Works came or went since you began: these are there now.")
        return show(request, TEMPLATE, replace(page, faults=(came_or_went,)), STALE)
    quicker = _quicker(session, viewer, page, form)
    if quicker:
        told_of = _told_of_quicker(session, viewer, page, quicker, day_number(today))
        return show(request, TEMPLATE, told_of, STALE)
    record = record_box_check if page.is_box else record_walk_round
    exceptions: list[int] = []
    try:
        form.require_clean()
        walk = walk_told(form_of(answers), page.works, exceptions)
        walked = record(session, viewer, place_id, walk, today=day_number(today))
    except Refusal as error:
        return show(request, TEMPLATE, refused_page(page, error, exceptions), REFUSED)
    finish_walk(session, viewer, page.key, walked.walk_id, now=now)
    return _recorded(walked.walk_id, form)


def _recorded(walk_id: int, form: TypedForm) -> Response:
    # What stands behind the sign tells the page which of the answers it keeps have arrived.
    arrived = f"#arrived-{form.repeat_key}" if form.repeat_key else ""
    return RedirectResponse(f"/walk-round?walk={walk_id}{arrived}", SEE_OTHER)


def _sent_page(session: Session, viewer: Viewer, place_id: int, form: TypedForm) -> WalkPage:
    """Return the page to which a form belongs, with what was sent of the walk as a whole."""
    _, last = walks_before(session, viewer, place_id)
    typed = {name: form[name] for name in FIELDS}
    seen = tuple(form.all("seen"))
    page = walk_form_page(session, viewer, place_id, last=last, typed=typed, seen=seen)
    return replace(
        page,
        is_answer=True,
        key=form["draft"] or new_secret(),
        version=_count(form["version"]),
        hand=form["hand"][:LONGEST_HAND] or new_secret(),
    )


def _gone_on_with(request: Request, page: WalkPage, begun: WalkBegun) -> WalkPage:
    """Return the page with what was answered so far, on whichever tablet."""
    whole = begun.answers.get(OF_THE_WALK, {})
    said = {name: "".join(whole[name][:1]) for name in ("on", "by", "note") if name in whole}
    return replace(
        with_answers(page, begun.answers),
        typed={**page.typed, **said, "last_walk": str(begun.last_walk_id)},
        seen=whole["seen"] if whole else () if page.is_box else tuple(SEEN_ON_A_WALK),
        key=begun.key,
        version=begun.version,
        hand=new_secret(),
        saved=_day_and_clock(request, begun.saved),
    )


def _answers(form: TypedForm, place_id: int, works: Collection[str]) -> AnswersTold:
    return AnswersTold(
        place_id=place_id,
        answers=answers_typed(form, works),
        seen_version=_count(form["version"]),
        hand=form["hand"][:LONGEST_HAND],
        last_walk_id=_count(form["last_walk"]),
    )


def _of_others(mine: Mapping[str, Fields], elsewhere: Mapping[str, Fields]) -> dict[str, Fields]:
    """Return what other tablets answered where this one has no answer."""
    return {work: fields for work, fields in elsewhere.items() if not mine.get(work)}


def _is_what_was_recorded(begun: WalkBegun, answers: Mapping[str, Fields]) -> bool:
    recorded = {work: fields for work, fields in begun.answers.items() if fields}
    return recorded == {work: fields for work, fields in answers.items() if fields}


def _count(text: str) -> int:
    return int(text) if is_key(text) else 0


def _clock(request: Request, at: datetime) -> str:
    """Return the time of day at which something was saved, as the clock of the house shows it."""
    return f"{installation_of(request).settings.local(at):%H:%M}"


def _day_and_clock(request: Request, at: datetime) -> str:
    local: datetime = installation_of(request).settings.local(at)
    return f"{day(local.date())}, {local:%H:%M}"


def _rooms(
    request: Request, session: Session, viewer: Viewer, tree: PlaceTree
) -> list[tuple[Room, bool]]:
    """Return every place with something to look at, and whether it is a box."""
    right_there = count_by_place(session, viewer)
    last = last_walk_days(session, viewer)
    begun = {walk.place_id: walk for walk in begun_walks(session, viewer)}
    kinds = {key: kind_of_walk(tree, key) for path in tree.paths() if (key := tree.find(path))}
    rooms = []
    for key, kind in kinds.items():
        is_box = kind is VisitKind.BOX_CHECK
        # What lies in the boxes of a room is checked with them.
        within = [one for one in tree.below(key) if is_box or kinds[one] is VisitKind.LOOK]
        works = sum(right_there.get(one, 0) for one in within)
        if works:
            *around, name = names_in_path(tree.path(key))
            said = _begun_said(request, begun.get(key), works)
            where = BETWEEN.join(around)
            rooms.append((Room(key, name, where, works, last.get(key), said), is_box))
    return rooms


def _begun_said(request: Request, begun: BegunWalk | None, works: int) -> str:
    if begun is None:
        return ""
    saved = _day_and_clock(request, begun.saved)
    return f"begun: {begun.answered} of {works} answered, saved {saved}"


def _walked(
    session: Session, viewer: Viewer, tree: PlaceTree, walk_id: int, today: int
) -> WalkedShown:
    walk = get_walk(session, viewer, walk_id)
    where, when = tree.path(walk.place_id), date_said(walk.on_edtf)
    is_box = walk.kind is VisitKind.BOX_CHECK
    visits = visits_not_as_before(session, viewer, walk_id)
    first, last = next_days(session, viewer, walk)
    return WalkedShown(
        what=f"{'Box checked' if is_box else 'Walked round'}: {where}, {when}",
        by=_name(session, walk.by_id),
        looked_at=count_looked_at(session, viewer, walk_id),
        found=_found(session, viewer, visits, today),
        note=walk.note,
        next_first=shown_day(first, today),
        next_last=shown_day(last, today),
        is_box=is_box,
        is_being_worked_out=count_stale(session, viewer) > 0,
    )


def _name(session: Session, person_id: int | None) -> str:
    return names_of_people(session, [person_id]).get(person_id, "") if person_id else ""


def _found(
    session: Session, viewer: Viewer, visits: Sequence[WalkVisit], today: int
) -> tuple[FoundWork, ...]:
    works = [visit.work_id for visit in visits]
    marks = marks_of_works(session, viewer, works, today=today) if works else {}
    return tuple(
        FoundWork(visit.visit_id, visit.number, visit.title, marks.get(visit.work_id))
        for visit in visits
    )


def _quicker(session: Session, viewer: Viewer, page: WalkPage, form: TypedForm) -> list[OtherWalk]:
    """Return the walks recorded since this form was opened, but for those the person knows of."""
    known = [int(text) for text in (form["last_walk"], form["knows"]) if text.isdecimal()]
    if not known:
        return []
    kind = VisitKind.BOX_CHECK if page.is_box else VisitKind.LOOK
    return walked_meanwhile(session, viewer, page.place_id, kind, after=max(known))


def _told_of_quicker(
    session: Session, viewer: Viewer, page: WalkPage, quicker: Sequence[OtherWalk], today: int
) -> WalkPage:
    walks, tree = [walk.walk_id for walk in quicker], place_tree(session)
    shown = tuple(_walked(session, viewer, tree, walk, today) for walk in walks[:MOST_TOLD])
    return replace(page, quicker=shown, knows=max(walks))
