"""Each template uses exactly what its page provides, and nothing that the policy forbids."""

import importlib
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest
from jinja2 import meta, nodes

from api.templating import TEMPLATES, make_templates
from tests.with_app import ForbiddenMarkup

ENVIRONMENT = make_templates()
FRAME = {"frame"}
ALL = sorted(str(file.relative_to(TEMPLATES)) for file in TEMPLATES.rglob("*.html"))
PAGES = [name for name in ALL if not Path(name).name.startswith("_") and name != "base.html"]


def source(template: str) -> str:
    return (TEMPLATES / template).read_text("utf-8")


def names_used(template: str) -> set[str]:
    """The names that a template takes from its page, with those of the parts it includes."""
    tree = ENVIRONMENT.parse(source(template))
    used = set(meta.find_undeclared_variables(tree)) - set(ENVIRONMENT.globals) - macros(tree)
    for part in parts_of(tree):
        used |= names_used(part)
    return used


def macros(tree: nodes.Template) -> set[str]:
    """The names of parts that a template imports, or makes itself."""
    imported = {
        name if isinstance(name, str) else name[1]
        for node in tree.find_all(nodes.FromImport)
        for name in node.names
    }
    return imported | {macro.name for macro in tree.find_all(nodes.Macro)}


def parts_of(tree: nodes.Template) -> Iterator[str]:
    for include in tree.find_all(nodes.Include):
        assert isinstance(include.template, nodes.Const), "a part is named, not computed"
        yield include.template.value


def page_class(template: str) -> type:
    named = re.match(r"\{# (\w+(?:\.\w+)*)\.(\w+) #\}\n", source(template))
    assert named is not None, f"{template} does not name its page in the first line"
    found: type = getattr(importlib.import_module(named.group(1)), named.group(2))
    assert is_dataclass(found)
    return found


@pytest.mark.parametrize("template", PAGES)
def test_a_template_uses_exactly_what_its_page_provides(template: str) -> None:
    provided = {field.name for field in fields(page_class(template))}
    assert names_used(template) - FRAME == provided


def test_what_stands_around_every_page_takes_only_its_frame() -> None:
    assert names_used("base.html") == FRAME


@pytest.mark.parametrize("template", ALL)
def test_a_template_carries_nothing_that_the_policy_forbids(template: str) -> None:
    page = ForbiddenMarkup(ids_matter=False)
    page.feed(re.sub(r"\{[#%].*?[#%]\}", "", source(template), flags=re.DOTALL))
    assert page.found == []
    assert re.findall(r"\|\s*safe\b|autoescape\s+false", source(template)) == []


@pytest.mark.parametrize("template", ALL)
def test_every_form_that_writes_carries_its_token(template: str) -> None:
    forms = re.findall(r"<form[^>]*method=\"post\".*?</form>", source(template), re.DOTALL)
    assert [f for f in forms if "begin(frame" not in f and 'name="form_token"' not in f] == []


def test_the_style_sheet_reaches_nothing_outside() -> None:
    sheets = "".join(f.read_text("utf-8") for f in (TEMPLATES / "static").rglob("*.css"))
    assert re.findall(r"@import|https?:|//[a-z]", sheets) == []


def test_letters_that_come_late_move_no_line() -> None:
    sheet = (TEMPLATES / "static" / "hingebook.css").read_text("utf-8")
    faces = re.findall(r"@font-face \{(.*?)\}", sheet)
    fetched = [face for face in faces if "url(" in face]
    assert len(fetched) == 4
    assert [face for face in fetched if "font-display: optional;" not in face] == []


def lightness(colour: str) -> float:
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((lightness(one), lightness(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_every_pigment_can_be_read_on_sheet_and_board_by_day_and_in_the_evening() -> None:
    sheet = (TEMPLATES / "static" / "hingebook.css").read_text("utf-8")
    schemes = [
        dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", part)) for part in sheet.split("@media")
    ]
    by_day, evening = schemes[:2]
    too_faint = [
        (colour, ground)
        for scheme in (by_day, evening)
        for ground in ("chalk", "board")
        for colour in ("bone-black", "slate", "prussian", "verdigris", "sienna", "ochre")
        if contrast(scheme[colour], scheme[ground]) < 4.5
    ]
    edges = [s for s in (by_day, evening) if contrast(s["board-edge"], s["chalk"]) < 3]
    assert (too_faint, edges) == ([], [])


def test_the_evening_that_a_person_chose_is_that_of_the_system() -> None:
    sheet = (TEMPLATES / "static" / "hingebook.css").read_text("utf-8")
    by_system, chosen = (
        re.findall(r"--[\w-]+: #[0-9a-f]{6}", sheet.split(of)[1].split("}")[0])
        for of in (':root:not([data-scheme="light"]) {', ':root[data-scheme="dark"] {')
    )
    assert (by_system, len(chosen)) == (chosen, 10)
