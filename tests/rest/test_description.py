"""What the description of the API says of what may be sent."""

from typing import Any

import pytest
from pydantic import BaseModel

from api.rest import (
    house_packages,
    incidents,
    lots,
    materials,
    moves,
    owners,
    people,
    places,
    visit_shapes,
    works,
)
from api.rest.shapes import In
from tests.with_app import Browser

MODULES = (works, moves, places, owners, people, materials, lots, incidents, house_packages)


def shapes() -> list[type[In]]:
    told = [value for module in MODULES for value in vars(module).values()]
    found = {v for v in told if isinstance(v, type) and issubclass(v, In) and v is not In}
    # Parts of another shape are seen in its example.
    return sorted(found - {works.ImageIn, visit_shapes.MountIn}, key=lambda s: s.__name__)


@pytest.mark.parametrize("shape", shapes())
def test_every_shape_that_may_be_sent_has_an_example_that_may_be_sent(
    shape: type[BaseModel],
) -> None:
    examples: list[Any] = shape.model_json_schema().get("examples", [])
    assert examples
    for example in examples:
        shape.model_validate(example)


def test_examples_and_closed_lists_stand_in_the_description(program: Browser) -> None:
    told = program.get("/api/openapi.json").json()["components"]["schemas"]
    assert told["WorkIn"]["examples"][1] == {"number": "GH 7", "title": "Untitled"}
    assert told["ValueBand"]["enum"] == ["low", "normal", "high"]


def test_no_two_shapes_have_one_name(program: Browser) -> None:
    told = program.get("/api/openapi.json").json()["components"]["schemas"]
    assert [name for name in told if "__" in name] == []
