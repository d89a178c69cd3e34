"""Which works are on record, and what is known of each?

Only number and title must be said; the rest stays unknown until somebody knows
it. A work keeps for good the eight characters that stand on its label. It is
found by the beginnings of the words of its number, title and maker, which are
renewed when one of these changes. Where a work is, is not corrected here but
recorded as a move, which has a day.
"""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from sqlmodel import Session, select

from models.actions.named_records import owner_named, place_at, technique_named
from models.actions.places import place_seen_at, place_tree
from models.actions.record_changes import (
    date_columns,
    flush_unless_taken,
    key_of,
    merged,
    refuse_stale,
    withdraw,
    write,
)
from models.actions.renewal import refresh_or_mark
from models.errors import BadValue, NumberTaken
from models.rules.half_known_dates import HalfKnownDate, in_words, read_date
from models.rules.near_words import near_words
from models.rules.permissions import Deed, may, require
from models.rules.place_tree import PlaceTree
from models.rules.record_values import (
    Faults,
    Millimetres,
    a_line,
    a_note,
    exact_um,
    offset_um,
    on_one_line,
    size_mm,
    whole_between,
)
from models.rules.search_words import (
    is_same_number,
    number_run_together,
    prefix_range,
    words_of,
    words_of_work,
)
from models.rules.work_code import RANDOM_BYTES, make_code
from models.tables.people import find_owner_by_name
from models.tables.register import (
    ListedWork,
    TechniqueNamed,
    Wanted,
    find_work_by_number,
    get_work_to_change,
    listed_work,
    numbers_found_under,
    technique_names,
    works_page,
)
from models.tables.visible import Viewer
from models.tables.work_search import words_like
from models.tables.works import Stay, Work, WorkWord
from models.vocabulary import Replaceability, Surface, ValueBand

LONGEST_NUMBER = 100
# Fewer letters begin too many names of techniques to mean one.
SHORTEST_OF_TECHNIQUE = 4
# More words than this narrow a search no further; a longer text was pasted by mistake.
MOST_WORDS_ASKED = 10

RandomBytes = Callable[[int], bytes]


@dataclass(frozen=True, kw_only=True)
class ImageTold:
    """The image or plate mark on the sheet, from the sheet's upper left corner."""

    left_mm: Millimetres | None = None
    top_mm: Millimetres | None = None
    height_mm: Millimetres | None = None
    width_mm: Millimetres | None = None


@dataclass(frozen=True, kw_only=True)
class WorkTold:
    """A work as told; names of technique, owner and place are looked up, never made."""

    number: str
    title: str
    maker: str = ""
    made: str | None = None
    technique: str | None = None
    support: str = ""
    surface: Surface | None = None
    height_mm: Millimetres | None = None
    width_mm: Millimetres | None = None
    image: ImageTold | None = None
    replaceability: Replaceability = Replaceability.UNIQUE
    value_band: ValueBand = ValueBand.NORMAL
    light_class: int | None = None
    owner: str | None = None
    place: str | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class WorkOnRecord:
    """A work as it is shown."""

    id: int
    code: str
    version: int
    recorded_on: int | None
    told: WorkTold


@dataclass(frozen=True, kw_only=True)
class WorksAsked:
    """What a list of works is narrowed to, and where it goes on."""

    number: str | None = None
    q: str = ""
    owner: str | None = None
    place: str | None = None
    limit: int = 50
    after: str | None = None
    # Whether words near to those that find nothing are sought.
    asks_for_near: bool = True


@dataclass(frozen=True, kw_only=True)
class WorksFound:
    """A page of works; `near` are words on record near to what was asked, if nothing was found."""

    works: Sequence[WorkOnRecord]
    next_after: str | None = None
    near: tuple[str, ...] = ()


