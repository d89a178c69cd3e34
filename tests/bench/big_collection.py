"""A collection of any size, invented by rule and written straight into the tables."""

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert
from sqlmodel import SQLModel, select

from models.actions.change_log import recording
from models.database import migrate, open_database
from models.rules.work_code import make_code
from models.tables.materials import Material, MaterialFigures
from models.tables.people import Owner, Person
from models.tables.places import Place
from models.tables.terms import FindingTerm, MountMethod
from models.tables.works import Technique
from models.vocabulary import Role
from seed_data.load import load_reference_data

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
TODAY = 20_782
BATCH = 2_000
KEEPER = "Bench Keeper"
ROLES = ("glazing", "window mat", "work", "mount board", "backing board", "frame")
# Rows of the mounting history that a work has: its layers and one hold.
ROWS_PER_WORK = len(ROLES) + 1


def database_with(works: int, folder: Path) -> Path:
    """Return an SQLite file with so many works, made once and then copied."""
    file = folder / f"works-{works}.sqlite"
    if not file.exists():
        url = f"sqlite:///{file}"
        migrate(url)
        engine = open_database(url)
        with recording(engine, actor="bench", now=NOW) as session:
            load_reference_data(session)
            session.add(Person(name=KEEPER, role=Role.KEEPER, may_sign_in=True))
            session.add_all(Owner(name=f"Owner {n}") for n in range(3))
            session.add_all(Place(name=f"Room {n}") for n in range(15))
            session.flush()
            keys = {
                "materials": list(session.exec(select(Material.id).order_by(Material.name))),
                "figures": dict(
                    session.exec(select(MaterialFigures.material_id, MaterialFigures.id)).all()
                ),
                "terms": list(session.exec(select(FindingTerm.id))),
                "methods": list(session.exec(select(MountMethod.id))),
                "techniques": list(session.exec(select(Technique.id))),
            }
            for start in range(0, works, BATCH):
                numbers = range(start, min(works, start + BATCH))
                _write(session.connection(), _rows(numbers, keys))
        engine.dispose()
    return file


def copy_of(file: Path, name: str) -> Path:
    """Return a copy of a database beside it."""
    other = file.with_name(name)
    shutil.copy(file, other)
    return other


def _write(connection: Connection, rows: dict[str, list[dict[str, Any]]]) -> None:
    for table, its in rows.items():
        connection.execute(insert(SQLModel.metadata.tables[table]), its)


