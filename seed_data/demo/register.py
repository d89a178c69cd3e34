"""Which works, places, owners and people are there, as the CSV files beside this say?

Read only. An empty cell is something nobody knows.
"""

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from models.actions.places import PlaceTold
from models.actions.works import ImageTold, WorkTold
from models.vocabulary import PlaceUse, Replaceability, Role, ValueBand

HERE = Path(__file__).resolve().parent


@dataclass(frozen=True, kw_only=True)
class DemoOwner:
    """An owner, the outermost places of their works, and when their notes were written up."""

    name: str
    homes: tuple[str, ...]
    written_up_on: str


@dataclass(frozen=True, kw_only=True)
class DemoPerson:
    """Somebody named in the record; with a password they can sign in to the demonstration."""

    name: str
    role: Role | None
    owner: str | None
    password: str
    what: str


@dataclass(frozen=True, kw_only=True)
class DemoWork:
    """A work, with where and when it came."""

    told: WorkTold
    came: str
    place: str


def rows(name: str) -> Iterator[dict[str, str]]:
    """Give the rows of one of the CSV files."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        yield from csv.DictReader(file)


def read_owners() -> list[DemoOwner]:
    """Return the owners."""
    return [
        DemoOwner(
            name=row["name"],
            homes=tuple(row["homes"].split("; ")),
            written_up_on=row["written_up_on"],
        )
        for row in rows("owners.csv")
    ]


def read_people() -> list[DemoPerson]:
    """Return the people."""
    return [
        DemoPerson(
            name=row["name"],
            role=Role(row["role"]) if row["role"] else None,
            owner=row["owner"] or None,
            password=row["password"],
            what=row["what"],
        )
        for row in rows("people.csv")
    ]


def read_places() -> list[PlaceTold]:
    """Return the places, each after what is around it."""
    return [
        PlaceTold(
            path=row["path"],
            use=PlaceUse(row["use"]) if row["use"] else None,
            temperature_c=_number(row["temperature_c"]),
            rh_percent=_number(row["rh_percent"]),
            lux=_number(row["lux"]),
            hours_per_day=_number(row["hours_per_day"]),
            days_per_year=_number(row["days_per_year"]),
            uv_uw_per_lm=_number(row["uv_uw_per_lm"]),
            note=row["note"],
        )
        for row in rows("places.csv")
    ]


def read_works() -> list[DemoWork]:
    """Return the works."""
    return [
        DemoWork(told=_work(row), came=row["came"], place=row["place"]) for row in rows("works.csv")
    ]


def _work(row: dict[str, str]) -> WorkTold:
    return WorkTold(
        number=row["number"],
        title=row["title"],
        maker=row["maker"],
        made=row["made"] or None,
        technique=row["technique"],
        support=row["support"],
        height_mm=_number(row["height_mm"]),
        width_mm=_number(row["width_mm"]),
        image=_image(row["image"]),
        replaceability=Replaceability(row["replaceability"]),
        value_band=ValueBand(row["value_band"]),
        owner=row["owner"],
        note=row["note"],
    )


def _image(cell: str) -> ImageTold | None:
    """Return the image or plate mark from `left top height width`, in mm."""
    if not cell:
        return None
    left, top, height, width = map(float, cell.split())
    return ImageTold(left_mm=left, top_mm=top, height_mm=height, width_mm=width)


def _number(cell: str) -> float | None:
    return float(cell) if cell else None