def register_work(
    session: Session,
    viewer: Viewer,
    told: WorkTold,
    *,
    today: int,
    random_bytes: RandomBytes = secrets.token_bytes,
) -> WorkOnRecord:
    """Put a work on record, and into its place from a day that nobody has said.

    Raises BadValue, UnknownWord, NumberTaken. `today` in days since 1970-01-01.
    """
    require(viewer.role, Deed.KEEP_REGISTER)
    columns, place_id = _columns_and_place(session, told, today=today)
    work = Work(code=_free_code(session, random_bytes), number="", title="", recorded_on=today)
    write(work, columns)
    session.add(work)
    flush_unless_taken(session, "uq_work_number", _taken(work.number))
    if place_id is not None:
        session.add(Stay(work_id=key_of(work), place_id=place_id))
    _renew_words(session, work)
    refresh_or_mark(session, [key_of(work)], today=today)
    return read_work(session, viewer, key_of(work))


def change_work(
    session: Session,
    viewer: Viewer,
    work_id: int,
    changes: Mapping[str, object],
    *,
    based_on: int,
    today: int,
) -> WorkOnRecord:
    """Correct what is known of a work. Raises NotFound, Stale, BadValue, NumberTaken."""
    require(viewer.role, Deed.KEEP_REGISTER)
    work = get_work_to_change(session, viewer, work_id)
    kept = read_work(session, viewer, work_id)
    refuse_stale(work, based_on, theirs=kept)
    told = merged(_ready_for_parts(kept.told, changes), changes)
    _refuse_move(kept.told.place, told.place)
    columns, _ = _columns_and_place(session, told, today=today, besides=work_id)
    write(work, columns)
    flush_unless_taken(session, "uq_work_number", _taken(work.number))
    _renew_words(session, work)
    refresh_or_mark(session, [work_id], today=today)
    return read_work(session, viewer, work_id)


def withdraw_work(
    session: Session, viewer: Viewer, work_id: int, reason: str, *, today: int
) -> None:
    """Take a work off the register, with a reason; its number is never given again."""
    require(viewer.role, Deed.WITHDRAW)
    withdraw(get_work_to_change(session, viewer, work_id), reason)
    refresh_or_mark(session, [work_id], today=today)


def read_work(session: Session, viewer: Viewer, work_id: int) -> WorkOnRecord:
    """Return one work. Raises NotFound when it is not this person's to see."""
    require(viewer.role, Deed.READ)
    return _shown(place_tree(session), listed_work(session, viewer, work_id))


def find_works(
    session: Session, viewer: Viewer, asked: WorksAsked, *, tree: PlaceTree | None = None
) -> WorksFound:
    """Return a page of the works that this person may see, by number.

    `tree` are the places, where somebody has asked for them already.
    Raises UnknownWord for an owner or a place that is not on record for them.
    """
    require(viewer.role, Deed.READ)
    tree = tree or place_tree(session)
    if asked.number is not None:
        work = find_work_by_number(session, viewer, asked.number.strip())
        rows = [] if work is None else [listed_work(session, viewer, key_of(work))]
        return WorksFound(works=[_shown(tree, row) for row in rows])
    words = words_of(asked.q)[:MOST_WORDS_ASKED]
    named = technique_names(session) if any(word.isalpha() for word in words) else []
    wanted = _wanted(session, viewer, tree, asked, words, named)
    if wanted is None:
        return WorksFound(works=[])
    listed, on = works_page(session, viewer, limit=asked.limit, after=asked.after, wanted=wanted)
    is_missed = asked.asks_for_near and not (listed or asked.after)
    near = _near(session, viewer, words, named) if is_missed else ()
    return WorksFound(works=[_shown(tree, row) for row in listed], next_after=on, near=near)


def _wanted(
    session: Session,
    viewer: Viewer,
    tree: PlaceTree,
    asked: WorksAsked,
    words: Sequence[str],
    named: Sequence[TechniqueNamed],
) -> Wanted | None:
    """Return what the list is narrowed to; None where nothing can be found."""
    owner_id = None
    if asked.owner is not None:
        owner_id = _owner_seen(session, viewer, asked.owner)
        if owner_id is None:
            return None
    if asked.q.strip() and not words:
        return None
    places = None
    if asked.place is not None:
        places = tree.below(place_seen_at(session, viewer, tree, asked.place))
    return Wanted(
        owner_id=owner_id,
        place_ids=places,
        beginnings=[prefix_range(word) for word in words],
        techniques=_techniques_meant(words, named),
    )


