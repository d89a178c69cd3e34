"""The fields of a form as a browser without scripts would send them."""

import re
from html import escape
from html.parser import HTMLParser
from typing import Any

Fields = dict[str, str | list[str]]


class _FormFields(HTMLParser):
    """Reads what the fields of the form with a given action hold."""

    def __init__(self, action: str) -> None:
        super().__init__()
        self.action, self.inside = action, False
        self.fields: dict[str, list[str]] = {}
        self.select: str | None = None
        self.option: dict[str, str | None] | None = None
        self.option_text = ""
        self.first_option: str | None = None
        self.chosen: str | None = None
        self.area: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name")
        if tag == "form":
            self.inside = given.get("action") == self.action
        elif not self.inside:
            return
        elif tag == "input" and name is not None:
            self._input(name, given)
        elif tag == "textarea" and name is not None:
            self.area = name
            self.fields[name] = [""]
        elif tag == "select":
            self.select, self.first_option, self.chosen = name, None, None
        elif tag == "option":
            self.option, self.option_text = given, ""

    def _input(self, name: str, given: dict[str, Any]) -> None:
        if given.get("type") in ("checkbox", "radio") and "checked" not in given:
            return
        self.fields.setdefault(name, []).append(given.get("value") or "")

    def handle_data(self, data: str) -> None:
        if self.option is not None:
            self.option_text += data
        if self.area is not None:
            self.fields[self.area] = [self.fields[self.area][0] + data]

    def handle_endtag(self, tag: str) -> None:
        if tag == "option" and self.option is not None:
            value = self.option.get("value")
            value = self.option_text.strip() if value is None else value
            if self.first_option is None:
                self.first_option = value
            if "selected" in self.option:
                self.chosen = value
            self.option = None
        elif tag == "select" and self.select is not None:
            self.fields[self.select] = [
                self.chosen if self.chosen is not None else self.first_option or ""
            ]
            self.select = None
        elif tag == "textarea":
            self.area = None
        elif tag == "form":
            self.inside = False


# Most of a page is options that nobody chose; read by the parser they were half of a test's time.
_FORM = re.compile(r"<form\b.*?</form>", re.DOTALL)
_SELECT = re.compile(r"(<select\b[^>]*>)(.*?)</select>", re.DOTALL)
_OPTION = re.compile(r"<option\b[^>]*>[^<]*</option>")
_SELECTED = re.compile(r"<option\b[^>]*\sselected\b")


def _with_what_is_chosen(select: re.Match[str]) -> str:
    options = _OPTION.findall(select[2])
    chosen = [option for option in options if _SELECTED.match(option)] or options[:1]
    return f"{select[1]}{''.join(chosen)}</select>"


def fields_of(page: str, action: str) -> Fields:
    """Return what a form of a page would send if nobody touched it."""
    reader = _FormFields(action)
    for form in _FORM.findall(page):
        if escape(action) in form[: form.index(">")]:
            reader.feed(_SELECT.sub(_with_what_is_chosen, form))
    assert reader.fields, f"there is no form {action} here"
    return dict(reader.fields)