def _rows(numbers: range, keys: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    tables: dict[str, list[dict[str, Any]]] = {
        name: []
        for name in (
            "work",
            "work_word",
            "stay",
            "package",
            "layer",
            "mount",
            "hold",
            "visit",
            "finding",
            "sighting",
            "forecast",
        )
    }
    for number in numbers:
        for table, row in _of_work(number, keys):
            tables[table].append(row)
    return tables


def _of_work(number: int, keys: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
    key = number + 1
    mounted = TODAY - 300 - number % 9_000
    date = {"first": mounted, "last": mounted, "edtf": "2010-05-01"}
    yield (
        "work",
        {
            "id": key,
            "code": make_code(key.to_bytes(5, "big")),
            "number": f"B {number:07}",
            "title": f"Sheet {number} of the invented survey",
            "maker": f"Maker {number % 400}",
            "technique_id": keys["techniques"][number % len(keys["techniques"])],
            "height_um": 300_000,
            "width_um": 420_000,
            "owner_id": 1 + number % 3,
            "recorded_on": mounted,
            "replaceability": ("unique", "small edition", "replaceable")[number % 3],
            "value_band": "normal",
            "support": "",
            "note": "",
            "version": 1,
        },
    )
    for word in ("sheet", "invented", "survey", f"maker{number % 400}", f"b{number:07}"):
        yield "work_word", {"work_id": key, "word": word}
    yield (
        "stay",
        {
            "work_id": key,
            "place_id": 1 + number % 15,
            "since_edtf": "2010",
            "since_first": mounted,
            "since_last": mounted,
            "ended": False,
            "note": "",
            "version": 1,
        },
    )
    yield (
        "package",
        {"id": key, "in_front": "this", "behind": "this", "note": "", "version": 1},
    )
    yield from _layers(number, keys, date)
    yield from _mount(number, keys, date)
    yield from _visits(number, keys, mounted)


def _layers(
    number: int, keys: dict[str, Any], date: dict[str, Any]
) -> Iterator[tuple[str, dict[str, Any]]]:
    for place, role in enumerate(ROLES):
        material = keys["materials"][(number * 7 + place) % len(keys["materials"])]
        if role == "work":
            material = None
        yield (
            "layer",
            {
                "package_id": number + 1,
                "position": (place + 1) * 1000,
                "role": role,
                "material_id": material,
                "figures_id": None if material is None else keys["figures"][material],
                "known_by": ("seen", "told", "label or invoice")[number % 3],
                "fitted_edtf": date["edtf"],
                "fitted_first": date["first"],
                "fitted_last": date["last"],
                "covers_all": False,
                "ended": False,
                "belongs_to_work": False,
                "condition": "",
                "note": "",
                "version": 1,
            },
        )


def _mount(
    number: int, keys: dict[str, Any], date: dict[str, Any]
) -> Iterator[tuple[str, dict[str, Any]]]:
    key = number + 1
    yield (
        "mount",
        {
            "id": key,
            "work_id": key,
            "package_id": key,
            "mount_no": 1,
            "method_id": keys["methods"][number % len(keys["methods"])],
            "held": "this",
            "mounted_edtf": date["edtf"],
            "mounted_first": date["first"],
            "mounted_last": date["last"],
            "mounted_assumed": False,
            "ended": False,
            "inferred": False,
            "by_unknown_hand": False,
            "reason": "",
            "dismount_reason": "",
            "harm_at_dismount": "",
            "note": "",
            "version": 1,
        },
    )
    yield (
        "hold",
        {
            "mount_id": key,
            "hold_no": 1,
            "grade": "paper hinges with starch or cellulose ether",
            "adhesive_grade": "starch paste",
            "known_by": "seen",
            "position": "top",
            "hold_count": 2,
            "covers_all": False,
            "residue": "",
            "note": "",
            "version": 1,
        },
    )


def _visits(
    number: int, keys: dict[str, Any], mounted: int
) -> Iterator[tuple[str, dict[str, Any]]]:
    key = number + 1
    for nth in range(3):
        yield (
            "visit",
            {
                "id": number * 3 + nth + 1,
                "work_id": key,
                "visit_no": nth + 1,
                "on_edtf": f"20{11 + nth * 4}-06-01",
                "on_first": mounted + 90 * (nth + 1),
                "on_last": mounted + 90 * (nth + 1),
                "kind": "unframing" if nth == 1 else "look",
                "reason": "",
                "by_unknown_hand": False,
                "seen_front": True,
                "seen_back_of_frame": True,
                "seen_margins": nth == 1,
                "seen_verso": False,
                "seen_under_hinges": False,
                "summary": "As before, no change to be seen.",
                "closed_as_it_was": False,
                "to_write_up": False,
                "version": 1,
            },
        )
    yield (
        "finding",
        {
            "id": key,
            "work_id": key,
            "finding_no": 1,
            "term_id": keys["terms"][number % len(keys["terms"])],
            "side": "recto",
            "follows_window_edge": False,
            "version": 1,
        },
    )
    for nth in range(2):
        yield (
            "sighting",
            {
                "finding_id": key,
                "visit_id": number * 3 + nth + 1,
                "severity": "slight",
                "change": ("new", "unchanged")[nth],
                "note": "",
                "version": 1,
            },
        )
    yield (
        "forecast",
        {
            "work_id": key,
            "score_day": TODAY,
            "due_on": TODAY + number % 3_000,
            "due_kind": "look",
            "look_on": TODAY + number % 3_000,
            "unframing_on": TODAY + 900 + number % 3_000,
            "take_down_on": TODAY + number % 300 if number % 3 == 0 else None,
            "urgent_sign": "",
            "first_survey": False,
            "chance_unseen": 0.1,
            "chance_new_5y": 0.1,
            "weak_layer": "the mat",
            "verdict": "doubtful",
            "freeing": "water",
        },
    )