def _techniques_meant(
    words: Sequence[str], named: Sequence[TechniqueNamed]
) -> dict[tuple[str, str], frozenset[int]]:
    """Return the keys of the techniques whose name has a word that begins so, by beginning."""
    in_words = [(one.id, words_of(one.name)) for one in named]
    meant = {
        prefix_range(word): frozenset(
            key for key, of_name in in_words if any(one.startswith(word) for one in of_name)
        )
        for word in words
        if len(word) >= SHORTEST_OF_TECHNIQUE
    }
    return {beginning: keys for beginning, keys in meant.items() if keys}


def _owner_seen(session: Session, viewer: Viewer, name: str) -> int | None:
    if may(viewer.role, Deed.SEE_ALL_WORKS):
        return key_of(owner_named(session, name))
    # Somebody else's name must not even be near to what was asked.
    owner = find_owner_by_name(session, name)
    return owner.id if owner is not None and owner.id == viewer.owner_id else None


def _near(
    session: Session, viewer: Viewer, words: Sequence[str], named: Sequence[TechniqueNamed]
) -> tuple[str, ...]:
    near: list[str] = []
    # Another number is another thing: words with figures in them have no near misses.
    words = [word for word in words if word.isalpha()]
    of_techniques = [word for one in named for word in words_of(one.name)]
    for word in words:
        known = {*words_like(session, viewer, prefix_range(word[0])), *of_techniques} - {word}
        near += near_words(word, sorted(other for other in known if other.isalpha()))
    return tuple(dict.fromkeys(near))


def _columns_and_place(
    session: Session, told: WorkTold, *, today: int, besides: int | None = None
) -> tuple[dict[str, object], int | None]:
    faults = Faults()
    made = faults.read_if_given("/made", lambda text: _made_by(text, today), told.made)
    technique = faults.read_if_given(
        "/technique", lambda name: technique_named(session, name), told.technique
    )
    owner = faults.read_if_given("/owner", lambda name: owner_named(session, name), told.owner)
    place_id = faults.read_if_given(
        "/place", lambda path: place_at(place_tree(session), path), told.place
    )
    columns: dict[str, object] = {
        "number": faults.read("/number", on_one_line("number", LONGEST_NUMBER), told.number),
        "title": faults.read("/title", on_one_line("title"), told.title),
        "maker": faults.read("/maker", a_line("maker"), told.maker),
        "technique_id": technique and technique.id,
        "support": faults.read("/support", a_line("support"), told.support),
        "surface": told.surface,
        "replaceability": told.replaceability,
        "value_band": told.value_band,
        "light_class": faults.read_if_given(
            "/light_class", whole_between(1, 8, "light class"), told.light_class
        ),
        "owner_id": owner and owner.id,
        "note": faults.read("/note", a_note, told.note),
        **date_columns("made", made),
        **_sizes(faults, told),
    }
    taken = _number_like(session, told.number, besides=besides)
    if taken is not None and faults.are_any():
        faults.note("/number", BadValue(_taken(taken).message))
    faults.refuse()
    if taken is not None:
        raise _taken(taken)
    return columns, place_id


def _sizes(faults: Faults, told: WorkTold) -> dict[str, int | None]:
    image = told.image or ImageTold()
    sizes = {
        "height_um": _size(faults, "/height_mm", exact_um, told.height_mm),
        "width_um": _size(faults, "/width_mm", exact_um, told.width_mm),
        "image_left_um": _size(faults, "/image/left_mm", offset_um, image.left_mm),
        "image_top_um": _size(faults, "/image/top_mm", offset_um, image.top_mm),
        "image_height_um": _size(faults, "/image/height_mm", exact_um, image.height_mm),
        "image_width_um": _size(faults, "/image/width_mm", exact_um, image.width_mm),
    }
    _note_half_an_image(faults, told.image)
    _note_image_beyond_sheet(faults, sizes)
    return sizes


def _size(
    faults: Faults, pointer: str, check: Callable[[Millimetres], int], mm: Millimetres | None
) -> int | None:
    return None if mm is None else faults.read(pointer, check, mm)


