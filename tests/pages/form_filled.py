"""The fields of a form as a browser without scripts would send them."""

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


def fields_of(page: str, action: str) -> Fields:
    """Return what a form of a page would send if nobody touched it."""
    reader = _FormFields(action)
    reader.feed(page)
    assert reader.fields, f"there is no form {action} here"
    return dict(reader.fields)
