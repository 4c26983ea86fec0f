"""The forms of a page, read as a browser reads them."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

TYPED = ("text", "textarea", "number", "date", "search", "url")
"""Fields that a person types into: what stands in them must come back."""


@dataclass
class PageForm:
    """A form: where it goes, how, and its fields with their kinds and values."""

    action: str
    method: str
    kinds: dict[str, str] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    options: dict[str, list[str]] = field(default_factory=dict)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self._form: PageForm | None = None
        self._select = self._area = ""
        self._text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        name = given.get("name", "")
        if tag == "form":
            self._form = PageForm(given.get("action", ""), given.get("method", "get"))
            self.forms.append(self._form)
        if self._form is None:
            return
        if tag == "option" and self._select:
            value = given.get("value", "\0")
            self._form.options[self._select].append(value)
            if "selected" in given or self._select not in self._form.values:
                self._form.values[self._select] = value
        elif name and tag == "select":
            self._select = name
            self._form.kinds[name], self._form.options[name] = "select", []
        elif name and tag == "textarea":
            self._area, self._text = name, ""
            self._form.kinds[name] = "textarea"
        elif name and tag in ("input", "button"):
            self._form.kinds[name] = given.get("type", "text") if tag == "input" else "button"
            self._form.values[name] = given.get("value", "")

    def handle_data(self, data: str) -> None:
        if self._area:
            self._text += data
        elif self._form and self._select and self._form.options[self._select][-1:] == ["\0"]:
            self._form.options[self._select][-1] = data
            if self._form.values[self._select] == "\0":
                self._form.values[self._select] = data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "select":
            self._select = ""
        elif tag == "textarea" and self._form is not None:
            self._form.values[self._area], self._area = self._text, ""


def forms_of(page: str) -> list[PageForm]:
    """Every form of a page."""
    reader = _Reader()
    reader.feed(page)
    return reader.forms