def _note_half_an_image(faults: Faults, image: ImageTold | None) -> None:
    if image is None:
        return
    for name in ("left_mm", "top_mm", "height_mm", "width_mm"):
        if getattr(image, name) is None:
            message = "An image is told by left, top, height and width, or not at all."
            faults.note("", BadValue.at(f"/image/{name}", message))


def _note_image_beyond_sheet(faults: Faults, sizes: Mapping[str, int | None]) -> None:
    for start, length, sheet in (("left", "width", "width"), ("top", "height", "height")):
        told = (sizes[f"image_{start}_um"], sizes[f"image_{length}_um"], sizes[f"{sheet}_um"])
        edge, size, whole = told
        if edge is not None and size is not None and whole is not None and edge + size > whole:
            right = f"{start} and {length} together are at most {size_mm(whole):g} mm."
            message = "The image reaches beyond the sheet."
            faults.note("", BadValue.at(f"/image/{length}_mm", message, right))


def _ready_for_parts(told: WorkTold, changes: Mapping[str, object]) -> WorkTold:
    """A first image may be told in parts; then there must be something to merge them into."""
    if isinstance(changes.get("image"), Mapping) and told.image is None:
        return replace(told, image=ImageTold())
    return told


def _refuse_move(kept: str | None, told: str | None) -> None:
    if told != kept:
        message = "Where a work is, is not corrected but moved: a move has a day."
        raise BadValue.at("/place", message, "Record a move of this work.")


def _made_by(text: str, today: int) -> HalfKnownDate:
    made = read_date(text)
    if made.first_day is not None and made.first_day > today:
        message = f"{in_words(made)} has not come yet."
        raise BadValue.at("", message, "The day or year it was made, or blank.")
    return made


def _number_like(session: Session, number: str, *, besides: int | None) -> str | None:
    """Return the number of another work that this one cannot be told from.

    Only who keeps the register, and so sees every work, comes here.
    """
    exact = select(Work.id, Work.number).where(Work.number == " ".join(number.split()))
    found = numbers_found_under(session, number_run_together(number))
    others = [*session.exec(exact), *found]
    return next(
        (other for key, other in others if key != besides and is_same_number(other, number)), None
    )


def _taken(number: str) -> NumberTaken:
    return NumberTaken(
        f"The number {number!r} is given already; a number is not given twice, even when its work"
        " was withdrawn."
    )


def _free_code(session: Session, random_bytes: RandomBytes) -> str:
    while True:
        code = make_code(random_bytes(RANDOM_BYTES))
        if session.exec(select(Work.id).where(Work.code == code)).first() is None:
            return code


def _renew_words(session: Session, work: Work) -> None:
    kept = session.exec(select(WorkWord).where(WorkWord.work_id == work.id)).all()
    words = set(words_of_work(work.number, work.title, work.maker))
    for row in kept:
        if row.word not in words:
            session.delete(row)
    for word in sorted(words - {row.word for row in kept}):
        session.add(WorkWord(work_id=key_of(work), word=word))


def _shown(tree: PlaceTree, listed: ListedWork) -> WorkOnRecord:
    work = listed.work
    return WorkOnRecord(
        id=key_of(work),
        code=work.code,
        version=work.version,
        recorded_on=work.recorded_on,
        told=WorkTold(
            number=work.number,
            title=work.title,
            maker=work.maker,
            made=work.made_edtf,
            technique=listed.technique,
            support=work.support,
            surface=work.surface,
            height_mm=size_mm(work.height_um),
            width_mm=size_mm(work.width_um),
            image=_image(work),
            replaceability=work.replaceability,
            value_band=work.value_band,
            light_class=work.light_class,
            owner=listed.owner,
            place=None if listed.place_id is None else tree.path(listed.place_id),
            note=work.note,
        ),
    )


def _image(work: Work) -> ImageTold | None:
    if work.image_height_um is None:
        return None
    return ImageTold(
        left_mm=size_mm(work.image_left_um),
        top_mm=size_mm(work.image_top_um),
        height_mm=size_mm(work.image_height_um),
        width_mm=size_mm(work.image_width_um),
    )
